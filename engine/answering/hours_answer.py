"""How many hours of knitting are left: the rows that are left, at the knitter's own pace."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, assert_never

from engine.facts.distance import LongEnough, NoTarget, RowsExactly, distance, to_the_end
from engine.facts.work import Unknown, work
from engine.forecast.pace import HoursLeft, hours_left, pace
from engine.forecast.values import CannotSay, RowsLeft
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.forecast.pace import RowStamp
    from engine.pattern import Course
    from engine.state import PieceState

_IN_HOURS: Final = 1.75
"""From so many hours on nobody counts minutes."""
_STEP_MINUTES: Final = 5


def how_long(state: PieceState, course: Course, stamps: Sequence[RowStamp]) -> tuple[Reply, ...]:
    """
    Answer how long the knitting will take; `stamps` say when the rows of the piece were done.

    Knitting time only: when she will be ready depends on meals, children and sleep.
    """
    heard = Tone.HEARD
    match distance(state, course):
        case RowsExactly(rows):
            part = RowsLeft(rows, rows, rows, 1.0, None)
        case RowsLeft() as part:
            pass
        case CannotSay(measure_again_at=row):
            if row <= state.done:
                return (reply(Say.MEASURE_FIRST, heard),)
            return (reply(Say.MEASURE_AGAIN, heard, row=row),)
        case LongEnough():
            return (reply(Say.LONG_ENOUGH, heard),)
        case NoTarget():
            return (reply(Say.NO_TARGET, heard),)
        case other:
            assert_never(other)
    found = work(state, course)
    done = None if isinstance(found, Unknown) else found[0]
    speed = pace(stamps, done.time if done is not None else None)
    if speed is None:
        return (reply(Say.PACE_UNKNOWN, heard),)
    left = _whole(state, course, part)
    if isinstance(found, Unknown):
        return (_in_words(hours_left(left, speed)),)
    low, high = (
        found[0].timed(amount, rows)
        for amount, rows in zip(found[1].work, found[1].rows, strict=True)
    )
    share = (left.best - left.low) / (left.high - left.low) if left.high > left.low else 0.0
    amounts = (low, low + share * (high - low), high)
    return (_in_words(hours_left(left, speed, amounts)),)


def _whole(state: PieceState, course: Course, part: RowsLeft) -> RowsLeft:
    """Return the rows to the end of the piece, for those to the end of the part."""
    low, best, high = (to_the_end(state, course, rows) for rows in (part.low, part.best, part.high))
    return RowsLeft(low, high, best, part.level, None)


def _in_words(left: HoursLeft) -> Reply:
    """
    Say whole hours, or steps of five minutes while it is less than two hours.

    Minutes are rounded outwards: the interval said is never narrower than the one known.
    """
    if left.best < _IN_HOURS:
        low = _STEP_MINUTES * math.floor(left.low * 60 / _STEP_MINUTES)
        high = _STEP_MINUTES * max(math.ceil(left.high * 60 / _STEP_MINUTES), 1)
        if low == 0:
            return reply(Say.MINUTES_AT_MOST, Tone.HEARD, minutes=high)
        return reply(Say.MINUTES_LEFT, Tone.HEARD, low=low, high=high)
    low, high = math.floor(left.low + 0.25), math.ceil(left.high - 0.25)
    return reply(Say.HOURS_LEFT, Tone.HEARD, low=max(low, 1), high=max(high, low, 1))
