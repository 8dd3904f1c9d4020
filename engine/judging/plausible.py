"""
Whether a number that was heard can be meant, given where the piece stands.

Teens and tens sound alike, and a slip of the tongue happens: "I count thirty stitches" where
fifty should be is worth knowing, but between thirteen and thirty the expected count decides.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from engine import commands
from engine.commands import Since
from engine.fabric import Fabric
from engine.facts.distance import part_spans, readings, row_of
from engine.facts.needles import THICKEST_MM, THINNEST_MM, names_a_needle, needle_at
from engine.facts.part_stitch import stitch_of
from engine.facts.row_heights import row_heights
from engine.facts.stated_gauge import read_stated_gauge
from engine.facts.swatches import counted, gauges
from engine.forecast.length import doubtful
from engine.forecast.values import LengthReading
from engine.plan.believable import HEAVIEST_BALL_G, HEAVIEST_STITCH_G
from engine.plan.gauge import TEN_CM, Count
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.forecast.values import Doubtful
    from engine.pattern import Course
    from engine.state import PieceState

_TEN = 10
"""What a digit behind a round number adds is less than this."""
_NEAR_ROWS = 30
"""A recount farther away than this is hardly a recount (common practice, no source)."""
_MANY_ROWS = 40
"""Nobody works more rows than this without a word (common practice, no source)."""
_FEWEST_STITCHES, _MOST_STITCHES, _MOST_ROWS = 3, 60, 90
"""To 10 cm, from arm-thick yarn to fine lace (common practice, no source)."""
_SCALE_G, _SLACK_G, _FAR_FASTER = 2.0, 10.0, 4
"""A kitchen scale, a tangled end, and a wider part (common practice, no source)."""
_RULERS_CM, _RULERS = 0.8, 0.07
"""Honest rulers differ by half a centimetre, one part in twenty (common practice, no source)."""
_WIDER = 1.5
"""Rib draws in and blocking widens by less than that (common practice, no source)."""
_STITCH_MM = (1.2, 30.0)
"""A stitch of fine lace and one of arm-thick yarn (common practice, no source)."""
_LOWEST_STITCH, _HIGHEST_STITCH = 0.8, 2.6
"""Rows over stitches: 1.3 in stockinette, 2 in garter (common practice, no source)."""


def likeliest(state: PieceState, course: Course, candidates: Sequence[Command]) -> Command:
    """Return the first candidate that can be meant, or the first one if none can."""
    for command in candidates:
        if not implausible(state, course, command):
            return command
    return candidates[0]


def with_its_count(state: PieceState, command: Command) -> Command:
    """Return a command that names the row being worked as the plain one: that row is done."""
    if command == commands.RowsDone(row=state.working):
        return commands.RowsDone()
    return command


def with_lost_end(
    state: PieceState, course: Course, candidates: Sequence[Command]
) -> tuple[Command, ...]:
    """
    Return what was heard and, behind a round number, what it is if its last word was lost.

    "Ninety" is heard where "ninety four" was said softly. Of all numbers behind it the piece knows
    the likeliest: the stitches that should be on the needle, the row on it or the one just done.
    """
    if len(candidates) != 1:
        return tuple(candidates)
    (command,) = candidates
    match command:
        case commands.CountStitches(heard):
            place = course.where(state.loops_ended, state.done) if state.done else None
            meant: tuple[int | None, ...] = (state.cast_on if place is None else place.after,)
        case commands.NoteRow(int(heard)) | commands.Mistake(int(heard)):
            meant = (state.working, state.done)
        case _:
            return (command,)
    round_number = heard >= 2 * _TEN and heard % _TEN == 0
    longer = [one for one in meant if one is not None and heard < one < heard + _TEN]
    if not round_number or not longer:
        return (command,)
    if isinstance(command, commands.CountStitches):
        return (command, replace(command, count=longer[0]))
    return (command, replace(command, row=longer[0]))


def implausible(  # noqa: C901, PLR0911, PLR0912 (one case a command: together they are the whole table)
    state: PieceState, course: Course, command: Command
) -> bool:
    """Say whether the number in a command can hardly be; False for commands without a number."""
    match command:
        case commands.RowsDone(row=int(row)):
            return abs(row - state.done) > _NEAR_ROWS
        case commands.RowsDone(count):
            return _too_many_rows(state, course, count)
        case commands.RidgesDone(count):
            return _too_many_rows(state, course, 2 * count)
        case commands.RipBack(rows):
            return rows > state.done
        case commands.Recount(row):
            return abs(row - state.working) > _NEAR_ROWS
        case commands.StopInRow(int(after)) | commands.JoinBall(int(after)):
            before = course.where(state.loops_ended, state.working).before
            return before is not None and after > before
        case commands.CountStitches(count):
            return _far_count(state, course, count)
        case commands.NoteRow(int(row)) | commands.Mistake(int(row)):
            return row > state.working
        case commands.Measure():
            return doubtful_length(state, course, command) is not None or _another_here(
                state, course, command
            )
        case commands.MeasureWidth(length):
            return _strange_width(state, course, length.cm)
        case commands.CountSwatch():
            return _strange_swatch(command)
        case commands.WeighYarn(mass):
            return _strange_weight(state, mass.grams)
        case commands.WeighSwatch(mass, int(stitches), int(rows)) if stitches and rows:
            return mass.grams > HEAVIEST_STITCH_G * stitches * rows
        case commands.ChangeNeedle(None, str(text)):
            return bool(text.strip()) and not names_a_needle(text)
        case commands.ChangeNeedle(Length() as length):
            return not THINNEST_MM <= length.to(LengthUnit.MM).value <= THICKEST_MM
        case _:
            return False


def _too_many_rows(state: PieceState, course: Course, count: int) -> bool:
    last = course.last_row(state.loops_ended)
    return count > _MANY_ROWS or (last is not None and state.done + count > last)


def _strange_weight(state: PieceState, grams: float) -> bool:
    """Tell a ball heavier than a cone, yarn that grew, or went far faster than it used to."""
    if grams > HEAVIEST_BALL_G and not state.weighings:
        return True
    known = [old for old in state.weighings if not old.aside and old.row < state.done]
    if not known or any(ball.row > known[-1].row for ball in state.balls if not ball.aside):
        return False
    last = known[-1]
    used = last.mass.grams - grams
    if used < -_SCALE_G:
        return True
    earlier = [old for old in known if old.row < last.row and old.mass.grams > last.mass.grams]
    if not earlier:
        return False
    per_row = (earlier[-1].mass.grams - last.mass.grams) / (last.row - earlier[-1].row)
    return used > _FAR_FASTER * per_row * (state.done - last.row) + _SLACK_G


def _far_count(state: PieceState, course: Course, count: int) -> bool:
    """Tell a miscount, which is a few stitches, from a number heard wrong, which is many."""
    place = course.where(state.loops_ended, max(state.done, 1))
    expected = state.cast_on if state.done == 0 else place.after
    return expected is not None and abs(count - expected) > max(6, expected // 4)


def doubtful_length(
    state: PieceState, course: Course, command: commands.Measure
) -> Doubtful | None:
    """Return what would have been plausible if the length can hardly be; None if it can."""
    since = command.since or (state.how.since if state.how else Since.CAST_ON)
    fabric = command.fabric or (state.how.fabric if state.how else Fabric.ON_NEEDLE)
    from_row = row_of(state, course, since)
    if from_row is None or from_row >= state.done:
        return None
    part = stitch_of(course, state.loops_ended, state.done)
    needle = needle_at(state, state.done)
    new = LengthReading(state.done, command.length.cm, fabric, part, needle, from_row)
    known = readings(state, course, state.done)
    return doubtful(
        known,
        new,
        gauges(state, course),
        part_spans(state, course),
        row_heights(state, course),
    )


def _another_here(state: PieceState, course: Course, command: commands.Measure) -> bool:
    """Tell a length at the same row, from the same place, that is far from the one before."""
    since = command.since or (state.how.since if state.how else Since.CAST_ON)
    fabric = command.fabric or (state.how.fabric if state.how else Fabric.ON_NEEDLE)
    from_row = row_of(state, course, since)
    here = [
        old
        for old in state.lengths
        if (old.row, old.from_row, old.fabric, old.aside) == (state.done, from_row, fabric, False)
    ]
    if not here:
        return False
    last, new = here[-1].length.cm, command.length.cm
    return abs(new - last) > max(_RULERS_CM, _RULERS * last)


def _strange_width(state: PieceState, course: Course, cm: float) -> bool:
    """Tell a width that the stitches on the needle cannot have, flat or folded in the round."""
    done = course.where(state.loops_ended, state.done) if state.done else None
    stitches = done.after if done is not None else state.cast_on
    if not stitches:
        return False
    swatched = [one.stitches.per(TEN_CM) for one in counted(state) if one.stitches]
    stated = read_stated_gauge(course.gauge)
    per_10cm = swatched[-1] if swatched else stated.stitches_per_10cm if stated else None
    widths = (1, 2) if course.in_the_round else (1,)
    if per_10cm is None:
        narrowest, widest = (stitches * mm / 10 for mm in _STITCH_MM)
        return not any(narrowest <= cm * times <= widest for times in widths)
    wanted = stitches / float(per_10cm) * 10
    return not any(wanted / _WIDER <= cm * times <= wanted * _WIDER for times in widths)


def _strange_swatch(command: commands.CountSwatch) -> bool:
    """Tell counts that no swatch has; rows are at most two and a half times the stitches."""
    over = command.length or TEN_CM
    stitches, rows = (
        float(Count(Fraction(number), over).per(TEN_CM)) if number else None
        for number in (command.stitches, command.rows)
    )
    if stitches is not None and not _FEWEST_STITCHES <= stitches <= _MOST_STITCHES:
        return True
    if rows is not None and not _FEWEST_STITCHES <= rows <= _MOST_ROWS:
        return True
    if stitches is None or rows is None:
        return False
    return not _LOWEST_STITCH <= rows / stitches <= _HIGHEST_STITCH
