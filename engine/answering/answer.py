"""
What is answered to a command that was accepted: short, and only what she needs to hear now.

The everyday answer is a tick. Words come where a number was said, a question asked or the next
row differs. The words themselves are in the phrase data; here are only their values.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from engine import commands
from engine.answering import hand_answer
from engine.answering.guidance import first_steps, guided
from engine.answering.hours_answer import how_long
from engine.answering.partner_answer import same_as_partner
from engine.answering.said_rows_answer import rows_said, unsaid
from engine.answering.swatch_answer import swatch_counted
from engine.answering.taken_back import thing_between
from engine.answering.yarn_answer import yarn_left
from engine.composing import CastOnStitches, RepeatRows, SayRow, ShapeRows
from engine.fabric import Fabric
from engine.facts.distance import (
    LongEnough,
    NoTarget,
    RowsExactly,
    distance,
    measure_again_at,
    target,
)
from engine.forecast.values import CannotSay, RowsLeft
from engine.judging.decide import expected_now
from engine.judging.part_end import goes_on_after_part, long_after_next
from engine.plan.rounding import worked_out
from engine.plan.yarn import mixed_lots
from engine.replies import Reply, Say, Tone, reply
from engine.show_how import Move, coming, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.forecast.pace import RowStamp
    from engine.pattern import Course
    from engine.state import PieceState

_BURST = 4
"""Shaping rows nearer than this are counted once, after the last (common practice, no source)."""


def answer(  # noqa: C901, PLR0911, PLR0912, PLR0915 (one case a command: together they are the whole table)
    before: PieceState,
    after: PieceState,
    course: Course,
    command: Command,
    stamps: Sequence[RowStamp] = (),
    scale_g: float | None = None,
) -> tuple[Reply, ...]:
    """
    Return what to answer to `command`, which took the piece from `before` to `after`.

    The first reply carries the tone; the caller adds a question that follows. `stamps` say when
    the rows were done, for questions about time, and `scale_g` is the step of her scale, for those
    about yarn (None: it is learnt); no state depends on them.
    """
    heard = Tone.HEARD
    match command:
        case commands.RowsDone(count):
            return _rows_done(before, after, course, said=count)
        case commands.RidgesDone(count):
            return _rows_done(before, after, course, said=2 * count)
        case commands.PartDone():
            return _part_begins(before, after, course)
        case commands.RipBack() | commands.BackToLifeline():
            return (reply(Say.RIPPED, heard, row=after.done),)
        case commands.Recount() | commands.WhichRow():
            return (_working(after, course),)
        case commands.Unpick():
            return (reply(Say.OPEN, heard, row=after.working),)
        case commands.StopInRow(stopped):
            if stopped is None:
                return ()
            return (reply(Say.STOPPED, heard, row=after.working, count=stopped),)
        case commands.PlaceLifeline() | commands.PlaceMarker():
            return (reply(Say.NOTED, heard, row=after.done),)
        case commands.JoinBall():
            return (reply(Say.NOTED, heard, row=after.working), *_mixed(before, after))
        case commands.ChangeNeedle():
            needle = after.needles[-1].needle if after.needles else ""
            if not needle:
                return (reply(Say.NOTED, heard, row=after.working),)
            return (reply(Say.NEEDLE_CHANGED, heard, row=after.working, words=needle),)
        case commands.CountSwatch():
            return swatch_counted(after, course, command)
        case commands.WeighSwatch(mass, stitches, rows):
            return (reply(Say.SWATCH_WEIGHED, heard, mass=mass, stitches=stitches, rows=rows),)
        case commands.NoteRow() | commands.Mistake():
            return (reply(Say.NOTED, heard, row=_noted_row(after, command)),)
        case commands.FinishPiece():
            return (reply(Say.PIECE_FINISHED, heard, row=after.done),)
        case commands.Measure(length):
            measured = reply(Say.MEASURED, heard, length=length)
            return (
                measured,
                *_after_next(after, course),
                *hand_answer.unasked(before, after, course),
            )
        case commands.MeasureWidth(length):
            noted = reply(Say.WIDTH_NOTED, heard, length=length)
            return (noted, *hand_answer.unasked(before, after, course))
        case commands.MeasureHow():
            how = after.how
            if how is None:
                return (reply(Say.TICK, heard),)
            return (reply(Say.MEASURED_SO, heard, since=how.since, fabric=how.fabric),)
        case commands.CountStitches(count):
            return (_counted(after, course, count),)
        case commands.WeighYarn(mass):
            return (reply(Say.WEIGHED, heard, mass=mass),)
        case commands.HandFelt():
            return (reply(Say.TICK, heard),)
        case commands.DroppedStitch():
            return (reply(Say.DROPPED, heard),)
        case commands.Undo():
            return (_taken_back(before, after),)
        case commands.Redo():
            return (_put_back(before, after),)
        case commands.WhatNext() if begins := first_steps(after, course):
            return (reply(Say.TICK, heard), *begins)
        case commands.WhatNext() if unsaid(after, course, after.working):
            return (reply(Say.SAY_THE_ROW, heard, row=after.working),)
        case commands.WhatNext() | commands.NextBit() | commands.StepBack():
            return (_instruction(after, course, command),)
        case commands.ReadRow(row):
            return (_row_read(after, course, row),)
        case commands.HowTo(stitch):
            return (_how(after, course, stitch),)
        case commands.WhereInRepeat():
            return (_repeat(after, course),)
        case commands.NextChange():
            return (_next_change(after, course),)
        case commands.HowFar():
            return _how_far(after, course)
        case commands.HowManyStitches():
            expected = expected_now(after, course)
            if expected is None:
                return (reply(Say.EXPECTED_UNKNOWN, heard),)
            return (reply(Say.EXPECTED, heard, count=expected),)
        case commands.YarnLasts():
            return yarn_left(after, course, scale_g)
        case commands.HowLong():
            return how_long(after, course, stamps)
        case commands.HowIsHand():
            return hand_answer.asked(after, course)
        case commands.SameAsPartner():
            return same_as_partner(after, course)
        case commands.Lost() | commands.HoldNeedles() | commands.Meaning() | commands.ReadNotes():
            return guided(after, course, command)
        case SayRow() | RepeatRows() | ShapeRows() | CastOnStitches():
            return rows_said(after, course, command)
        case _:
            assert_never(command)


def _rows_done(
    before: PieceState, after: PieceState, course: Course, *, said: int
) -> tuple[Reply, ...]:
    ended = after.loops_ended
    place = course.where(ended, after.working)
    replies: list[Reply] = []
    differs = not place.finished and place.different and not unsaid(after, course, after.working)
    tone = Tone.NEXT_DIFFERS if differs else Tone.HEARD
    if said > 1:
        replies.append(reply(Say.ROWS_DONE, tone, row=after.done))
    else:
        replies.append(reply(Say.TICK, tone))
    if place.finished:
        replies.append(reply(Say.LAST_ROW_DONE))
        return tuple(replies)
    if differs:
        replies.append(reply(Say.NEXT_IS, row=after.working, instruction=place.instruction))
        if place.shaping and after.partner is not None and after.partner.mirrored:
            replies.append(reply(Say.OTHER_EDGE))
    expected = count_due(after, course, before.done + 1)
    if expected is not None:
        replies.append(reply(Say.COUNT_PLEASE, count=expected))
    return tuple(replies)


def _part_begins(before: PieceState, after: PieceState, course: Course) -> tuple[Reply, ...]:
    """Name the part that begins, or, where it has no name of its own, its first row."""
    place = course.where(after.loops_ended, after.working)
    if place.finished:
        return (reply(Say.LAST_ROW_DONE, Tone.HEARD),)
    if unsaid(after, course, after.working):
        return (reply(Say.SAY_THE_ROW, Tone.HEARD, row=after.working),)
    first_row = reply(Say.NEXT_IS, None, row=after.working, instruction=place.instruction)
    earlier = course.where(before.loops_ended, before.working).section
    if not place.section_title or place.section == earlier:
        return (Reply(first_row.say, Tone.HEARD, first_row.values),)
    begins = reply(Say.PART_BEGINS, Tone.HEARD, title=place.section_title)
    return (begins, first_row) if place.shaping else (begins,)


def _after_next(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Say that a part is long enough but has to end on the other side, one row on."""
    if long_after_next(state, course):
        return (reply(Say.LONG_ENOUGH_AFTER, row=state.working),)
    # A washed target that no swatch translates is not asked about ("next part?"), but still told.
    wanted, last = target(state, course), state.lengths[-1] if state.lengths else None
    if wanted is None or last is None or wanted.read_as(state, last.fabric) is not None:
        return ()
    return (reply(Say.LONG_ENOUGH),) if isinstance(distance(state, course), LongEnough) else ()


