"""Answers for who does not know how to go on: the first steps, where she is, what she noted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, assert_never

from engine import commands
from engine.replies import Reply, Say, Tone, reply
from engine.show_how import coming

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState, RowNote

_READ: Final = 5
"""So many notes are read out, the last ones; all of them are in the story."""


def first_steps(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Return what is to be done before a row is: cast on, the first row; () once one is done."""
    if state.done or state.finished or state.in_row is not None:
        return ()
    steps = []
    if state.cast_on:
        steps.append(reply(Say.CAST_ON_FIRST, count=state.cast_on))
    if state.cast_on and course.in_the_round:
        steps.append(reply(Say.JOIN_FIRST))
    now = coming(state, course) if state.pattern is not None else None
    if now is not None and (now.items or now.text):
        steps.append(reply(Say.FIRST_ROW, instruction=now))
    return tuple(steps)


def guided(
    state: PieceState,
    course: Course,
    command: commands.Lost | commands.HoldNeedles | commands.Meaning | commands.ReadNotes,
) -> tuple[Reply, ...]:
    """Answer what only who is at a loss asks for."""
    match command:
        case commands.Lost():
            return found_again(state, course)
        case commands.HoldNeedles():
            return (reply(Say.HOLD_NEEDLES, Tone.HEARD),)
        case commands.Meaning(term):
            return (reply(Say.MEANS, Tone.HEARD, term=term),)
        case commands.ReadNotes():
            return notes(state)
        case _:
            assert_never(command)


def found_again(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Say where she is, what is to be worked there, and how to tell when that is not so."""
    heard, now = Tone.HEARD, coming(state, course)
    if now is None:
        return (reply(Say.ALL_DONE, heard, row=state.done),)
    begins = first_steps(state, course)
    if begins:
        return (reply(Say.TICK, heard), *begins)
    place = course.where(state.loops_ended, state.working)
    where = reply(Say.WORKING, heard, row=state.working, side=place.side)
    work = (reply(Say.BIT, instruction=now),) if now.items or now.text else ()
    return (where, *work, reply(Say.COUNT_ROWS, row=state.done))


def notes(state: PieceState) -> tuple[Reply, ...]:
    """Read the last notes, the newest first."""
    if not state.notes:
        return (reply(Say.NO_NOTES, Tone.HEARD),)
    read = [_note(one) for one in reversed(state.notes[-_READ:])]
    more = len(state.notes) - len(read)
    rest = (reply(Say.MORE_NOTES, count=more),) if more else ()
    return (Reply(read[0].say, Tone.HEARD, read[0].values), *read[1:], *rest)


def _note(note: RowNote) -> Reply:
    row, words = note.row, note.text.strip().rstrip(".")
    match note.about, bool(words):
        case "dropped", _:
            return reply(Say.NOTE_DROPPED, row=row)
        case "mistake", True:
            return reply(Say.NOTE_MISTAKE_SAYS, row=row, words=words)
        case "mistake", False:
            return reply(Say.NOTE_MISTAKE, row=row)
        case _, True:
            return reply(Say.NOTE_SAYS, row=row, words=words)
        case _:
            return reply(Say.NOTE_MARKED, row=row)
