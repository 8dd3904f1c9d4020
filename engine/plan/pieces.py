"""Pieces that belong together: a partner to be as long as, two fronts that mirror each other."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from engine.forecast.values import PARTNER_SPREAD, GaugePrior, RowsLeft

if TYPE_CHECKING:
    from engine.fabric import Fabric


class Edge(StrEnum):
    """An edge of the piece as worn."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> Edge:
        """The opposite edge."""
        return Edge.RIGHT if self is Edge.LEFT else Edge.LEFT


class PieceSide(StrEnum):
    """Side of the fabric that faces the knitter."""

    RIGHT_SIDE = "right_side"
    WRONG_SIDE = "wrong_side"

    @property
    def other(self) -> PieceSide:
        """The other side."""
        return PieceSide.WRONG_SIDE if self is PieceSide.RIGHT_SIDE else PieceSide.RIGHT_SIDE


class Lean(StrEnum):
    """Which way a decrease or increase leans on the right side."""

    LEFT = "left"
    RIGHT = "right"
    NONE = "none"

    @property
    def other(self) -> Lean:
        """The mirrored lean."""
        mirrored = {Lean.LEFT: Lean.RIGHT, Lean.RIGHT: Lean.LEFT, Lean.NONE: Lean.NONE}
        return mirrored[self]


@dataclass(frozen=True, slots=True)
class EdgeShaping:
    """Shaping at one edge in row `row`: `change` stitches (negative: fewer).

    `at_beginning`: at the beginning of the row as knitted; a bind-off of several stitches can only
    be worked there, so its mirror image falls one row later.
    """

    row: int
    side: PieceSide
    edge: Edge
    change: int
    lean: Lean = Lean.NONE
    at_beginning: bool = True
    bound_off: bool = False


def mirrored(shaping: EdgeShaping) -> EdgeShaping:
    """Return the shaping of the mirrored piece.

    A decrease in the row goes to the other end of the same row and leans the other way. A bind-off
    stays at the beginning, of the next row, which is on the other side.
    """
    if shaping.bound_off:
        return replace(
            shaping, row=shaping.row + 1, side=shaping.side.other, edge=shaping.edge.other
        )
    return replace(
        shaping,
        edge=shaping.edge.other,
        lean=shaping.lean.other,
        at_beginning=not shaping.at_beginning,
    )


@dataclass(frozen=True, slots=True)
class Partner:
    """The piece that this one has to be like: its rows, and its length if it was measured."""

    name: str
    rows: int
    cm: float | None = None
    fabric: Fabric | None = None

    def gauge(self, part: str = "") -> GaugePrior | None:
        """Return its row gauge as what is known beforehand of this piece; None if not measured."""
        if self.cm is None or self.fabric is None or self.rows < 1 or self.cm <= 0:
            return None
        return GaugePrior(
            10 * self.rows / self.cm,
            self.fabric,
            spread=PARTNER_SPREAD,
            part=part,
            source=self.name,
        )


@dataclass(frozen=True, slots=True)
class AsPartner:
    """Rows left to the partner's count, and how the lengths compare.

    Same means equal rows; `longer_cm` is how much longer (negative: shorter) this piece will be
    with them if the hand stays as it is, None without a measurement of both. The truth is within
    `margin_cm` of it as far as two rulers go: a short piece tells little of a long one.
    """

    rows_left: RowsLeft
    rows_over: int
    longer_cm: float | None
    margin_cm: float = 0.0


_RULERS_DIFFER_CM: Final = 0.5
"""Honest measurements of one length differ by half a centimetre (common practice, no source)."""


def as_partner(row_now: int, partner: Partner, cm_now: float | None = None) -> AsPartner:
    """Return what is left to be as the partner; `cm_now` in the state the partner was measured."""
    left = max(0, partner.rows - row_now)
    longer, margin = None, 0.0
    if cm_now is not None and partner.cm is not None and row_now > 0:
        share = partner.rows / row_now
        longer = cm_now * share - partner.cm
        margin = _RULERS_DIFFER_CM * math.hypot(share, 1) / math.sqrt(2)
    over = max(0, row_now - partner.rows)
    return AsPartner(RowsLeft(left, left, left, 1.0, None), over, longer, margin)
