"""Whether this piece is the same as its partner, in replies: rows first, then lengths."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.partner import compared, longer_cm, overall
from engine.plan.rounding import worked_out
from engine.quantities import Length, LengthUnit
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

_SAME_CM: Final = 0.5
_SMALL_CM: Final = 30.0
_SAME_LARGE_CM: Final = 1.0
"""Half a centimetre is the same up to 30 cm, a whole one beyond (common practice, no source)."""


def same_as_partner(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Answer "same as the first": so many rows longer, the same, or so many too many."""
    partner = state.partner
    if partner is None:
        return (reply(Say.NO_PARTNER, Tone.NOT_HEARD),)
    part = compared(state, course)
    left = part.theirs - part.mine if part is not None else -(overall(state) or 0)
    heard, title = Tone.HEARD, partner.name
    if left == 0:
        rows = reply(Say.SAME_NOW, heard, title=title)
    elif left < 0:
        rows = reply(Say.SAME_OVER, heard, by=-left, title=title)
    elif part is None:
        rows = reply(Say.SAME_SHORT, heard, by=left, title=title)
    else:
        rows = reply(Say.SAME_ROWS_LEFT, heard, rows=left, title=title)
    return (rows, *_lengths(state))


def _lengths(state: PieceState) -> tuple[Reply, ...]:
    """Say by how much the piece will be longer or shorter with the same rows, if it matters."""
    longer = longer_cm(state)
    if longer is None or state.partner is None:
        return ()
    far = max((one.length.cm for one in state.partner.readings), default=0.0)
    if abs(longer) < (_SAME_CM if far <= _SMALL_CM else _SAME_LARGE_CM):
        return ()
    unit = state.partner.readings[-1].length.unit
    by = Length(Fraction(round(abs(longer) * 100), 100), LengthUnit.CM)
    say = Say.PARTNER_LONGER if longer > 0 else Say.PARTNER_SHORTER
    return (reply(say, length=worked_out(by.to(unit))),)
