"""How much yarn: from loop geometry, or better from a weighed swatch, with a band; whole balls.

Bought are whole balls of one dye lot, enough for the estimate and a tenth more (common practice, no
source). The error of an estimate from counts alone is that of engine.plan.loops; a weighed swatch
knows the hand and the stitch, so it is good to about 5 % (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from engine.plan.loops import LOOP_ERROR, Relaxed, loop_from_counts

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.plan.gauge import Gauge
    from engine.quantities import Length, Mass

_SWATCH_ERROR: Final = 0.05
_SPARE: Final = 0.1
CAST_ON_WIDTHS: Final = 3.0
"""Tail of a long-tail cast-on over the width; 3 to 4 in print (common practice, no source)."""
CAST_ON_END_CM: Final = 15.0
BIND_OFF_WIDTHS: Final = 4.0
"""Yarn of a bind-off over the width; 3 to 4 in print, 4.7 once measured (second hand)."""
END_CM: Final = 30.0


class Basis(StrEnum):
    """What an estimate of yarn stands on."""

    LOOP_GEOMETRY = "loop_geometry"
    WEIGHED_SWATCH = "weighed_swatch"


@dataclass(frozen=True, slots=True)
class Ball:
    """What the band of a ball says."""

    mass: Mass
    length: Length
    lot: str = ""
    fibre: str = ""

    @property
    def metres(self) -> float:
        """Length of the ball in metres."""
        return self.length.cm / 100

    @property
    def grams_per_metre(self) -> float:
        """Weight of a metre in grams."""
        return self.mass.grams / self.metres


@dataclass(frozen=True, slots=True)
class YarnNeed:
    """Metres of yarn for a piece, cast-on, bind-off and ends included.

    Between `low_m` and `high_m`, `best_m` the middle; `error` is the relative one of the basis,
    about one standard deviation (cast-on, bind-off and ends are taken as certain).
    """

    basis: Basis
    best_m: float
    low_m: float
    high_m: float
    error: float


@dataclass(frozen=True, slots=True)
class BallsNeeded:
    """Whole balls to buy: enough for `best_m` and a tenth, or for `high_m` if that is more."""

    balls: int
    metres: float
    spare_m: float


def ends_metres(width_cm: float) -> float:
    """Return the yarn of long-tail cast-on, bind-off and two ends, in metres."""
    widths = (CAST_ON_WIDTHS + BIND_OFF_WIDTHS) * width_cm
    return (widths + CAST_ON_END_CM + END_CM) / 100


def need_from_gauge(
    stitches: int, gauge: Gauge, width_cm: float, relaxed: Relaxed = Relaxed.WET
) -> YarnNeed:
    """Return the yarn for so many stitches of plain fabric from the gauge alone, within 10 %.

    `stitches` is the number of loops of the piece. A washed and dried piece is wet-relaxed; rib,
    cables and thick stitches take more.
    """
    loop_cm = loop_from_counts(float(gauge.stitches.per_cm), float(gauge.rows.per_cm), relaxed)
    return _need(Basis.LOOP_GEOMETRY, stitches * loop_cm / 100, width_cm, LOOP_ERROR)


def need_from_swatch(
    stitches: int,
    swatch_stitches: int,
    swatch_mass: Mass,
    ball: Ball,
    width_cm: float,
    *,
    resolution_g: float = 1.0,
) -> YarnNeed:
    """Return the yarn for so many stitches from a weighed swatch of `swatch_stitches` loops.

    The error is 5 % and that of the scale, whichever way the swatch was weighed once.
    """
    if swatch_stitches < 1 or swatch_mass.value <= 0:
        raise ValueError("A swatch has stitches and weighs something.")
    metres = stitches / swatch_stitches * swatch_mass.grams / ball.grams_per_metre
    scale = resolution_g / math.sqrt(12) / swatch_mass.grams
    return _need(Basis.WEIGHED_SWATCH, metres, width_cm, math.hypot(_SWATCH_ERROR, scale))


def _need(basis: Basis, metres: float, width_cm: float, error: float) -> YarnNeed:
    best = metres + ends_metres(width_cm)
    reach = error * metres
    return YarnNeed(basis, best, best - reach, best + reach, error)


def balls_needed(need: YarnNeed, ball: Ball) -> BallsNeeded:
    """Return whole balls for the best estimate and a tenth more, and for the band's upper end."""
    wanted = max(need.best_m * (1 + _SPARE), need.high_m)
    balls = math.ceil(wanted / ball.metres - 1e-9)
    return BallsNeeded(balls, balls * ball.metres, balls * ball.metres - need.best_m)


def mixed_lots(lots: Iterable[str]) -> tuple[str, ...]:
    """Return the dye lots if there are several, in order; a ball without a lot counts as unknown.

    Two balls of different lots look alike in the hand and striped on the wall.
    """
    named = tuple(dict.fromkeys(lot.strip() for lot in lots))
    return named if len(named) > 1 else ()
