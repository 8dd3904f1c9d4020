"""What is answered to a row that was said: the row in few words, and the stitches it leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from engine import said_events
from engine.compose.followed import AS_SET
from engine.composing import CastOnStitches, RepeatRows, SayRow, ShapeRows
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine.composing import Composing
    from engine.pattern import Course
    from engine.state import PieceState


def rows_said(after: PieceState, course: Course, command: Composing) -> tuple[Reply, ...]:
    """Return what to answer to what was said of rows; what leaves stitches is asked about."""
    heard = Tone.HEARD
    match command:
        case CastOnStitches(count):
            return (reply(Say.CAST_ON_SAID, heard, count=count),)
        case SayRow(was=True):
            row = command.row or after.done
            place = course.where(after.loops_ended, row)
            return (reply(Say.ROW_MENDED, heard, row=row, instruction=place.instruction),)
        case SayRow():
            if after.saying is not None:
                row = after.saying.first
                return () if after.saying.words else (reply(Say.SAY_THE_ROW, heard, row=row),)
            return (_row(after, course),)
        case RepeatRows():
            return (_repeated(after),)
        case ShapeRows():
            return (_shaped(after, course),)
        case _:
            assert_never(command)


def _row(after: PieceState, course: Course) -> Reply:
    """Return the row that was said as it was understood, with the stitches after it."""
    last = after.said[-1]
    if not isinstance(last, said_events.RowSaid):
        raise TypeError("No row was said.")
    place = course.where(after.loops_ended, last.last)
    count = place.after
    if count == 0:
        return reply(Say.ROW_OFF, Tone.HEARD, row=last.last)
    if count is None or place.instruction.long:
        return reply(Say.LONG_ROW_SAID, Tone.HEARD, row=last.last, count=count or 0)
    if last.last != after.working:
        return reply(
            Say.OTHER_ROW_SAID,
            Tone.HEARD,
            row=last.last,
            instruction=place.instruction,
            count=count,
        )
    return reply(Say.ROW_SAID, Tone.HEARD, instruction=place.instruction, count=count)


def unsaid(state: PieceState, course: Course, row: int) -> bool:
    """Tell whether a row of a piece whose rows are said has not been said yet."""
    if not state.said:
        return False
    place = course.where(state.loops_ended, row)
    return not place.finished and place.label == "" and str(place.instruction) == AS_SET


def _repeated(after: PieceState) -> Reply:
    last = after.said[-1]
    if not isinstance(last, said_events.RowsRepeated):
        raise TypeError("No rows were repeated.")
    which = {
        "low": last.of_first, "high": last.of_last, "rows": last.of_last - last.of_first + 1,
    }  # fmt: skip
    if last.until is not None:
        return reply(Say.ROWS_REPEATED_UNTIL, Tone.HEARD, length=last.until, **which)
    if last.times is not None:
        return reply(Say.ROWS_REPEATED_TIMES, Tone.HEARD, count=last.times, **which)
    return reply(Say.ROWS_REPEATED, Tone.HEARD, **which)


def _shaped(after: PieceState, course: Course) -> Reply:
    last = after.said[-1]
    if not isinstance(last, said_events.ShapingSaid):
        raise TypeError("No shaping was said.")
    count = course.where(after.loops_ended, last.last).after
    return reply(Say.SHAPING_SAID, Tone.HEARD, row=last.start, count=count or 0)
