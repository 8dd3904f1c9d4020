"""
The partner piece: what is kept of it when this one is begun, and how the two compare.

Same means equal rows, part by part; a length worked "until it measures" becomes the partner's rows.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from engine.events import PartnerMeasured, PartnerNamed, PartnerPartKnitted
from engine.facts.needles import needle_at
from engine.order_events import PartnerMade, PartnerTolerance, PartnerWide
from engine.pattern import PartnerRows
from engine.plan.pieces import Partner, as_partner

if TYPE_CHECKING:
    from collections.abc import Mapping

    from engine.events import Event
    from engine.fabric import Fabric
    from engine.pattern import Course, OpenLoop
    from engine.state import PartnerPart, PartnerPiece, PieceState, Reading


def partner_events(
    other: PieceState, course: Course, *, mirrored: bool = False
) -> tuple[Event, ...]:
    """Return the events that keep another piece, with its course, as the partner of this one."""
    named = PartnerNamed(other.piece, other.name, other.done, other.finished, mirrored)
    return (named, *_parts(other, course), *_readings(other), *_made(other))


def _parts(other: PieceState, course: Course) -> tuple[PartnerPartKnitted, ...]:
    found = []
    ended = other.loops_ended
    for loop in course.loops:
        after = ended.get(loop.id)
        if after is not None:
            rows = rows_in(course, ended, loop, after)
            found.append(PartnerPartKnitted(loop.id, rows, after, ended=True))
            continue
        working = course.where(ended, other.done).open_loop if other.done else None
        if working is not None and working.id == loop.id:
            rows = rows_in(course, ended, loop, other.done)
            found.append(PartnerPartKnitted(loop.id, rows, other.done, ended=other.finished))
        break
    return tuple(found)


def rows_in(course: Course, ended: Mapping[str, int], loop: OpenLoop, last: int) -> int:
    """Return how many rows up to and including `last` are in a loop that `last` belongs to."""

    def inside(row: int) -> bool:
        here = course.where(ended, row).open_loop
        return here is not None and here.id == loop.id

    if last < 1 or not inside(last):
        return 0
    return last - bisect_left(range(1, last + 1), True, key=inside)  # noqa: FBT003 (a key's value)


def _readings(other: PieceState) -> tuple[PartnerMeasured, ...]:
    """Return the last length from the cast-on in each state: those tell most."""
    last: dict[Fabric, Reading] = {
        one.fabric: one for one in other.lengths if not one.aside and one.from_row == 0 and one.row
    }
    return tuple(PartnerMeasured(one.row, one.length, one.fabric) for one in last.values())


def _made(other: PieceState) -> tuple[Event, ...]:
    """Return needle, dye lot, widths and tolerances of the other piece, as far as known."""
    needle = needle_at(other, max(other.done, 1))
    lots = [ball.lot for ball in other.balls if ball.lot and not ball.aside]
    made = (PartnerMade(needle, lots[-1] if lots else ""),) if needle or lots else ()
    widths = {one.fabric: one for one in other.widths if not one.aside and one.row}
    wide = (PartnerWide(one.row, one.width, one.fabric) for one in widths.values())
    own = other.tolerances or (other.partner.tolerances if other.partner is not None else ())
    return (*made, *wide, *(PartnerTolerance(one.trait, one.length, one.number) for one in own))


# --- how the two compare ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Compared:
    """
    The partner's rows in the part being worked, and this piece's.

    `settled`: the partner's part is finished, so that its rows are a target.
    """

    theirs: int
    mine: int
    settled: bool


def compared(state: PieceState, course: Course) -> Compared | None:
    """Compare the part being worked; None outside parts worked to a length, or without one."""
    partner = state.partner
    if partner is None:
        return None
    loop = course.where(state.loops_ended, state.working).open_loop
    if loop is None:
        return None
    part = next((part for part in partner.parts if part.part == loop.id), None)
    if part is not None:
        mine = rows_in(course, state.loops_ended, loop, state.done)
        return Compared(part.rows, mine, part.ended)
    if isinstance(loop.target, PartnerRows):
        return _as_far(state, course, loop, partner)
    return None


def as_partner_after(state: PieceState, course: Course, rows: int) -> bool:
    """Tell whether so many more rows bring the part being worked to the partner's."""
    # Where the rows end is looked at: told together they may begin in the part before.
    part = compared(replace(state, done=state.done + rows), course)
    return part is not None and part.settled and part.mine - rows < part.theirs <= part.mine


def _as_far(
    state: PieceState, course: Course, loop: OpenLoop, partner: PartnerPiece
) -> Compared | None:
    """Compare with a partner of another pattern: as many rows from the cast-on as its part has."""
    place = [one.id for one in course.loops].index(loop.id)
    if place < len(partner.parts):
        part: PartnerPart = partner.parts[place]
        return Compared(part.after, state.done, part.ended)
    return Compared(partner.rows, state.done, settled=True) if partner.finished else None


def overall(state: PieceState) -> int | None:
    """Return how many rows this piece has more than its partner in the parts both have ended."""
    if state.partner is None:
        return None
    theirs = {part.part: part.after for part in state.partner.parts if part.ended}
    both = [loop for loop in state.loops_ended if loop in theirs]
    if not both:
        return None
    last = max(both, key=lambda loop: state.loops_ended[loop])
    return state.loops_ended[last] - theirs[last]


def longer_cm(state: PieceState) -> tuple[float, float] | None:
    """
    Return by how much longer this piece will be than its partner with the same rows, from and to.

    Negative: shorter. None unless both were measured from the cast-on in the same state.
    """
    if state.partner is None:
        return None
    theirs = {one.fabric: one for one in state.partner.readings}
    for mine in reversed(state.lengths):
        other = theirs.get(mine.fabric)
        if mine.aside or mine.from_row or not mine.row or other is None:
            continue
        partner = Partner(state.partner.name, other.row, other.length.cm, other.fabric)
        found = as_partner(mine.row, partner, mine.length.cm)
        if found.longer_cm is None:
            return None
        return found.longer_cm - found.margin_cm, found.longer_cm + found.margin_cm
    return None
