"""
Whether a command makes sense now, and what is to be written if it does.

Hearing hands over candidates ("thirteen" may have been "thirty"); this module knows the piece, so
it picks the plausible one, doubts (`engine.judging.doubts`) or refuses. Nothing is written here;
the caller writes the events of an `Accepted` and only then shows anything.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from engine import commands, events
from engine.commands import Since
from engine.composing import CastOnStitches, Composing, RepeatRows, SayRow, ShapeRows
from engine.evolve import partner_of
from engine.fabric import Fabric
from engine.facts.distance import row_of
from engine.facts.needles import needle_name
from engine.facts.partner import as_partner_after
from engine.facts.swatches import count_event, known_needle
from engine.judging.decision import Accepted, Decision, Doubt, Question, Refused
from engine.judging.doubts import doubt, read_back
from engine.judging.part_end import (
    against_ending,
    goes_on_after_part,
    long_after_next,
    on_the_other_side,
    open_loop,
    reaches,
)
from engine.judging.plausible import likeliest, with_its_count, with_lost_end
from engine.judging.said_rows import closing, judge_said, said_in_part, with_first
from engine.replies import Say, Tone, reply

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.events import Event
    from engine.judging.said_rows import MakeCourse
    from engine.pattern import Course
    from engine.replies import Reply
    from engine.state import PieceState


_ASKED_AT_MOST = 2
"""So often she is asked how she measures; who does not answer then means the usual way."""
_MOVING = (
    commands.RowsDone,
    commands.RidgesDone,
    commands.PartDone,
    commands.RipBack,
    commands.BackToLifeline,
    commands.Unpick,
    commands.StopInRow,
    commands.NextBit,
    commands.StepBack,
    commands.FinishPiece,
)
"""The commands that make no sense while two devices disagree about the row."""


def decide(
    state: PieceState,
    course: Course,
    candidates: Sequence[Command],
    *,
    confirmed: bool = False,
    heard: bool = False,
    doubted: bool = False,
    first: tuple[Event, ...] = (),
    make_course: MakeCourse | None = None,
) -> Decision:
    """
    Judge what was said against the piece.

    Args:
        state: where the piece stands.
        course: its pattern, for its size.
        candidates: what may have been said, the likeliest first; at least one.
        confirmed: whether the knitter has already said yes to exactly this command.
        heard: whether it was said aloud, so that a last sound may be lost.
        doubted: whether it may not have been said at all: then its number is read back first.
        first: what names the partner piece as it is now, where there is one.
        make_course: makes the course of a state; without it no rows can be said.

    """
    if not candidates:
        raise ValueError("There must be at least one candidate to decide on.")
    said = [one for one in candidates if isinstance(one, Composing)]
    if said and isinstance(candidates[0], Composing):
        if make_course is None:
            raise ValueError("Rows can only be said where a course can be made of them.")
        return judge_said(state, course, said, make_course, confirmed=confirmed)
    candidates = tuple(dict.fromkeys(with_its_count(state, one) for one in candidates))
    if heard and not confirmed:
        candidates = with_lost_end(state, course, candidates)
    command = candidates[0] if confirmed else likeliest(state, course, candidates)
    if state.fork and isinstance(command, _MOVING):
        return Refused(_no(Say.FORKED, low=min(state.fork), high=max(state.fork)))
    if isinstance(command, commands.SameAsPartner):
        return _same(state, command, first)
    if isinstance(command, commands.RowsDone) and said_in_part(state, command.count):
        if not confirmed:
            return Doubt(Question(reply(Say.ASK_ROW_LEAVES, row=state.working), command))
        rest = closing(state, course, make_course) if make_course is not None else ()
        return with_first(_judge(state, course, command, confirmed=True), rest)
    decision = _judge(state, course, command, confirmed=confirmed)
    if confirmed or isinstance(decision, Refused):
        return decision
    if doubted and isinstance(decision, Accepted):
        decision = read_back(state, command) or decision
    return doubt(state, course, command, candidates) or decision


def _no(say: Say, **values: int) -> Reply:
    return reply(say, Tone.NOT_HEARD, **values)


# --- judging ----------------------------------------------------------------------------------


def _judge(  # noqa: C901, PLR0911, PLR0912 (one case a command: together they are the whole table)
    state: PieceState, course: Course, command: Command, *, confirmed: bool
) -> Decision:
    working = state.working
    match command:
        case commands.RowsDone(row=int(row)):
            return _row_named(state, course, command, row, confirmed=confirmed)
        case commands.RowsDone(count):
            return _rows(state, course, command, count)
        case commands.RidgesDone(count):
            return _rows(state, course, command, 2 * count)
        case commands.PartDone():
            return _part_done(state, course, command, confirmed=confirmed)
        case commands.RipBack(rows):
            return _rip(state, command, state.done - rows, lifeline=False, confirmed=confirmed)
        case commands.BackToLifeline():
            if not state.lifelines:
                return Refused(_no(Say.NO_LIFELINE))
            row = state.lifelines[-1].row
            return _rip(state, command, row, lifeline=True, confirmed=confirmed)
        case commands.Recount(row):
            return _recount(state, course, command, row, confirmed=confirmed)
        case commands.Unpick():
            return _unpick(state, command)
        case commands.StopInRow(after):
            return _stop(state, course, command, after)
        case commands.PlaceLifeline():
            place = course.where(state.loops_ended, state.done) if state.done else None
            stitches = place.after if place else state.cast_on
            return Accepted(command, (events.LifelinePlaced(state.done, stitches),))
        case commands.PlaceMarker():
            return Accepted(command, (events.MarkerPlaced(state.done),))
        case commands.JoinBall(after, lot):
            return _join(state, course, command, after, (lot or "").strip())
        case commands.ChangeNeedle(length, text):
            needle = needle_name(length, text)
            return Accepted(command, (events.NeedleChanged(working, needle),))
        case commands.FinishPiece():
            return _finish(state, course, command, confirmed=confirmed)
        case commands.Measure():
            return _measure(state, course, command)
        case commands.MeasureWidth(length, fabric):
            seen = fabric or (state.how.fabric if state.how else Fabric.ON_NEEDLE)
            return Accepted(command, (events.WidthMeasured(state.done, length, seen),))
        case commands.MeasureHow():
            return _measure_how(state, course, command)
        case commands.CountStitches(count):
            expected = expected_now(state, course)
            counted = events.StitchesCounted(state.done, count, expected)
            return Accepted(command, (counted,))
        case commands.WeighYarn(mass):
            return Accepted(command, (events.YarnWeighed(state.done, mass),))
        case commands.CountSwatch(stitches, rows):
            if not stitches and not rows:
                return Refused(_no(Say.SWATCH_NEEDS_COUNTS))
            return Accepted(command, (count_event(state, command),))
        case commands.WeighSwatch(mass, stitches, rows):
            weighed = events.SwatchWeighed(mass, stitches, rows, known_needle(state))
            return Accepted(command, (weighed,))
        case commands.HandFelt(feel):
            return Accepted(command, (events.HandNoted(_last_worked(state), feel),))
        case commands.NoteRow(row, text):
            return _note(state, command, row, "note", text)
        case commands.Mistake(row, text):
            return _note(state, command, row, "mistake", text)
        case commands.DroppedStitch():
            return Accepted(command, (events.RowNoted(working, "dropped", ""),))
        case commands.Undo():
            if state.undoable is None:
                return Refused(_no(Say.NOTHING_TO_TAKE_BACK))
            return Accepted(command, (events.Undone(state.undoable),))
        case commands.Redo():
            if not state.redoable:
                return Refused(_no(Say.NOTHING_TO_PUT_BACK))
            return Accepted(command, tuple(events.Undone(group) for group in state.redoable))
        case commands.NextBit() | commands.StepBack():
            return _bit(state, course, command)
        case (
            commands.WhichRow()
            | commands.WhatNext()
            | commands.ReadRow()
            | commands.HowTo()
            | commands.WhereInRepeat()
            | commands.NextChange()
            | commands.HowFar()
            | commands.HowManyStitches()
            | commands.YarnLasts()
            | commands.HowLong()
            | commands.HowIsHand()
            | commands.SameAsPartner()
            | commands.Lost()
            | commands.HoldNeedles()
            | commands.Meaning()
            | commands.ReadNotes()
        ):
            return Accepted(command)
        case SayRow() | RepeatRows() | ShapeRows() | CastOnStitches():
            raise ValueError("What is said of rows is judged with its other readings.")
        case _:
            assert_never(command)


def expected_now(state: PieceState, course: Course) -> int | None:
    """Return how many stitches should be on the needle after the last row done; None if unknown."""
    if state.done == 0:
        return state.cast_on
    return course.where(state.loops_ended, state.done).after


def _last_worked(state: PieceState) -> int:
    """Return the row that a remark is about: the one under way, else the last done."""
    if state.in_row is not None or state.done == 0:
        return state.working
    return state.done


def _rows(state: PieceState, course: Course, command: Command, count: int) -> Decision:
    if state.finished:
        return Refused(_no(Say.IS_FINISHED))
    if count < 1:
        return Refused(_no(Say.NO_ROW_YET))
    ended = state.loops_ended
    last = course.last_row(ended)
    if last is not None and state.done + count > last:
        return Refused(_no(Say.PAST_THE_END, row=last))
    worked: list[events.RowsWorked] = []
    for row in range(state.working, state.working + count):
        section = course.where(ended, row).section
        if worked and worked[-1].section == section:
            worked[-1] = events.RowsWorked(section, worked[-1].first, row)
        else:
            worked.append(events.RowsWorked(section, row, row))
    then = None
    if last is not None and state.done + count == last:
        then = Question(reply(Say.ASK_FINISH), commands.FinishPiece())
    elif as_partner_after(state, course, count) or (count == 1 and long_after_next(state, course)):
        then = Question(reply(Say.ASK_PART_DONE), commands.PartDone())
        if len(course.parts) == 1:
            then = Question(reply(Say.ASK_FINISH), commands.FinishPiece())
    elif _uncounted(state, course, state.done + count):
        then = Question(reply(Say.ASK_UNCOUNTED), None)
    return Accepted(command, tuple(worked), then)


def _row_named(
    state: PieceState, course: Course, command: Command, row: int, *, confirmed: bool
) -> Decision:
    """Judge "row sixty done" while another row is being worked; that of the last one is known."""
    if state.finished:
        return Refused(_no(Say.IS_FINISHED))
    if row < 1:
        return Refused(_no(Say.NO_ROW_YET))
    if row == state.done:
        return Accepted(commands.WhichRow())
    known = commands.Recount(row + 1)
    decision = _recount(state, course, known, known.row, confirmed=confirmed)
    if not isinstance(decision, Doubt):
        return decision
    return Doubt(Question(reply(Say.ASK_ROWS_DONE, row=row), command))


def _uncounted(state: PieceState, course: Course, row: int) -> bool:
    """Whether only the knitter can say how many stitches a row leaves."""
    if course.uncounted_line(state.loops_ended, row) is None:
        return False
    return all(count.row != row or count.aside for count in state.counts)


def _part_done(state: PieceState, course: Course, command: Command, *, confirmed: bool) -> Decision:
    loop = open_loop(state, course)
    if loop is None:
        return Refused(_no(Say.NO_OPEN_PART))
    against = None if confirmed else against_ending(state, course)
    if against is not None:
        return Doubt(Question(against, command))
    return Accepted(command, (events.LoopEnded(loop.id, state.done),))


def _rip(
    state: PieceState, command: Command, to: int, *, lifeline: bool, confirmed: bool
) -> Decision:
    if to < 0:
        return Refused(_no(Say.TOO_FAR_BACK, row=state.done))
    if not confirmed:
        return Doubt(Question(reply(Say.ASK_ROWS_DONE, row=to), command))
    return Accepted(command, (events.RippedBack(to, lifeline),))


def _recount(
    state: PieceState, course: Course, command: Command, row: int, *, confirmed: bool
) -> Decision:
    if row < 1:
        return Refused(_no(Say.NO_ROW_YET))
    last = course.last_row(state.loops_ended)
    if last is not None and row > last + 1:
        return Refused(_no(Say.PAST_THE_END, row=last))
    if not confirmed:
        return Doubt(Question(reply(Say.ASK_WORKING, row=row), command))
    return Accepted(command, (events.Recounted(row - 1),))


def _unpick(state: PieceState, command: Command) -> Decision:
    if state.in_row is not None:
        return Accepted(command, (events.RowReopened(state.in_row.row),))
    if state.done == 0:
        return Refused(_no(Say.NO_ROW_YET))
    return Accepted(command, (events.RowReopened(state.done),))


def _stop(state: PieceState, course: Course, command: Command, after: int | None) -> Decision:
    if state.finished:
        return Refused(_no(Say.IS_FINISHED))
    stopped = events.StoppedInRow(state.working, after)
    if after is None:
        return Accepted(command, (stopped,), Question(reply(Say.ASK_AFTER), None))
    most = _stitches_in_row(state, course)
    if most is not None and after > most:
        return Refused(_no(Say.MORE_THAN_ROW, count=most))
    return Accepted(command, (stopped,))


def _stitches_in_row(state: PieceState, course: Course) -> int | None:
    place = course.where(state.loops_ended, state.working)
    return max((n for n in (place.before, place.after) if n is not None), default=None)


def _join(
    state: PieceState, course: Course, command: Command, after: int | None, lot: str
) -> Decision:
    most = _stitches_in_row(state, course)
    if after is not None and most is not None and after > most:
        return Refused(_no(Say.MORE_THAN_ROW, count=most))
    if after is None and state.in_row is not None:
        after = state.in_row.after
    return Accepted(command, (events.YarnJoined(state.working, after, lot),))


def _same(state: PieceState, command: Command, first: tuple[Event, ...]) -> Decision:
    """Compare with the partner; what is new about it, or a first piece to compare with, is kept."""
    if not first:
        return Accepted(command) if state.partner else Refused(_no(Say.NO_PARTNER))
    return Accepted(command, () if partner_of(first) == state.partner else first)


def _finish(state: PieceState, course: Course, command: Command, *, confirmed: bool) -> Decision:
    if state.finished:
        return Refused(_no(Say.IS_FINISHED))
    if not confirmed:
        return Doubt(Question(_ask_finish(state, course), command))
    return Accepted(command, (events.PieceFinished(state.done),))


def _ask_finish(state: PieceState, course: Course) -> Reply:
    """Ask whether the piece is finished, with what by its pattern is still to be worked."""
    if not state.done:
        return reply(Say.ASK_FINISH_UNBEGUN)
    if goes_on_after_part(state, course):
        return reply(Say.ASK_FINISH_BEFORE_PART)
    last = course.last_row(state.loops_ended)
    if last is not None and last > state.done:
        return reply(Say.ASK_FINISH_EARLY, rows=last - state.done)
    return reply(Say.ASK_FINISH)


def _measure(state: PieceState, course: Course, command: commands.Measure) -> Decision:
    if state.done == 0:
        return Refused(_no(Say.NO_ROW_YET))
    how = state.how
    since = command.since or (how.since if how else Since.CAST_ON)
    fabric = command.fabric or (how.fabric if how else Fabric.ON_NEEDLE)
    from_row = row_of(state, course, since)
    if from_row is None:
        return Refused(_no(Say.NO_MARKER))
    if from_row >= state.done:
        return Refused(_no(Say.NO_ROW_SINCE))
    assumed = how is None and (command.since is None or command.fabric is None)
    reading = events.Measured(state.done, command.length, since, from_row, fabric, assumed=assumed)
    then = None
    if assumed and sum(old.assumed for old in state.lengths) < _ASKED_AT_MOST:
        asks = reply(Say.ASK_HOW_MEASURED, since=since, fabric=fabric)
        agreed = commands.MeasureHow(since, fabric)
        then = Question(asks, agreed, Question(reply(Say.SAY_HOW_MEASURED), None))
    elif reaches(state, course, reading) and not on_the_other_side(state, course):
        then = Question(reply(Say.ASK_PART_DONE), commands.PartDone())
    return Accepted(command, (reading,), then)


def _measure_how(state: PieceState, course: Course, command: commands.MeasureHow) -> Decision:
    how = state.how
    since = command.since or (how.since if how else Since.CAST_ON)
    fabric = command.fabric or (how.fabric if how else Fabric.ON_NEEDLE)
    from_row = row_of(state, course, since)
    if from_row is None:
        return Refused(_no(Say.NO_MARKER))
    return Accepted(command, (events.MeasuringAgreed(since, from_row, fabric),))


def _note(
    state: PieceState, command: Command, row: int | None, about: str, text: str | None
) -> Decision:
    place = _last_worked(state) if row is None else row
    if row is not None and not 1 <= row <= state.working:
        return Refused(_no(Say.TOO_FAR_BACK, row=state.done))
    return Accepted(command, (events.RowNoted(place, about, text or ""),))


def _bit(state: PieceState, course: Course, command: Command) -> Decision:
    if state.finished:
        return Refused(_no(Say.IS_FINISHED))
    bits = course.where(state.loops_ended, state.working).instruction.bits
    step = 1 if isinstance(command, commands.NextBit) else -1
    bit = state.bit + step
    if bit < 0:
        return Refused(_no(Say.ROW_AT_START))
    if bit >= len(bits):
        return Refused(_no(Say.ROW_HAS_NO_MORE if state.bit else Say.ROW_IN_ONE))
    return Accepted(command, (events.BitReached(state.working, bit),))
