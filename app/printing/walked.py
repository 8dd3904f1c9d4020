"""A course walked from the cast-on to the end, with its open parts closed by the stated gauge.

"Until the piece measures 13 cm" has no number of rows; a picture, a chart and an outline need one.
The gauge gives it, and print says "about" wherever such a number is shown.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Final, TypeAlias, assert_never

from app.drawings.piece import cast_on_row, row_of
from engine.pattern.course import PartnerRows
from engine.pattern.drawn_needle import first_needle, needle_after
from engine.pattern.drawn_steps import steps_of
from engine.pattern.headings import Side
from engine.pattern.notation import BindOff, Hold, TakeUp, TurnWork
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.drawings.fabric import DrawnRow
    from engine.pattern import Course, OpenLoop, Place
    from engine.pattern.course import Part
    from engine.pattern.drawn_steps import Worked
    from engine.pattern.needle import Needle
    from engine.pattern.notation import Item

MOST_ROWS: Final = 1200
"""Longer pieces are walked only so far; then nothing is drawn of their end."""
_WIDEST: Final = 400
_SYMBOLIC: Final = 8
"""Rows of an open part whose length nobody can tell, for charts only."""


class WalkedDatum(StrEnum):
    """Where the length of an open part is measured from."""

    CAST_ON = "cast-on"
    HERE = "here"
    ARMHOLE = "armhole"


@dataclass(frozen=True, slots=True)
class Estimate:
    """How many rows an open part takes by the gauge; `from_cast_on`: counted from there."""

    rows: int
    from_cast_on: bool


@dataclass(frozen=True, slots=True)
class WalkedRow:
    """A row: its place, and its steps in the order of work (None: not known stitch by stitch)."""

    place: Place
    steps: tuple[Worked, ...] | None
    needle: Needle | None = None
    """What it is worked from, with its markers; None where that is not known."""


@dataclass(frozen=True)
class Walked:
    """The rows of a course; `scaled` if their number is right, `whole` if all of them are here."""

    course: Course
    rows: tuple[WalkedRow, ...]
    estimates: dict[int, Estimate]
    """By the line of the pattern file that leaves the end open."""
    scaled: bool
    whole: bool

    @property
    def rows_together(self) -> int:
        """How many rows are worked before the stitches are divided, laid aside or turned on."""
        count = self.course.cast_on
        for number, row in enumerate(self.rows):
            if row.place.before != count or _divides(row):
                return number
            count = row.place.after
        return len(self.rows)

    def drawn(self, most: int) -> tuple[DrawnRow, ...]:
        """Return the cast-on edge and at most so many rows as they are seen from the right side."""
        below = cast_on_row(self.course.cast_on) if self.course.cast_on else None
        drawn = [below] if below is not None else []
        for row in self.rows[:most]:
            below = row_of(row.place, below, row.needle)
            drawn.append(below)
        return tuple(drawn)


def datum_of(text: str, where: str, *, for_length: bool) -> WalkedDatum:
    """Return where a line measures from; from the cast-on if it says nothing else."""
    if re.search(r"\barmholes? measures?", text, re.IGNORECASE):
        return WalkedDatum.ARMHOLE
    if for_length or re.search(
        r"\b(?:yoke|border|band|edging|collar|cuff|crown|thumb|foot) measures?", text, re.IGNORECASE
    ):
        return WalkedDatum.HERE
    told = where.casefold()
    known = not told or any(word in told for word in ("cast", "beg", "start", "lower edge"))
    return WalkedDatum.CAST_ON if known else WalkedDatum.HERE


def _divides(row: WalkedRow) -> bool:
    """Whether the row parts the stitches into groups, or does not work all of them."""
    items = row.place.instruction.items
    if any(isinstance(item, Hold | TakeUp | TurnWork) for item in items):
        return True
    return any(isinstance(item, BindOff) for item in items[1:-1])


def walk(
    course: Course,
    rows_per_10cm: Fraction | None,
    measured_from: Mapping[int, WalkedDatum] | None = None,
) -> Walked:
    """Walk a course; `measured_from` says for the lines of open parts where they measure from."""
    data = measured_from or {}
    ended: dict[str, int] = {}
    estimates: dict[int, Estimate] = {}
    rows: list[WalkedRow] = []
    known: _Known = {}
    needle = first_needle(course)
    scaled = True
    starts: dict[str, int] = {}
    while len(rows) < MOST_ROWS:
        place = course.where(ended, len(rows) + 1)
        if place.finished:
            return Walked(course, tuple(rows), estimates, scaled, whole=True)
        loop = place.open_loop
        if loop is not None and loop.id not in ended:
            start = starts.setdefault(loop.id, len(rows))
            part = next(part for part in course.parts if part.loop is loop)
            datum = data.get(_line_of(part), WalkedDatum.CAST_ON)
            base = _base(datum, start, rows)
            closed = _closed(loop, base, start, place, rows_per_10cm)
            scaled = scaled and closed is not None
            symbolic = _of_its_side(_SYMBOLIC, Fraction(_SYMBOLIC), loop, place)
            ended[loop.id] = start + max(part.first_rows, closed or symbolic, 1)
            if closed is not None:
                told = ended[loop.id] - base
                estimates[_line_of(part)] = Estimate(told, from_cast_on=base == 0)
        if needle is not None:
            needle = replace(needle, in_the_round=place.side is Side.ROUND)
        rows.append(WalkedRow(place, _steps(place, needle, known), needle))
        needle = needle_after(needle, place)
    return Walked(course, tuple(rows), estimates, scaled, whole=False)


def _closed(
    loop: OpenLoop, base: int, start: int, first: Place, rows_per_10cm: Fraction | None
) -> int | None:
    """Return how many rows the part takes, measured from row `base`, or None if nobody can tell."""
    target = loop.target
    if target is None or isinstance(target, PartnerRows) or not rows_per_10cm:
        return None
    exact = base + _centimetres(target) * rows_per_10cm / 10 - start
    rows = _of_its_side((exact + Fraction(1, 2)).__floor__(), exact, loop, first)
    return rows if rows > 0 else None


def _of_its_side(rows: int, exact: Fraction, loop: OpenLoop, first: Place) -> int:
    """Return the number of rows nearest to `exact` whose last one is of the side that is asked."""
    if loop.ends_on is None or first.side is Side.ROUND:
        return rows
    odd = loop.ends_on is first.side
    if (rows % 2 == 1) is odd:
        return rows
    return rows + (1 if exact >= rows or rows < 1 else -1)


def _centimetres(length: Length) -> Fraction:
    return length.to(LengthUnit.CM).value


def _base(datum: WalkedDatum, start: int, rows: Sequence[WalkedRow]) -> int:
    """Return the row from which a part that begins after `start` rows is measured."""
    match datum:
        case WalkedDatum.CAST_ON:
            return 0
        case WalkedDatum.HERE:
            return start
        case WalkedDatum.ARMHOLE:
            # An armhole begins where stitches were bound off last, on both sides of the piece.
            bound = [at for at, row in enumerate(rows) if _binds_off(row)]
            return max((at for at in bound if at - 1 not in bound), default=start)
        case _:
            assert_never(datum)


def _binds_off(row: WalkedRow) -> bool:
    return any(isinstance(item, BindOff) for item in row.place.instruction.items)


def _line_of(part: Part) -> int:
    return int(getattr(part.node, "line", -1))


_Known: TypeAlias = "dict[tuple[tuple[Item, ...], int | Needle], tuple[Worked, ...] | None]"


def _steps(place: Place, needle: Needle | None, known: _Known) -> tuple[Worked, ...] | None:
    if place.before is None or place.before > _WIDEST:
        return None
    worked_from = needle if needle is not None and needle.total == place.before else place.before
    key = place.instruction.items, worked_from
    if key not in known:
        steps = steps_of(*key)
        known[key] = None if steps is None else steps.steps
    return known[key]
