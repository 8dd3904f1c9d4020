"""
How far the piece is from its target: what the state and the pattern say to the forecast.

The forecast itself (`engine.forecast`) knows only rows and centimetres; here the readings, the
parts of the pattern, needles, swatches and the partner are put into its terms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, assert_never

from engine.commands import Since
from engine.fabric import Fabric
from engine.facts.needles import needle_at
from engine.facts.part_stitch import stitch_of
from engine.facts.partner import compared, rows_in
from engine.facts.swatches import gauges, reads_unwashed
from engine.forecast.length import rows_left, thinned
from engine.forecast.values import CannotSay, LengthReading, PartSpan, RowsLeft
from engine.pattern.datum import Datum, armhole_from
from engine.quantities import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.forecast.values import RowsForecast
    from engine.pattern import Course, OpenLoop
    from engine.state import PieceState, Reading


@dataclass(frozen=True, slots=True)
class RowsExactly:
    """The pattern itself says how many rows are left, or the partner piece, in this part."""

    rows: int
    partner: bool = False


@dataclass(frozen=True, slots=True)
class LongEnough:
    """The piece is as long as it should be."""


@dataclass(frozen=True, slots=True)
class NoTarget:
    """Neither the pattern nor the piece has a length or a last row to go for."""


Distance = RowsExactly | RowsLeft | CannotSay | LongEnough | NoTarget


@dataclass(frozen=True, slots=True)
class Target:
    """
    The length that the work is on its way to, measured from the row after `from_row`.

    The length of a whole piece is meant as `fabric` says, washed; a part worked "until it
    measures" is meant as she measures (None).
    """

    length: Length
    from_row: int
    fabric: Fabric | None = None

    def read_as(self, state: PieceState, fabric: Fabric) -> Length | None:
        """Return what a ruler reads at the target in a state; None if nobody can know."""
        if self.fabric is None or self.fabric is fabric:
            return self.length
        return None if fabric is Fabric.WASHED else reads_unwashed(state, self.length)


def readings(
    state: PieceState, course: Course, up_to: int | None = None
) -> tuple[LengthReading, ...]:
    """
    Return the lengths that still hold, in rows and centimetres, oldest first.

    With `up_to` those of its first rows alone, as few as the forecast weighs.
    """
    holding = _holding(state)
    if up_to is not None:
        holding = thinned([old for old in holding if old.row <= up_to])
    return tuple(
        LengthReading(
            row=old.row,
            cm=old.length.cm,
            fabric=old.fabric,
            part=stitch_of(course, state.loops_ended, old.row),
            needle=needle_at(state, old.row),
            from_row=old.from_row,
        )
        for old in holding
    )


def _holding(state: PieceState) -> list[Reading]:
    return [old for old in state.lengths if not old.aside and old.row > old.from_row]


_FARTHEST_AHEAD: Final = 1 << 12
"""So many rows ahead the end of a part is looked for; no part of known rows is longer."""


def part_spans(state: PieceState, course: Course) -> tuple[PartSpan, ...]:
    """
    Return the stitch parts from the cast-on up to the first one ahead that is worked to a length.

    That one is open-ended, and so is the last one where the pattern does not say its rows. A
    change of needle begins a new span.
    """
    return tuple(
        PartSpan(stitch, begin, end, needle_at(state, begin))
        for first, last, stitch in (*_behind(state, course), *_ahead(state, course))
        for begin, end in _cut(first, last, [change.row for change in state.needles])
    )


_Run = tuple[int, int | None, str]  # first row, last row (None: open), stitch


def _behind(state: PieceState, course: Course) -> list[_Run]:
    """Return the sections before the one being worked."""
    ended = state.loops_ended
    place = course.where(ended, state.working)
    first = state.working - place.row_in_section + 1
    runs: list[_Run] = []
    while first > 1:
        last = first - 1
        place = course.where(ended, last)
        first = last - place.row_in_section + 1
        runs.append((first, last, stitch_of(course, ended, last)))
    return runs[::-1]


def _ahead(state: PieceState, course: Course) -> Iterator[_Run]:
    """Yield the section being worked, and those after it that lead to a part of open length."""
    ended = state.loops_ended
    whole = course.last_row(ended)
    row = state.working
    place = course.where(ended, row)
    first = row - place.row_in_section + 1
    while True:
        last = whole if place.open_loop is None else None
        if place.open_loop is None and whole is None:
            last = _end_of_section(course, state, row, place.section)
        yield first, last, stitch_of(course, ended, row)
        if last is None or whole is not None:
            return
        first = row = last + 1
        place = course.where(ended, row)


def _end_of_section(course: Course, state: PieceState, row: int, section: str) -> int | None:
    """Return the last row before the section ends, or a part of open length begins in it."""
    ended = state.loops_ended

    def within(other: int) -> bool:
        place = course.where(ended, other)
        return place.section == section and place.open_loop is None and not place.finished

    step = 1
    while within(row + step):
        step *= 2
        if step > _FARTHEST_AHEAD:
            return None
    inside, outside = row + step // 2, row + step
    while outside - inside > 1:
        middle = (inside + outside) // 2
        inside, outside = (middle, outside) if within(middle) else (inside, middle)
    return inside


def _cut(first: int, last: int | None, changes: list[int]) -> Iterator[tuple[int, int | None]]:
    for change in sorted(set(changes)):
        if first < change and (last is None or change <= last):
            yield first, change - 1
            first = change
    yield first, last


def target(state: PieceState, course: Course) -> Target | None:
    """Return the length that the work is on its way to; None if there is none."""
    loop = course.where(state.loops_ended, state.working).open_loop
    if loop is not None and isinstance(loop.target, Length) and loop.target.value > 0:
        return Target(loop.target, measured_from(state, course, loop))
    whole = state.target or course.target
    return Target(whole, 0, Fabric.WASHED) if whole is not None and whole.value > 0 else None


def row_of(state: PieceState, course: Course, since: Since) -> int | None:
    """
    Return the row after which is measured when she measures `since` something.

    None where that is a marker and there is none. The underarm needs none in a part that the
    pattern itself measures from there.
    """
    if since is Since.CAST_ON:
        return 0
    loop = course.where(state.loops_ended, state.working).open_loop
    armhole = loop is not None and (loop.datum is Datum.ARMHOLE or "arm" in loop.where.casefold())
    if loop is not None and armhole and since is Since.UNDERARM:
        return measured_from(state, course, loop)
    return state.markers[-1] if state.markers else None


def measured_from(state: PieceState, course: Course, loop: OpenLoop) -> int:
    """
    Return the row after which a part "until it measures" is measured.

    "Piece" and "from cast-on" mean the cast-on edge, a marker the last one hung in, an armhole its
    first bind-off, "for 5 cm" and "until border measures" the part itself, and anything else
    ("from underarm") the part before it in the section, else the beginning of the section.
    """
    ended = state.loops_ended
    if "marker" in loop.where.casefold() and state.markers:
        return state.markers[-1]
    start = state.done - rows_in(course, ended, loop, state.done)
    match loop.datum:
        case Datum.CAST_ON:
            return 0
        case Datum.ARMHOLE:
            return armhole_from(lambda row: course.where(ended, row).instruction, start)
        case Datum.HERE if not loop.where:
            return start
        case Datum.HERE:
            section = state.done - course.where(ended, state.working).row_in_section + 1
            before = [ended[one.id] for one in course.loops if one.id in ended]
            return max([section, *(row for row in before if row <= state.done)])
        case _:
            assert_never(loop.datum)


def distance(state: PieceState, course: Course) -> Distance:
    """Return how many rows are left, as honestly as it can be said."""
    last = course.last_row(state.loops_ended)
    if last is not None:
        return RowsExactly(last - state.done) if state.done < last else LongEnough()
    partner = compared(state, course)
    if partner is not None and partner.settled:
        left = partner.theirs - partner.mine
        return RowsExactly(left, partner=True) if left > 0 else LongEnough()
    wanted = target(state, course)
    if wanted is None:
        return NoTarget()
    if reached(state, wanted):
        return LongEnough()
    found = _forecast(state, course, wanted, state.done)
    if isinstance(found, RowsLeft) and found.best == 0 and _measured_now(state, wanted):
        return LongEnough()
    return found


def to_the_end(state: PieceState, course: Course, rows: int) -> int:
    """
    Return the rows to the end of the piece if the part being worked takes `rows` more.

    Where a part of open length still comes after it, only those to the end of this one are known.
    """
    loop = course.where(state.loops_ended, state.working).open_loop
    if loop is None:
        return rows
    last = course.last_row(state.loops_ended | {loop.id: state.done + rows})
    return rows if last is None else max(rows, last - state.done)


def measure_again_at(state: PieceState, course: Course) -> int | None:
    """
    Return the row at which the next measurement is worth most, as seen from the last one.

    Seen from there it stays the same row until somebody measures. None: hardly worth one.
    """
    if not isinstance(distance(state, course), RowsLeft):
        return None
    wanted = target(state, course)
    rows = [one.row for one in _holding(state)]
    if wanted is None or not rows or max(rows) < wanted.from_row:
        return None
    found = _forecast(state, course, wanted, max(rows))
    return found.measure_again_at if isinstance(found, RowsLeft) else None


def _forecast(state: PieceState, course: Course, wanted: Target, row: int) -> RowsForecast:
    return rows_left(
        readings(state, course, row),
        part_spans(state, course),
        row,
        wanted.length.cm,
        gauges(state, course),
        target_fabric=wanted.fabric,
        target_from_row=wanted.from_row,
    )


def reached(state: PieceState, wanted: Target) -> bool:
    """Tell whether the piece, measured after its last row, is as long as it should be."""
    for reading in state.lengths:
        if reading.aside or reading.row != state.done or reading.from_row != wanted.from_row:
            continue
        there = wanted.read_as(state, reading.fabric)
        if there is not None and reading.length.cm >= there.cm:
            return True
    return False


def _measured_now(state: PieceState, wanted: Target) -> bool:
    return any(
        one.row == state.done and one.from_row == wanted.from_row
        for one in state.lengths
        if not one.aside
    )
