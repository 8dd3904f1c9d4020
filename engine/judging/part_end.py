"""
Where a part that is worked "until it measures" ends, and what speaks against ending it now.

She decides, by eye and ruler; this module only notices what is easily overlooked: a part that
has to end after a wrong-side row, and rows that are still missing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from engine.facts.distance import RowsExactly, distance, reached, target
from engine.forecast.values import RowsLeft
from engine.pattern.headings import Side
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine import events
    from engine.pattern import Course, OpenLoop
    from engine.state import PieceState

_FEW_ROWS: Final = 2
"""Honest rulers differ by half a centimetre, which is a row or two (common practice, no source)."""


def open_loop(state: PieceState, course: Course) -> OpenLoop | None:
    """Return the part that is being worked, or has just been worked, until it is long enough."""
    return course.where(state.loops_ended, state.working).open_loop


def goes_on_after_part(state: PieceState, course: Course) -> bool:
    """Tell whether rows follow a part that is still to be worked until it is long enough."""
    for index, part in enumerate(course.parts):
        if part.loop is not None and part.loop.id not in state.loops_ended:
            return any(later.node.rows != 0 for later in course.parts[index + 1 :])
    return False


def reaches(state: PieceState, course: Course, reading: events.Measured) -> bool:
    """Say whether the part being worked is now as long as the pattern wants it."""
    if open_loop(state, course) is None:
        return False
    wanted = target(state, course)
    if wanted is None or reading.from_row != wanted.from_row:
        return False
    there = wanted.read_as(state, reading.fabric)
    return there is not None and reading.length.cm >= there.cm


def on_the_other_side(state: PieceState, course: Course) -> bool:
    """Tell whether the last row is not of the side on which the pattern wants the part to end."""
    loop = open_loop(state, course)
    if loop is None or loop.ends_on is None or state.done == 0:
        return False
    side = course.where(state.loops_ended, state.done).side
    return side is not Side.ROUND and side is not loop.ends_on


def long_after_next(state: PieceState, course: Course) -> bool:
    """Tell whether the part is long enough, but for one more row to end on the right side."""
    wanted = target(state, course)
    return (
        wanted is not None
        and open_loop(state, course) is not None
        and reached(state, wanted)
        and on_the_other_side(state, course)
    )


def against_ending(state: PieceState, course: Course) -> Reply | None:
    """Return the question to ask before the part ends here; None if nothing speaks against it."""
    match distance(state, course):
        case RowsExactly(rows=rows, partner=True):
            return reply(Say.ASK_PART_EARLY, Tone.NOT_HEARD, low=rows, high=rows)
        case RowsLeft(low=low, high=high) if low > _FEW_ROWS:
            return reply(Say.ASK_PART_EARLY, Tone.NOT_HEARD, low=low, high=high)
        case _:
            pass
    if on_the_other_side(state, course):
        side = course.where(state.loops_ended, state.done).side
        return reply(Say.ASK_PART_ENDS, Tone.NOT_HEARD, row=state.done, side=side)
    return None