def _taken_back(before: PieceState, after: PieceState) -> Reply:
    thing = thing_between(before, after)
    if thing is None:
        return reply(Say.TAKEN_BACK, Tone.HEARD, row=after.done)
    return reply(Say.THING_TAKEN_BACK, Tone.HEARD, thing=thing)


def _put_back(before: PieceState, after: PieceState) -> Reply:
    thing = thing_between(before, after)
    if thing is None:
        return reply(Say.PUT_BACK, Tone.HEARD, row=after.done)
    return reply(Say.THING_PUT_BACK, Tone.HEARD, thing=thing)


def count_due(state: PieceState, course: Course, first: int) -> int | None:
    """
    Return the stitches to expect if they should be counted after rows `first` to `done`.

    Nobody counts two hundred stitches every row: after shaping (once for several shaping rows
    close together), else every so many rows as the knitter wishes (TRADE practice: 10 to 20;
    common practice, no source).
    """
    expected = expected_now(state, course)
    if expected is None or state.done == 0:
        return None
    ended = state.loops_ended
    shaped = any(course.where(ended, row).shaping for row in range(first, state.done + 1))
    if shaped and not any(
        course.where(ended, row).shaping
        for row in range(state.working, state.working + _BURST)
        if not course.where(ended, row).finished
    ):
        return expected
    if state.count_every > 0:
        counted = max((count.row for count in state.counts if not count.aside), default=0)
        since_now, since_before = state.done - counted, first - 1 - counted
        if since_now // state.count_every > max(since_before, 0) // state.count_every:
            return expected
    return None


