"""What a knitter wants of a piece, and what she has for it, as one value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.plan.size import RowParity

if TYPE_CHECKING:
    from fractions import Fraction

    from engine.plan.gauge import Gauge, Swatch
    from engine.plan.size import Multiple
    from engine.plan.yarn import Ball
    from engine.quantities import Length, Mass


@dataclass(frozen=True, slots=True)
class WeighedSwatch:
    """A swatch of so many stitches (all loops, width times height) weighed this much."""

    stitches: int
    mass: Mass
    resolution_g: float = 1.0


@dataclass(frozen=True, slots=True)
class Wish:
    """What the knitter wants and has: finished measures, edge stitches that seams take up.

    `around` is what the width was eased from, None if she said the width itself. `have` balls of
    the dye `lots` are in hand already.
    """

    swatch: Swatch
    width: Length
    length: Length
    multiple: Multiple | None = None
    edge_stitches: int = 0
    parity: RowParity = RowParity.ANY
    pattern_gauge: Gauge | None = None
    needle_mm: Fraction | None = None
    ball: Ball | None = None
    have: int = 0
    lots: tuple[str, ...] = ()
    weighed: WeighedSwatch | None = None
    around: Length | None = None
