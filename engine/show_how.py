"""
Showing how: what the hands do in the step that comes next, or in a stitch that is asked for.

What is shown is an instruction; its sentences are data, and a `Move` names one of them. Nothing of
it is knitting: it is not kept, and no row depends on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.commands import Technique
from engine.pattern.instruction import Instruction
from engine.pattern.notation import BindOff, CastOn, Item, PickUp, Work
from engine.pattern.rest_of_row import rest_of_row
from engine.pattern.stitches import STITCHES, cable, together

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState


@dataclass(frozen=True, slots=True)
class Move:
    """The sentence number `at`, counted from 0, of how an instruction is made by hand."""

    instruction: Instruction
    at: int = 0


_TECHNIQUES: Final[dict[Technique, Item]] = {
    Technique.KNIT: Work(STITCHES["k"]),
    Technique.PURL: Work(STITCHES["p"]),
    Technique.SLIP: Work(STITCHES["sl"]),
    Technique.KNIT_TWO_TOGETHER: Work(together("k", 2)),
    Technique.PURL_TWO_TOGETHER: Work(together("p", 2)),
    Technique.SLIP_SLIP_KNIT: Work(STITCHES["ssk"]),
    Technique.YARN_OVER: Work(STITCHES["yo"]),
    Technique.MAKE_ONE: Work(STITCHES["m1"]),
    Technique.MAKE_ONE_LEFT: Work(STITCHES["m1l"]),
    Technique.MAKE_ONE_RIGHT: Work(STITCHES["m1r"]),
    Technique.KNIT_FRONT_AND_BACK: Work(STITCHES["kfb"]),
    Technique.CABLE: Work(cable("2/2 lc")),
    Technique.CAST_ON: CastOn((1,)),
    Technique.BIND_OFF: BindOff((1,)),
    Technique.PICK_UP: PickUp((1,)),
}


def shown(technique: Technique) -> Instruction:
    """Return what a technique is as an instruction: one stitch of it."""
    return Instruction((_TECHNIQUES[technique],))


def coming(state: PieceState, course: Course) -> Instruction | None:
    """
    Return what comes next in the row being worked, from where she is; None after the last row.

    From the bit that she has come to, or from the stitch after which she stopped.
    """
    place = course.where(state.loops_ended, state.working)
    if state.finished or place.finished:
        return None
    made = state.in_row.after if state.in_row is not None else None
    if made and not state.bit:
        return rest_of_row(place.instruction, place.before, made)
    bits = place.instruction.bits
    return bits[min(state.bit, len(bits) - 1)]
