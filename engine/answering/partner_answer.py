"""Whether this piece is the same as its partner, in replies: rows first, then lengths."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.facts.partner import compared, longer_cm, overall
from engine.plan.rounding import stepped
from engine.quantities import Length, LengthUnit
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from collections.abc import Callable

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
    if part is None and overall(state) is None:
        return (reply(Say.SAME_NOT_YET, Tone.HEARD, rows=partner.rows, title=partner.name),)
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
    """
    Say from how much to how much longer or shorter it will be with the same rows, if it matters.

    Where rulers alone can make the difference nothing is said.
    """
    longer = longer_cm(state)
    if longer is None or state.partner is None:
        return ()
    low, high = longer
    far = max((one.length.cm for one in state.partner.readings), default=0.0)
    matters = _SAME_CM if far <= _SMALL_CM else _SAME_LARGE_CM
    if low < 0 < high or abs(low + high) / 2 < matters:
        return ()
    say = Say.PARTNER_LONGER if low >= 0 else Say.PARTNER_SHORTER
    least, most = sorted((abs(low), abs(high)))
    unit = state.partner.readings[-1].length.unit
    return (reply(say, least=_step(least, unit, math.floor), most=_step(most, unit, math.ceil)),)


def _step(cm: float, unit: LengthUnit, rounds: Callable[[Fraction], int]) -> Length:
    """Return a length in whole steps of its unit: half centimetres, quarter inches."""
    length = Length(Fraction(cm), LengthUnit.CM)
    if unit is LengthUnit.IN:
        return stepped(length.to(unit), Fraction(1, 4), rounds)
    return stepped(length, Fraction(1, 2), rounds)
