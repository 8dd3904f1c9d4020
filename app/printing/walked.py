"""A course walked from the cast-on to the end, with its open parts closed by the stated gauge.

"Until the piece measures 13 cm" has no number of rows; a picture, a chart and an outline need one.
The gauge gives it, and print says "about" wherever such a number is shown.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from app.drawings.expand import steps_of
from app.drawings.piece import cast_on_row, row_of
from engine.pattern.course import PartnerRows
from engine.pattern.phrases import Side
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Container

    from app.drawings.expand import Worked
    from app.drawings.fabric import DrawnRow
    from engine.pattern import Course, OpenLoop, Place
    from engine.pattern.course import Part
    from engine.pattern.notation import Item

MOST_ROWS: Final = 1200
"""Longer pieces are walked only so far; then nothing is drawn of their end."""
_WIDEST: Final = 400
_SYMBOLIC: Final = 8
"""Rows of an open part whose length nobody can tell, for charts only."""


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


@dataclass(frozen=True)
class Walked:
    """The rows of a course; `scaled` if their number is right, `whole` if all of them are here."""

    course: Course
    rows: tuple[WalkedRow, ...]
    estimates: dict[int, Estimate]
    """By the line of the pattern file that leaves the end open."""
    scaled: bool
    whole: bool
    _drawn: list[DrawnRow] = field(default_factory=list, compare=False, repr=False)

    @property
    def drawn(self) -> tuple[DrawnRow, ...]:
        """The cast-on edge and the rows as they are seen from the right side."""
        if not self._drawn:
            below = cast_on_row(self.course.cast_on) if self.course.cast_on else None
            if below is not None:
                self._drawn.append(below)
            for row in self.rows:
                below = row_of(row.place, row.place.row, below)
                self._drawn.append(below)
        return tuple(self._drawn)


def walk(course: Course, rows_per_10cm: Fraction | None, own_length: Container[int] = ()) -> Walked:
    """Walk a course.

    `own_length` holds the lines whose length is measured from where they begin ("for 5 cm").
    """
    ended: dict[str, int] = {}
    estimates: dict[int, Estimate] = {}
    rows: list[WalkedRow] = []
    known: dict[tuple[tuple[Item, ...], int], tuple[Worked, ...] | None] = {}
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
            closed = _closed(loop, part, start, place, rows_per_10cm, own_length)
            scaled = scaled and closed is not None
            ended[loop.id] = start + max(part.first_rows, closed or _SYMBOLIC, 1)
            if closed is not None:
                from_start = _from_cast_on(loop, part, own_length)
                told = ended[loop.id] if from_start else ended[loop.id] - start
                estimates[_line_of(part)] = Estimate(told, from_start)
        rows.append(WalkedRow(place, _steps(place, known)))
    return Walked(course, tuple(rows), estimates, scaled, whole=False)


def _closed(
    loop: OpenLoop,
    part: Part,
    start: int,
    first: Place,
    rows_per_10cm: Fraction | None,
    own_length: Container[int],
) -> int | None:
    """Return how many rows the part takes, or None if nobody can tell."""
    target = loop.target
    if target is None or isinstance(target, PartnerRows) or not rows_per_10cm:
        return None
    base = 0 if _from_cast_on(loop, part, own_length) else start
    exact = base + _centimetres(target) * rows_per_10cm / 10 - start
    rows = (exact + Fraction(1, 2)).__floor__()
    if loop.ends_on is not None and first.side is not Side.ROUND:
        # The last of the rows has to be of that side; of the two nearest numbers the nearer one.
        odd = loop.ends_on is first.side
        if (rows % 2 == 1) is not odd:
            rows += 1 if exact >= rows or rows < 1 else -1
    return rows if rows > 0 else None


def _centimetres(length: Length) -> Fraction:
    return length.to(LengthUnit.CM).value


def _from_cast_on(loop: OpenLoop, part: Part, own_length: Container[int]) -> bool:
    """Whether the length is measured from the cast-on: so it is meant if nothing else is said."""
    if _line_of(part) in own_length:
        return False
    where = loop.where.casefold()
    return not where or any(word in where for word in ("cast", "beg", "start", "lower edge", "co "))


def _line_of(part: Part) -> int:
    return int(getattr(part.node, "line", -1))


def _steps(
    place: Place, known: dict[tuple[tuple[Item, ...], int], tuple[Worked, ...] | None]
) -> tuple[Worked, ...] | None:
    if place.before is None or place.before > _WIDEST:
        return None
    key = place.instruction.items, place.before
    if key not in known:
        steps = steps_of(*key)
        known[key] = None if steps is None else steps.steps
    return known[key]
