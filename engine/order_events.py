"""
What happens to pieces that are to be alike, and to an order of them; see `engine.events`.

An order is a history of its own in the journal, beside those of the pieces. Its pieces have numbers
from 1 on that stay; a piece that is rejected begins anew under its number.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction  # noqa: TC003 (payloads are read by the types of the fields)
from typing import ClassVar

from engine.fabric import Fabric  # noqa: TC001 (the same)
from engine.quantities import Length, Mass  # noqa: TC001 (the same)
from engine.stages import Stage, Trait  # noqa: TC001 (the same)

# --- a piece, in its own history ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PieceWeighed:
    """The finished piece, dry, weighs `mass`."""

    kind: ClassVar[str] = "piece_weighed"
    mass: Mass


@dataclass(frozen=True, slots=True)
class PartnerMade:
    """The partner was last worked on `needle`, from the dye lot `lot`; "" where not known."""

    kind: ClassVar[str] = "partner_made"
    needle: str
    lot: str


@dataclass(frozen=True, slots=True)
class PartnerWide:
    """The partner was `width` wide after `row` rows, in the state `fabric`."""

    kind: ClassVar[str] = "partner_wide"
    row: int
    width: Length
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class PartnerTolerance:
    """The partner's tolerance for `trait`, as `ToleranceSet` has it."""

    kind: ClassVar[str] = "partner_tolerance"
    trait: Trait
    length: Length | None
    number: Fraction | None


@dataclass(frozen=True, slots=True)
class ToleranceSet:
    """
    By how much `trait` may differ from that of the reference and still be the same.

    `length` for lengths and widths; else `number`: rows, per cent of the weight, stitches or rows
    to 10 cm; both None: not at all. In an order it is for the line that begins with piece `first`.
    """

    kind: ClassVar[str] = "tolerance_set"
    first: int
    trait: Trait
    length: Length | None
    number: Fraction | None


# --- an order, in a history of its own ------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class OrderBegun:
    """An order is taken, due on the day `due` (ISO 8601; "": not said)."""

    kind: ClassVar[str] = "order_begun"
    name: str
    due: str


@dataclass(frozen=True, slots=True)
class OrderLine:
    """
    Of the order: `count` pieces of one item, size and colour, and `spares` more.

    They have the numbers from `first` on. Said again of the same `first` it holds instead.
    """

    kind: ClassVar[str] = "order_line"
    first: int
    item: str
    size: str
    colour: str
    count: int
    spares: int


@dataclass(frozen=True, slots=True)
class LineWanted:
    """
    What the pieces of the line that begins with `first` are to be like.

    That is the `piece` of the journal ("": none of it), or what is planned (None: not said).
    """

    kind: ClassVar[str] = "line_wanted"
    first: int
    piece: str
    rows: int | None
    stitches: int | None
    length: Length | None
    width: Length | None
    mass: Mass | None


@dataclass(frozen=True, slots=True)
class PieceGiven:
    """Piece `number` is knitted by `knitter` ("": by nobody yet)."""

    kind: ClassVar[str] = "piece_given"
    number: int
    knitter: str


@dataclass(frozen=True, slots=True)
class PieceTied:
    """Piece `number` of the order is the `piece` of the journal, with its history."""

    kind: ClassVar[str] = "piece_tied"
    number: int
    piece: str


@dataclass(frozen=True, slots=True)
class StageReached:
    """Piece `number` is at `stage` now, whatever was said of it before."""

    kind: ClassVar[str] = "stage_reached"
    number: int
    stage: Stage


@dataclass(frozen=True, slots=True)
class PieceChecked:
    """Piece `number`, washed and dry, was measured; `minutes` it took to knit (None: not said)."""

    kind: ClassVar[str] = "piece_checked"
    number: int
    rows: int | None
    length: Length | None
    width: Length | None
    mass: Mass | None
    minutes: int | None


@dataclass(frozen=True, slots=True)
class PieceRejected:
    """Piece `number` does not do, and is knitted again from its beginning; `why` in her words."""

    kind: ClassVar[str] = "piece_rejected"
    number: int
    why: str


@dataclass(frozen=True, slots=True)
class HoursAWeek:
    """So many hours a week `knitter` has for the order (None: not known any more)."""

    kind: ClassVar[str] = "hours_a_week"
    knitter: str
    hours: Fraction | None


@dataclass(frozen=True, slots=True)
class YarnStocked:
    """There are so many `balls` of `colour` and dye lot `lot`, each of `ball`; the last holds."""

    kind: ClassVar[str] = "yarn_stocked"
    colour: str
    lot: str
    balls: int
    ball: Mass


OfOrder = (
    OrderBegun
    | OrderLine
    | LineWanted
    | PieceGiven
    | PieceTied
    | StageReached
    | PieceChecked
    | PieceRejected
    | HoursAWeek
    | YarnStocked
)
"""What stands in the history of an order and says nothing of one piece by itself."""
