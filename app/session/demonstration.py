"""
A stitch shown one sentence at a time: what "next bit" and "go back one bit" mean meanwhile.

While something is shown, going on and back are within it; any other command ends it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app.wording import reply_wording
from engine.commands import NextBit, StepBack
from engine.replies import Say, Tone, reply
from engine.show_how import Move

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.pattern import Instruction
    from engine.replies import Reply


def moves_of(instruction: Instruction) -> tuple[str, ...]:
    """Return the sentences of how something is made by hand."""
    return reply_wording().moves(instruction)


def turned(shown: Move | None, command: Command) -> tuple[Reply, Move | None] | None:
    """
    Return the answer to going on or back in what is shown, and what is shown then.

    None: the command means something else, or nothing is shown.
    """
    if shown is None:
        return None
    match command:
        case NextBit() if shown.at + 1 >= len(moves_of(shown.instruction)):
            return reply(Say.HOW_DONE, Tone.HEARD), None
        case NextBit():
            then = replace(shown, at=shown.at + 1)
        case StepBack():
            then = replace(shown, at=max(shown.at - 1, 0))
        case _:
            return None
    return reply(Say.HOW, Tone.HEARD, move=then), then


def shown_in(replies: Sequence[Reply]) -> Move | None:
    """Return the move that an answer shows, or None."""
    for one in replies:
        if one.say is Say.HOW:
            move = one.value("move")
            return move if isinstance(move, Move) else None
    return None