def _mixed(before: PieceState, after: PieceState) -> tuple[Reply, ...]:
    """Warn once, when the second dye lot comes into the piece."""
    lots = mixed_lots(_lots(after))
    if not lots or mixed_lots(_lots(before)):
        return ()
    return (reply(Say.LOTS_MIXED, words=", ".join(lots)),)


def _lots(state: PieceState) -> tuple[str, ...]:
    return tuple(ball.lot for ball in state.balls if ball.lot and not ball.aside)


def _noted_row(state: PieceState, command: Command) -> int:
    match command:
        case commands.NoteRow(int(row)) | commands.Mistake(int(row)):
            return row
        case _:
            return state.notes[-1].row


def _working(state: PieceState, course: Course) -> Reply:
    place = course.where(state.loops_ended, state.working)
    if state.finished or place.finished:
        return reply(Say.ALL_DONE, Tone.HEARD, row=state.done)
    return reply(Say.WORKING, Tone.HEARD, row=state.working, side=place.side)


def _counted(state: PieceState, course: Course, count: int) -> Reply:
    expected = expected_now(state, course)
    known = not state.counts or state.counts[-1].expected is not None
    if expected is None or not known:  # what she tells is the only count there is
        return reply(Say.COUNT_NOTED, Tone.HEARD, count=count)
    faulty = course.faulty_by(state.done)
    if count == expected:
        return reply(Say.COUNT_AS_FAULTY if faulty else Say.COUNT_RIGHT, Tone.HEARD)
    short = count < expected
    by = abs(count - expected)
    if faulty:
        return reply(Say.COUNT_SHORT_FAULTY if short else Say.COUNT_OVER_FAULTY, Tone.HEARD, by=by)
    shaped = _last_shaping(state, course)
    if shaped is None:
        return reply(Say.COUNT_SHORT if short else Say.COUNT_OVER, Tone.HEARD, by=by)
    say = Say.COUNT_SHORT_SHAPING if short else Say.COUNT_OVER_SHAPING
    return reply(say, Tone.HEARD, by=by, row=shaped)


