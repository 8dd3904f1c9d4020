"""
Asking first: when several numbers may have been said, or the only one can hardly be meant.

A doubt is a question with its answer attached, not a danger: everything can be taken back.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from engine import commands
from engine.judging.decision import Doubt, Question
from engine.judging.plausible import doubtful_length, implausible, with_its_count
from engine.plan.rounding import worked_out
from engine.quantities import Length, centimetres
from engine.replies import Say, reply

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.pattern import Course
    from engine.replies import Reply
    from engine.state import PieceState


def doubt(
    state: PieceState, course: Course, command: Command, candidates: Sequence[Command]
) -> Doubt | None:
    """Ask when several numbers are possible, or when the only one can hardly be."""
    rivals = [other for other in candidates if other != command]
    rivals = [other for other in rivals if not implausible(state, course, other)]
    if rivals:
        following: Question | None = None
        for other in reversed(rivals):
            asks = _echo(state, other)
            following = Question(asks, other, following) if asks else following
        asks = _echo(state, command)
        return Doubt(Question(asks, command, following)) if asks else None
    if implausible(state, course, command):
        asks = _unlikely(state, course, command) or _echo(state, command)
        return Doubt(Question(asks, command)) if asks else None
    return None


def can_tell_apart(state: PieceState, candidates: Sequence[Command]) -> bool:
    """Say whether questions can tell these commands apart: each reads back another number."""
    meant = dict.fromkeys(with_its_count(state, command) for command in candidates)
    asked = [_echo(state, command) for command in meant]
    return None not in asked and len(set(asked)) == len(asked)


def read_back(state: PieceState, command: Command) -> Doubt | None:
    """Ask for a command by reading its number back; None if it has none."""
    asks = _echo(state, command)
    return Doubt(Question(asks, command)) if asks else None


def _unlikely(state: PieceState, course: Course, command: Command) -> Reply | None:
    """Return the question about a length that can hardly be, with what would be likely."""
    if not isinstance(command, commands.Measure):
        return None
    doubt = doubtful_length(state, course, command)
    if doubt is None:
        return None
    said = command.length
    least, most = (
        worked_out(centimetres(Fraction(round(cm * 10), 10)).to(said.unit))
        for cm in (doubt.low_cm, doubt.high_cm)
    )
    return reply(Say.ASK_LENGTH_AGAIN, length=said, least=least, most=most)


def _echo(  # noqa: C901, PLR0911, PLR0912 (one case a command)
    state: PieceState, command: Command
) -> Reply | None:
    """Return the question that reads the number of a command back; None if it has no number."""
    match command:
        case commands.RowsDone(row=int(row)):
            return reply(Say.ASK_ROWS_DONE, row=row)
        case commands.RowsDone(count):
            return reply(Say.ASK_ROWS_DONE, row=state.done + count)
        case commands.RidgesDone(count):
            return reply(Say.ASK_ROWS_DONE, row=state.done + 2 * count)
        case commands.RipBack(rows):
            return reply(Say.ASK_ROWS_DONE, row=max(state.done - rows, 0))
        case commands.Recount(row):
            return reply(Say.ASK_WORKING, row=row)
        case commands.Measure(length) | commands.MeasureWidth(length):
            return reply(Say.ASK_LENGTH, length=length)
        case commands.CountStitches(count):
            return reply(Say.ASK_STITCHES, count=count)
        case commands.StopInRow(int(after)):
            return reply(Say.ASK_STITCHES, count=after)
        case commands.NoteRow(int(row)) | commands.Mistake(int(row)):
            return reply(Say.ASK_ROW_OF_MISTAKE, row=row)
        case commands.WeighYarn(mass) | commands.WeighSwatch(mass):
            return reply(Say.ASK_MASS, mass=mass)
        case commands.JoinBall(int(after)):
            return reply(Say.ASK_STITCHES, count=after)
        case commands.ChangeNeedle(None, str(text)):
            return reply(Say.ASK_NEEDLE, words=text)
        case commands.ChangeNeedle(Length() as size):
            return reply(Say.ASK_LENGTH, length=size)
        case commands.CountSwatch(int(stitches), int(rows)):
            return reply(Say.ASK_SWATCH, stitches=stitches, rows=rows)
        case commands.CountSwatch(int(stitches)):
            return reply(Say.ASK_SWATCH_STITCHES, stitches=stitches)
        case commands.CountSwatch(rows=int(rows)):
            return reply(Say.ASK_SWATCH_ROWS, rows=rows)
        case _:
            return None
