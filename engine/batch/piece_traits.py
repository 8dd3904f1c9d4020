"""What of a piece is compared with the others: read from its history, told, or planned."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, Final

from engine.commands import Feel
from engine.fabric import Fabric
from engine.facts.needles import needle_at
from engine.quantities import LengthUnit
from engine.stages import Trait

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.forecast.pace import RowStamp
    from engine.pattern import Course
    from engine.quantities import Length, Mass
    from engine.state import PieceState

_MOST_LOOKED_AT: Final = 5_000
"""Rows; in what is longer the parts are not told apart."""
_PAUSE: Final = 5.0
"""Who takes so many times the usual time of a row has paused (common practice, no source)."""
_FEWEST_TIMED: Final = 3


@dataclass(frozen=True, slots=True)
class PieceTraits:
    """
    A piece as far as it is known; None and empty: not known.

    `length` and `width` are washed, `weight` is dry; `parts` are the rows of each part by its
    title; `needles` and `lots` say from which row what was used (a lot: 0 is the cast-on);
    `tight` and `loose` are rows that felt so; `minutes` is the time at the needles. `piece` is the
    id in the journal, `number` that in an order, `ended` the wall time of what was last written.
    """

    name: str
    piece: str = ""
    number: int | None = None
    maker: str = ""
    ended: str = ""
    finished: bool = False
    rows: int | None = None
    stitches: int | None = None
    parts: tuple[tuple[str, int], ...] = ()
    length: Length | None = None
    width: Length | None = None
    weight: Mass | None = None
    needles: tuple[tuple[int, str], ...] = ()
    lots: tuple[tuple[int, str], ...] = ()
    tight: tuple[int, ...] = ()
    loose: tuple[int, ...] = ()
    minutes: float | None = None

    def value(self, trait: Trait) -> float | None:
        """Return a trait in centimetres, grams or counts; a gauge to 10 cm, over the whole."""
        length = self.length.cm if self.length is not None else None
        width = self.width.cm if self.width is not None else None
        found = {
            Trait.ROWS: float(self.rows) if self.rows is not None else None,
            Trait.LENGTH: length,
            Trait.WIDTH: width,
            Trait.WEIGHT: self.weight.grams if self.weight is not None else None,
            Trait.STITCH_GAUGE: 10 * self.stitches / width if self.stitches and width else None,
            Trait.ROW_GAUGE: 10 * self.rows / length if self.rows and length else None,
        }
        return found[trait]

    @property
    def unit(self) -> LengthUnit:
        """The unit in which it was measured; centimetres where it was not."""
        known = self.length or self.width
        return known.unit if known is not None else LengthUnit.CM


def traits_of(
    state: PieceState, course: Course, stamps: Sequence[RowStamp], ended: str = ""
) -> PieceTraits:
    """Return what the history of a piece says of it."""
    washed = [one for one in state.lengths if _holds(one.fabric, one.row, state) and not one.aside]
    whole = [one.length for one in washed if one.from_row == 0]
    widths = [
        one.width for one in state.widths if _holds(one.fabric, one.row, state) and not one.aside
    ]
    first = needle_at(state, 1)
    needles = (((1, first),) if first else ()) + tuple(
        (change.row, change.needle) for change in state.needles if change.row > 1
    )
    seconds = knitting_seconds(stamps)
    return PieceTraits(
        name=state.name,
        piece=state.piece,
        ended=ended,
        finished=state.finished,
        rows=state.done if state.finished else None,
        stitches=state.cast_on if state.cast_on is not None else course.cast_on,
        parts=_parts(state, course),
        length=whole[-1] if whole else None,
        width=widths[-1] if widths else None,
        weight=state.weighed,
        needles=needles,
        lots=tuple((ball.row, ball.lot) for ball in state.balls if ball.lot and not ball.aside),
        tight=tuple(one.row for one in state.hand if one.feel is Feel.TIGHT),
        loose=tuple(one.row for one in state.hand if one.feel is Feel.LOOSE),
        minutes=None if seconds is None else seconds / 60,
    )


def _holds(fabric: Fabric, row: int, state: PieceState) -> bool:
    """Tell whether a reading is of the whole finished piece, washed."""
    return fabric is Fabric.WASHED and row >= state.done and state.finished


def _parts(state: PieceState, course: Course) -> tuple[tuple[str, int], ...]:
    """Return the rows of each part by its title, in their order."""
    if not 0 < state.done <= _MOST_LOOKED_AT or not state.patterns:
        return ()
    titles = dict(course.sections)
    rows: dict[str, int] = {}
    for row in range(1, state.done + 1):
        section = course.where(state.loops_ended, row).section
        title = titles.get(section, section)
        rows[title] = rows.get(title, 0) + 1
    return tuple(rows.items())


def knitting_seconds(stamps: Sequence[RowStamp]) -> float | None:
    """
    Return the time at the needles, pauses taken as the usual time of their rows; None: not timed.

    Times of different writers are never compared.
    """
    told = [
        (after.row - before.row, after.seconds - before.seconds)
        for before, after in pairwise(stamps)
        if before.writer == after.writer
        and after.row > before.row
        and after.seconds > before.seconds
    ]
    if sum(rows for rows, _ in told) < _FEWEST_TIMED:
        return None
    usual = median(seconds / rows for rows, seconds in told)
    timed = sum(
        seconds if seconds <= _PAUSE * usual * rows else usual * rows for rows, seconds in told
    )
    untimed = max(one.row for one in stamps) - sum(rows for rows, _ in told)
    return timed + usual * max(untimed, 0)
