"""
Whether a number that was heard can be meant, given where the piece stands.

Teens and tens sound alike, and a slip of the tongue happens: "I count thirty stitches" where
fifty should be is worth knowing, but between thirteen and thirty the expected count decides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine import commands
from engine.commands import Since
from engine.distance import part_spans, readings, swatch_gauge
from engine.fabric import Fabric
from engine.foresee.length import doubtful
from engine.foresee.values import LengthReading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.pattern import Course
    from engine.state import PieceState

_NEAR_ROWS = 30
"""A recount farther away than this is hardly a recount (common practice, no source)."""
_MANY_ROWS = 40
"""Nobody works more rows than this without a word (common practice, no source)."""


def likeliest(state: PieceState, course: Course, candidates: Sequence[Command]) -> Command:
    """Return the first candidate that can be meant, or the first one if none can."""
    for command in candidates:
        if not implausible(state, course, command):
            return command
    return candidates[0]


def implausible(state: PieceState, course: Course, command: Command) -> bool:
    """Say whether the number in a command can hardly be; False for commands without a number."""
    match command:
        case commands.RowsDone(count):
            return _too_many_rows(state, course, count)
        case commands.RidgesDone(count):
            return _too_many_rows(state, course, 2 * count)
        case commands.RipBack(rows):
            return rows > state.done
        case commands.Recount(row):
            return abs(row - state.working) > _NEAR_ROWS
        case commands.StopInRow(int(after)):
            before = course.where(state.loops_ended, state.working).before
            return before is not None and after > before
        case commands.CountStitches(count):
            return _far_count(state, course, count)
        case commands.NoteRow(int(row)) | commands.Mistake(int(row)):
            return row > state.working
        case commands.Measure():
            return _doubtful_length(state, course, command)
        case _:
            return False


def _too_many_rows(state: PieceState, course: Course, count: int) -> bool:
    last = course.last_row(state.loops_ended)
    return count > _MANY_ROWS or (last is not None and state.done + count > last)


def _far_count(state: PieceState, course: Course, count: int) -> bool:
    """Tell a miscount, which is a few stitches, from a number heard wrong, which is many."""
    place = course.where(state.loops_ended, max(state.done, 1))
    expected = state.cast_on if state.done == 0 else place.after
    return expected is not None and abs(count - expected) > max(6, expected // 4)


def _doubtful_length(state: PieceState, course: Course, command: commands.Measure) -> bool:
    since = command.since or (state.how.since if state.how else Since.CAST_ON)
    fabric = command.fabric or (state.how.fabric if state.how else Fabric.ON_NEEDLE)
    from_row = 0 if since is Since.CAST_ON or not state.markers else state.markers[-1]
    if from_row >= state.done:
        return False
    part = course.where(state.loops_ended, state.done).section
    new = LengthReading(state.done, command.length.cm, fabric, part, from_row=from_row)
    doubt = doubtful(readings(state, course), new, swatch_gauge(course), part_spans(state, course))
    return doubt is not None
