"""The outline of a piece from its stitches and rows: how wide it is at every row, and its parts."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.pattern.course import PartnerRows
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from app.printing.walked import Walked, WalkedRow
    from engine.facts.stated_gauge import StatedGauge
    from engine.pattern.drawn_steps import Worked

_NEAR_CM: Final = Fraction(1)
"""A stated length replaces the one worked out from the rows if it lies so near."""
_STEP: Final = 6
"""Plain rows between two shapings of a slope; more of them are a straight edge."""


@dataclass(frozen=True, slots=True)
class OutlineLevel:
    """The edges of the piece above so many rows, in stitches from the cast-on's left end."""

    rows: int
    left: float
    right: float

    @property
    def width(self) -> float:
        """Stitches from edge to edge."""
        return self.right - self.left


@dataclass(frozen=True, slots=True)
class OutlineStage:
    """A part of the piece between two heights, in cm from the cast-on."""

    title: str
    bottom: Fraction
    top: Fraction


@dataclass(frozen=True, slots=True)
class Outline:
    """A piece's outline: levels from the cast-on up, its parts, and the gauge it is made with.

    `divided`: above the last level the stitches are divided and nothing is drawn. Lengths are given
    in `unit`, the pattern's own.
    """

    levels: tuple[OutlineLevel, ...]
    stages: tuple[OutlineStage, ...]
    stitches_per_cm: Fraction
    rows_per_cm: Fraction
    in_the_round: bool
    divided: bool
    unit: LengthUnit = LengthUnit.CM

    @property
    def widest(self) -> float:
        """The most stitches at any level."""
        return max(level.width for level in self.levels)

    def width(self, stitches: float) -> Length:
        """Return so many stitches as a length; in the round it is all around."""
        exact = Fraction(stitches).limit_denominator(1000) / self.stitches_per_cm
        return Length(exact, LengthUnit.CM).to(self.unit)

    @property
    def height(self) -> Length:
        """From the cast-on to the last level."""
        return Length(self.stages[-1].top, LengthUnit.CM).to(self.unit)

    def stage_height(self, index: int) -> Length:
        """Return how high one of the parts is."""
        stage = self.stages[index]
        return Length(stage.top - stage.bottom, LengthUnit.CM).to(self.unit)


def outline_of(
    walked: Walked, gauge: StatedGauge | None, unit: LengthUnit = LengthUnit.CM
) -> Outline | None:
    """Return the outline, or None if the gauge or the number of rows is not known."""
    if gauge is None or not gauge.stitches_per_10cm or not gauge.rows_per_10cm:
        return None
    if not walked.scaled or not walked.whole or not walked.course.cast_on or not walked.rows:
        return None
    levels, divided = _levels(walked)
    if levels is None:
        return None
    rows_per_cm = gauge.rows_per_10cm / 10
    return Outline(
        levels,
        _stages(walked, levels[-1].rows, rows_per_cm, divided=divided),
        gauge.stitches_per_10cm / 10,
        rows_per_cm,
        walked.course.in_the_round,
        divided,
        unit,
    )


def _levels(walked: Walked) -> tuple[tuple[OutlineLevel, ...] | None, bool]:
    count = walked.course.cast_on or 0
    levels = [OutlineLevel(0, 0.0, float(count))]
    together = walked.rows_together
    for number, row in enumerate(walked.rows):
        place = row.place
        if number == together:
            return (_smooth(levels), True) if place.before is not None else (None, False)
        if place.after == 0:
            # The bind-off is an edge, not a row of its own.
            break
        if place.after is None:
            return None, False
        last = levels[-1]
        if place.after == count:
            level = OutlineLevel(number + 1, last.left, last.right)
        else:
            left = last.left + _moved(row, count, place.after)
            level = OutlineLevel(number + 1, left, left + place.after)
        if len(levels) > 1 and _straight(levels[-2], levels[-1], level):
            levels.pop()
        levels.append(level)
        count = place.after
    return _smooth(levels), False


def _smooth(levels: list[OutlineLevel]) -> tuple[OutlineLevel, ...]:
    """Leave out the short steps of a slope that is shaped every few rows."""
    kept = [levels[0]]
    for below, level, above in zip(levels, levels[1:], levels[2:], strict=False):
        flat = (below.left, below.right) == (level.left, level.right)
        if flat and above.width != level.width and level.rows - below.rows < _STEP:
            continue
        kept.append(level)
    return (*kept, *levels[1:][-1:])


def _straight(first: OutlineLevel, middle: OutlineLevel, last: OutlineLevel) -> bool:
    return (first.left, first.right) == (middle.left, middle.right) == (last.left, last.right)


def _moved(row: WalkedRow, before: int, after: int) -> float:
    """Return by how many stitches the left edge moves to the right."""
    steps: tuple[Worked, ...] = row.steps or ()
    taken = made = 0
    over: list[float] = []
    for step in steps:
        if step.takes and step.leaves:
            middle = taken + step.takes / 2 - made - len(step.leaves) / 2
            over += [middle] * len(step.leaves)
        taken += step.takes
        made += len(step.leaves)
    if not over:
        return (before - after) / 2
    shift = sum(over) / len(over)
    return shift if str(row.place.side) == "wrong" else before - after - shift


def _stages(
    walked: Walked, rows: int, rows_per_cm: Fraction, *, divided: bool
) -> tuple[OutlineStage, ...]:
    """Return the parts up to so many rows, with the designer's lengths where they are stated."""
    ends: list[tuple[str, Fraction]] = []
    for section, title in walked.course.sections:
        numbers = [row.place.row for row in walked.rows if row.place.section == section]
        last = min(max(numbers, default=0), rows)
        if not last or (ends and last / rows_per_cm <= ends[-1][1]):
            continue
        ends.append((title, _end(walked, section, Fraction(last) / rows_per_cm)))
    target = walked.course.target
    if target is not None and ends and not divided:
        whole = target.to(LengthUnit.CM).value
        if abs(whole - ends[-1][1]) <= _NEAR_CM and (len(ends) < 2 or whole > ends[-2][1]):  # noqa: PLR2004
            ends[-1] = (ends[-1][0], whole)
    stages = []
    bottom = Fraction(0)
    for title, top in ends:
        stages.append(OutlineStage(title, bottom, top))
        bottom = top
    return tuple(stages)


def _end(walked: Walked, section: str, exact: Fraction) -> Fraction:
    """Return where a part ends: as its last open part is measured, if that is its end."""
    for part in reversed(walked.course.parts):
        if part.section == section:
            loop = part.loop
            if loop is None or loop.target is None or isinstance(loop.target, PartnerRows):
                return exact
            stated = loop.target.to(LengthUnit.CM).value
            return stated if abs(stated - exact) <= _NEAR_CM / 2 else exact
    return exact