def _last_shaping(state: PieceState, course: Course) -> int | None:
    """Return the last shaping row since the last right count: there the mistake is likeliest."""
    good = max(
        (old.row for old in state.counts if not old.aside and old.count == old.expected),
        default=0,
    )
    for row in range(state.done, max(good, state.done - 200), -1):
        if course.where(state.loops_ended, row).shaping:
            return row
    return None


def _instruction(state: PieceState, course: Course, command: Command) -> Reply:
    """Read the row; a long one bit by bit, and from where she stopped in it."""
    place = course.where(state.loops_ended, state.working)
    now = coming(state, course)
    if now is None:
        return reply(Say.ALL_DONE, Tone.HEARD, row=state.done)
    inside = state.bit > 0 or (state.in_row is not None and bool(state.in_row.after))
    if inside or place.instruction.long or not isinstance(command, commands.WhatNext):
        return reply(Say.BIT, Tone.HEARD, instruction=now)
    return reply(Say.INSTRUCTION, Tone.HEARD, instruction=place.instruction)


def _row_read(state: PieceState, course: Course, row: int) -> Reply:
    """Read any row. After a part that is as long as she wants, nobody knows which row it is."""
    place = course.where(state.loops_ended, row)
    if place.finished:
        return reply(Say.NO_SUCH_ROW, Tone.HEARD, row=row)
    sentence = (
        Say.ROW_READ if place.open_loop is None or row <= state.working else Say.ROW_READ_OPEN
    )
    return reply(sentence, Tone.HEARD, row=row, side=place.side, instruction=place.instruction)


def _how(state: PieceState, course: Course, stitch: commands.Technique | None) -> Reply:
    """Say the first sentence of how the next step, or the stitch asked for, is made."""
    asked = coming(state, course) if stitch is None else shown(stitch)
    if asked is None:
        return reply(Say.ALL_DONE, Tone.HEARD, row=state.done)
    return reply(Say.HOW, Tone.HEARD, move=Move(asked))


def _repeat(state: PieceState, course: Course) -> Reply:
    repeat = course.where(state.loops_ended, state.working).repeat
    if repeat is None:
        return reply(Say.NO_REPEAT, Tone.HEARD)
    if repeat.times is None:
        return reply(Say.REPEAT_OPEN, Tone.HEARD, time=repeat.time, row=repeat.row)
    return reply(Say.REPEAT, Tone.HEARD, time=repeat.time, times=repeat.times, row=repeat.row)


def _next_change(state: PieceState, course: Course) -> Reply:
    change = course.next_change(state.loops_ended, state.working)
    if change is None:
        # Past a part that is worked to a measure no row has a number yet.
        later = goes_on_after_part(state, course)
        return reply(Say.NO_CHANGE_IN_PART if later else Say.NO_CHANGE, Tone.HEARD)
    say = Say.CHANGE_NOW if change.row == state.working else Say.CHANGE_AT
    return reply(say, Tone.HEARD, row=change.row)


def _how_far(state: PieceState, course: Course) -> tuple[Reply, ...]:
    heard = Tone.HEARD
    match distance(state, course):
        case RowsExactly(rows):
            return (reply(Say.ROWS_LEFT_EXACTLY, heard, rows=rows),)
        case RowsLeft(high=0):
            return (reply(Say.LONG_BY_NOW, heard),)
        case RowsLeft(low=low, high=high):
            first = reply(Say.ROWS_LEFT, heard, low=low, high=high)
            return (first, *_to_read(state, course), *_next_measurement(state, course))
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


def _to_read(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Say what the ruler reads at the target, where the target is meant washed and she is not."""
    wanted = target(state, course)
    fabric = state.how.fabric if state.how else Fabric.ON_NEEDLE
    there = wanted.read_as(state, fabric) if wanted is not None else None
    if wanted is None or there is None or there == wanted.length:
        return ()
    return (reply(Say.READ_AS, length=worked_out(there, fine=True), fabric=fabric),)


def _next_measurement(state: PieceState, course: Course) -> tuple[Reply, ...]:
    row = measure_again_at(state, course)
    if row is None:
        return ()
    if row > state.done:
        return (reply(Say.MEASURE_AGAIN, row=row),)
    return (reply(Say.MEASURE_NOW),)
