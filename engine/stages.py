"""How far a piece of an order is, and what of it is compared with the others."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """The stages of a piece in an order, in their order; finishing is part of it."""

    BEGUN = "begun"
    KNITTED = "knitted"
    ENDS = "ends"
    WASHED = "washed"
    DRY = "dry"
    MEASURED = "measured"
    PACKED = "packed"


class Trait(StrEnum):
    """What of a piece has to be the same as of the others, in the order in which it is told."""

    ROWS = "rows"
    LENGTH = "length"
    WIDTH = "width"
    WEIGHT = "weight"
    STITCH_GAUGE = "stitch_gauge"
    ROW_GAUGE = "row_gauge"
