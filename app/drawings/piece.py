"""The fabric of a piece as its pattern makes it: state and course become drawn stitches."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import DrawnFabric, DrawnRow, DrawnStitch, FabricEdge, Seen
from engine.facts.work import is_plain
from engine.limits import spend
from engine.pattern.drawn_needle import Needles
from engine.pattern.drawn_steps import Facing, Over, steps_of
from engine.pattern.needle import Needle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from engine.pattern import Course, Place
    from engine.pattern.drawn_steps import Steps, Worked
    from engine.pattern.notation import Item
    from engine.state import PieceState

ROWS_DRAWN: Final = 40
"""At most so many rows done are drawn."""
_EARLIER: Final = 4  # rows before them that are looked at, because some rows say "as they face"
_HINT_WITHIN: Final = 60  # a change farther away than that is not hinted at
_LOOKED_AT: Final = 8  # changes that are looked at for one that is shaped
_WIDEST: Final = 2000
_ANY_WIDTH: Final = 46
"""So many stitches are drawn where nobody has said how many there are."""


def fabric_of(state: PieceState, course: Course) -> DrawnFabric:
    """Return the fabric as it hangs from the needle now."""
    if width_unknown(state, course):
        return _of_any_width(state, course)
    ended = state.loops_ended
    needles = needles_of(course, ended)
    first = max(1, state.done - ROWS_DRAWN - _EARLIER)
    rows: list[DrawnRow] = []
    if first == 1 and state.cast_on:
        rows.append(cast_on_row(state.cast_on))
    for number in range(first, state.done + 1):
        place = course.where(ended, number)
        rows.append(row_of(place, rows[-1] if rows else None, needles.before(number)))
    below = rows[-1] if rows else None
    place = course.where(ended, state.working)
    if state.finished or place.finished:
        return DrawnFabric(tuple(rows[-ROWS_DRAWN:]), off=state.finished and bool(rows))
    needle = needles.before(state.working)
    steps = _steps(place, needle)
    working = row_of(place, below, needle)
    worked, bit_first, bit_count = _progress(state, place, steps)
    return DrawnFabric(
        done=tuple(rows[-ROWS_DRAWN:]),
        working=working,
        worked=worked,
        bit_first=bit_first,
        bit_count=bit_count,
        hint=_hint(state, course, working),
    )


def width_unknown(state: PieceState, course: Course) -> bool:
    """Whether neither a pattern nor a count has said how many stitches there are."""
    return is_plain(course) and state.cast_on is None


def _of_any_width(state: PieceState, course: Course) -> DrawnFabric:
    """Return rows as they hang, between sides that are not shown: only the rows are known."""
    stitch = (DrawnStitch(Seen.PLAIN),)
    first = max(1, state.done - ROWS_DRAWN + 1)
    rows: list[DrawnRow] = []
    for number in range(first, state.done + 1 + (not state.finished)):
        leftwards = str(course.where(state.loops_ended, number).side) != "wrong"
        columns = tuple(replace(stitch[0], out_of=(at,)) for at in range(_ANY_WIDTH))
        rows.append(DrawnRow(number, columns, leftwards))
    if state.finished:
        return DrawnFabric(tuple(rows), open_sides=True, off=True)
    return DrawnFabric(tuple(rows[:-1]), working=rows[-1], open_sides=True)


def cast_on_row(count: int) -> DrawnRow:
    """Return the cast-on edge."""
    stitch = DrawnStitch(Seen.PLAIN, edge=FabricEdge.CAST_ON)
    return DrawnRow(0, (stitch,) * min(count, _WIDEST))


def row_of(place: Place, below: DrawnRow | None, needle: Needle | None = None) -> DrawnRow:
    """
    Return one row, standing on the row below it (None: what is below is not known).

    `needle` is what it is worked from, where that is known: with its markers and short rows.
    """
    right_side = str(place.side) != "wrong"
    spend(1 + min(max(place.before or 0, place.after or 0), _WIDEST))
    if _steps(place, needle) is None or place.before is None:
        return _plain_row(place, below, leftwards=right_side)
    seen = None if below is None else tuple(stitch.seen for stitch in below.stitches)
    before = _worked_from(place, needle)
    items = place.instruction.items
    return _row(items, before, place.row, seen, _in_hand(below), right_side)


def _in_hand(below: DrawnRow | None) -> str:
    """Return the yarn that was worked with last."""
    return below.in_order[-1].colour if below is not None and below.stitches else ""


def _worked_from(place: Place, needle: Needle | None) -> int | Needle:
    if needle is not None and needle.total == place.before:
        return needle
    return place.before or 0


@lru_cache(maxsize=512)
def _row(
    items: tuple[Item, ...],
    before: int | Needle,
    number: int,
    below: tuple[Seen, ...] | None,
    yarn: str,
    right_side: bool,  # noqa: FBT001 (part of the key)
) -> DrawnRow:
    """Return a row whose stitches are known; the rows done are asked for again and again."""
    steps = _steps_of(items, before)
    if steps is None:
        raise ValueError("Only a row whose stitches are known can be drawn.")
    count = before.total if isinstance(before, Needle) else before
    return drawn(steps.steps, number, below, right_side=right_side, before=count, yarn=yarn)


def _steps(place: Place, needle: Needle | None) -> Steps | None:
    if place.before is None or place.before > _WIDEST:
        return None
    return _steps_of(place.instruction.items, _worked_from(place, needle))


_steps_of = lru_cache(maxsize=512)(steps_of)

_followed: dict[tuple[int, tuple[tuple[str, int], ...]], Needles] = {}
_MOST_FOLLOWED: Final = 4


def needles_of(course: Course, ended: Mapping[str, int]) -> Needles:
    """Return the needles before the rows of a course; those asked for last are kept."""
    key = id(course), tuple(sorted(ended.items()))
    found = _followed.pop(key, None)
    if found is None or found.course is not course:
        found = Needles(course, ended)
    _followed[key] = found
    while len(_followed) > _MOST_FOLLOWED:
        del _followed[next(iter(_followed))]
    return found


def _plain_row(place: Place, below: DrawnRow | None, *, leftwards: bool) -> DrawnRow:
    """Return a row of which only the number of stitches is known."""
    yarn = _in_hand(below)
    after = min(place.after or place.before or 0, _WIDEST)
    return DrawnRow(place.row, _plain_stitches(place.before or after, after, yarn), leftwards)


@lru_cache(maxsize=128)
def _plain_stitches(before: int, after: int, yarn: str) -> tuple[DrawnStitch, ...]:
    """Return them from left to right; rows of the same counts share theirs."""
    share = (before - 1) / (after - 1) if after > 1 else 0.0
    return tuple(DrawnStitch(Seen.PLAIN, (round(at * share),), colour=yarn) for at in range(after))


def drawn(
    steps: tuple[Worked, ...],
    number: int,
    below: tuple[Seen, ...] | None,
    *,
    right_side: bool,
    before: int,
    yarn: str = "",
) -> DrawnRow:
    """
    Return a row as it is seen from the right side, its stitches from left to right.

    `below` is how the stitches of the row below are seen, from left to right; `yarn` is the letter
    of the yarn in hand when it is begun.
    """
    order: list[DrawnStitch] = []
    bound: list[DrawnStitch] = []
    taken = 0
    for step in steps:
        loops = [
            before - 1 - loop if right_side else loop for loop in range(taken, taken + step.takes)
        ]
        taken += step.takes
        yarn = step.colour or yarn
        if step.crossed:
            order += [
                DrawnStitch(
                    _seen(facing, [loops[loop]], below, right_side=right_side),
                    (loops[loop],),
                    crosses=True,
                    front=front,
                    colour=yarn,
                )
                for facing, (loop, front) in zip(step.leaves, step.crossed, strict=True)
            ]
            continue
        if step.over is Over.LAST:
            loops.reverse()
        elif step.over is Over.MIDDLE:
            loops.insert(0, loops.pop(len(loops) // 2))
        beside = before - 0.5 - taken if right_side else taken - 0.5
        if step.bound_off:
            bound.append(
                DrawnStitch(Seen.PLAIN, tuple(loops), edge=FabricEdge.BIND_OFF, colour=yarn)
            )
        order += [
            DrawnStitch(
                _seen(facing, loops, below, right_side=right_side),
                tuple(loops),
                beside,
                idle=step.idle,
                colour=yarn,
            )
            for facing in step.leaves
        ]
    if not order:
        order = bound
    if right_side:
        order.reverse()
    return DrawnRow(number, tuple(order), right_side)


def _seen(
    facing: Facing, loops: list[int], below: tuple[Seen, ...] | None, *, right_side: bool
) -> Seen:
    match facing:
        case Facing.KNIT:
            return Seen.KNIT if right_side else Seen.PURL
        case Facing.PURL:
            return Seen.PURL if right_side else Seen.KNIT
        case Facing.OVER:
            return Seen.OVER
        case Facing.AS_BELOW:
            if below is not None and loops and loops[0] < len(below):
                seen = below[loops[0]]
                return seen if seen in {Seen.KNIT, Seen.PURL} else Seen.KNIT
            return Seen.KNIT
        case Facing.PLAIN:
            return Seen.PLAIN


def _progress(state: PieceState, place: Place, steps: Steps | None) -> tuple[int, int, int]:
    """Return how many stitches of the row are worked, and where the bit worked now lies."""
    if steps is None:
        return 0, 0, 0
    bits = place.instruction.bits
    at = min(state.bit, len(bits) - 1)
    item = 0
    bounds = [0]
    for bit in bits:
        item += len(bit.items)
        done = steps.ends[item - 1] if 0 < item <= len(steps.ends) else 0
        bounds.append(steps.made(done))
    first, last = bounds[at], bounds[at + 1]
    worked = first
    if state.in_row is not None and state.in_row.after is not None:
        worked = max(worked, state.in_row.after)
    if len(bits) == 1:
        return worked, 0, 0  # the row is one bit: to mark all of it would mark nothing
    return worked, first, last - first


def next_change(course: Course, state: PieceState) -> Place | None:
    """
    Return the next row that is shaped, the working one included; None if nothing changes.

    Without shaping near by it is the next row after the working one that is otherwise different.
    """
    ended = state.loops_ended
    other: Place | None = None
    row = state.working
    for _ in range(_LOOKED_AT):
        place = course.next_change(ended, row)
        if place is None or place.row > state.working + _HINT_WITHIN:
            break
        if place.shaping:
            return place
        if other is None and place.row > state.working:
            other = place
        row = place.row + 1
    return other


def _hint(state: PieceState, course: Course, working: DrawnRow) -> DrawnRow | None:
    """Return the next row that changes something, if it is not the one being worked."""
    place = next_change(course, state)
    if place is None or place.row == state.working:
        return None
    return row_of(place, working, needles_of(course, state.loops_ended).before(place.row))
