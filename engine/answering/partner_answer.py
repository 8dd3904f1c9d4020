"""Whether this piece is the same as its partner, in replies: rows first, then lengths."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.batch.tolerance import allowed, holding
from engine.facts.needles import FIRST_NEEDLE, needle_at
from engine.facts.partner import compared, longer_cm, overall
from engine.plan.rounding import stepped
from engine.quantities import Length, LengthUnit
from engine.replies import Reply, Say, Tone, reply
from engine.stages import Trait

if TYPE_CHECKING:
    from collections.abc import Callable

    from engine.pattern import Course
    from engine.state import PartnerPiece, PieceState


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
    return (rows, *_lengths(state), *_width(state), *_made(state))


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
    unit = state.partner.readings[-1].length.unit
    if low < 0 < high or abs(low + high) / 2 < _matters(Trait.LENGTH, far, unit, state.partner):
        return ()
    say = Say.PARTNER_LONGER if low >= 0 else Say.PARTNER_SHORTER
    least, most = sorted((abs(low), abs(high)))
    return (reply(say, least=_step(least, unit, math.floor), most=_step(most, unit, math.ceil)),)


def _matters(trait: Trait, cm: float, unit: LengthUnit, partner: PartnerPiece) -> float:
    """Return from how many centimetres on a difference is told."""
    return allowed(holding(trait, cm, unit, partner.tolerances), cm)


def _width(state: PieceState) -> tuple[Reply, ...]:
    """Say that it is wider or narrower, where both were measured in the same state."""
    theirs = {one.fabric: one for one in state.partner.widths} if state.partner is not None else {}
    mine = next((one for one in reversed(state.widths) if not one.aside), None)
    other = theirs.get(mine.fabric) if mine is not None else None
    if mine is None or other is None or state.partner is None:
        return ()
    by, unit = mine.width.cm - other.length.cm, other.length.unit
    if abs(by) <= _matters(Trait.WIDTH, other.length.cm, unit, state.partner):
        return ()
    say = Say.PARTNER_WIDER if by > 0 else Say.PARTNER_NARROWER
    return (reply(say, by=_step(abs(by), unit, round)),)


def _made(state: PieceState) -> tuple[Reply, ...]:
    """Say that needle or dye lot are others, where both are known."""
    partner = state.partner
    if partner is None:
        return ()
    found = []
    needle = needle_at(state, state.working)
    named = {"", FIRST_NEEDLE}.isdisjoint({needle, partner.needle})
    if named and needle != partner.needle:
        found.append(reply(Say.PARTNER_NEEDLE, words=partner.needle))
    lots = [ball.lot for ball in state.balls if ball.lot and not ball.aside]
    if lots and partner.lot and lots[-1].casefold() != partner.lot.casefold():
        found.append(reply(Say.PARTNER_LOT, words=partner.lot))
    return tuple(found)


def _step(cm: float, unit: LengthUnit, rounds: Callable[[Fraction], int]) -> Length:
    """Return a length in whole steps of its unit: half centimetres, quarter inches."""
    length = Length(Fraction(cm), LengthUnit.CM)
    if unit is LengthUnit.IN:
        return stepped(length.to(unit), Fraction(1, 4), rounds)
    return stepped(length, Fraction(1, 2), rounds)
