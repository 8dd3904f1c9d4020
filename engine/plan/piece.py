"""The plan of one piece: everything that follows from swatch, size and yarn, as one value."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.fabric import Fabric
from engine.plan.believable import refuse_impossible
from engine.plan.gauge import GaugeMatch, match_gauge
from engine.plan.loops import Relaxed
from engine.plan.size import cast_on, plan_length
from engine.plan.yarn import balls_needed, mixed_lots, need_from_gauge, need_from_swatch
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from engine.plan.size import LengthPlan, PlannedCastOn
    from engine.plan.tables import CategoryAnswer, NeedleSize, NeedleTable, YarnTable
    from engine.plan.wish import Wish
    from engine.plan.yarn import BallsNeeded, YarnNeed


class Caveat(StrEnum):
    """Something that the plan cannot know and the knitter should."""

    NOT_WASHED = "not_washed"
    """Only an unwashed swatch: the finished piece will differ."""
    NOT_COUNTED_UNWASHED = "not_counted_unwashed"
    """Only a washed swatch: what to read on the needle is not known."""
    WIDTH_OFF = "width_off"
    """The nearest legal cast-on is off by more than half a centimetre."""
    LOTS_MIXED = "lots_mixed"
    YARN_SHORT = "yarn_short"
    """The balls in hand may not be enough."""


@dataclass(frozen=True, slots=True)
class PiecePlan:
    """The plan. What could not be worked out, for want of what the knitter did not say, is None."""

    cast_on: PlannedCastOn
    length: LengthPlan
    width_in_hand: Length | None
    """What the ruler reads across before the wash, edge stitches not counted."""
    match: GaugeMatch | None
    other_needle: NeedleSize | None
    category: CategoryAnswer | None
    need: YarnNeed | None
    buy: BallsNeeded | None
    caveats: tuple[Caveat, ...]


def plan_piece(wish: Wish, yarns: YarnTable | None, needles: NeedleTable | None) -> PiecePlan:
    """Work the whole plan out. Raises ValueError, with a sentence, if a number makes no sense.

    What could be but hardly is has to be asked before: see `engine.plan.believable`.
    """
    refuse_impossible(wish)
    finished = wish.swatch.finished
    stitches = cast_on(wish.width, finished.stitches, wish.multiple, wish.edge_stitches)
    rows = plan_length(wish.length, wish.swatch, wish.parity)
    unwashed = wish.swatch.unwashed
    width_in_hand = None
    if unwashed is not None:
        inner = stitches.stitches - stitches.edge_stitches
        width_in_hand = unwashed.stitches.span(inner, wish.width.unit)
    match = match_gauge(finished, wish.pattern_gauge) if wish.pattern_gauge else None
    other_needle = None
    if match and match.needle_step_mm and needles and wish.needle_mm:
        up = match.stitch_difference > 0
        step = match.needle_step_mm if up else -match.needle_step_mm
        other_needle = needles.stepped(wish.needle_mm, step)
    need = _need(wish, stitches, rows)
    buy = balls_needed(need, wish.ball) if need and wish.ball else None
    return PiecePlan(
        stitches,
        rows,
        width_in_hand,
        match,
        other_needle,
        yarns.by_gauge(finished.stitches) if yarns else None,
        need,
        buy,
        _caveats(wish, stitches, need),
    )


def _need(wish: Wish, stitches: PlannedCastOn, rows: LengthPlan) -> YarnNeed | None:
    loops = stitches.stitches * rows.rows
    width_cm = stitches.width.cm
    if wish.weighed and wish.ball:
        return need_from_swatch(
            loops,
            wish.weighed.stitches,
            wish.weighed.mass,
            wish.ball,
            width_cm,
            resolution_g=wish.weighed.resolution_g,
        )
    washed = wish.swatch.finished.fabric is Fabric.WASHED
    relaxed = Relaxed.WET if washed else Relaxed.DRY
    return need_from_gauge(loops, wish.swatch.finished, width_cm, relaxed)


def _caveats(wish: Wish, stitches: PlannedCastOn, need: YarnNeed | None) -> tuple[Caveat, ...]:
    found = []
    if wish.swatch.washed is None:
        found.append(Caveat.NOT_WASHED)
    if wish.swatch.unwashed is None:
        found.append(Caveat.NOT_COUNTED_UNWASHED)
    if abs(stitches.off.to(LengthUnit.CM).value) > Fraction(1, 2):
        found.append(Caveat.WIDTH_OFF)
    if mixed_lots(wish.lots):
        found.append(Caveat.LOTS_MIXED)
    if need and wish.ball and 0 < wish.have * wish.ball.metres < need.high_m:
        found.append(Caveat.YARN_SHORT)
    return tuple(found)
