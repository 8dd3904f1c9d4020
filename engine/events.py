"""
What happened at the needles, as it is written down for ever.

An event says where it happened by position (rows are counted from the cast-on, 1-based; "row 0"
is the cast-on edge), never as "one more", so that the same news from two devices stays the same
news. Lengths and weights are kept as they were said. A kind never changes once anything was written
with it, not even by another field: a new meaning gets a new kind (and raises `records.SCHEMA`).

`kind` is the stable name in the journal; the JSON shape of every kind is in
`shared/journal.schema.json`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction  # noqa: TC003 (payloads are read by the types of the fields)
from typing import ClassVar

from engine.commands import Feel, Since
from engine.fabric import Fabric
from engine.order_events import (
    OfOrder,
    PartnerMade,
    PartnerTolerance,
    PartnerWide,
    PieceWeighed,
    ToleranceSet,
)
from engine.quantities import Length, Mass
from engine.said_events import OfRows

# --- the piece --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PatternKept:
    """The text of a pattern file, kept with the work; its name is its `sha256` (hex, of UTF-8)."""

    kind: ClassVar[str] = "pattern_kept"
    sha256: str
    text: str


@dataclass(frozen=True, slots=True)
class PieceBegun:
    """
    A piece is cast on.

    `pattern` is the hash of a kept text, or None when rows are only counted. `target` is the
    finished length; `count_every` is after how many rows the knitter wants to be reminded to
    count her stitches (0: never).
    """

    kind: ClassVar[str] = "piece_begun"
    name: str
    project: str
    pattern: str | None
    size: str | None
    cast_on: int | None
    target: Length | None
    count_every: int


@dataclass(frozen=True, slots=True)
class PatternPieceChosen:
    """Of the pieces of the pattern (back, front, sleeve) this is the one called `title`."""

    kind: ClassVar[str] = "pattern_piece_chosen"
    title: str


@dataclass(frozen=True, slots=True)
class SwatchCounted:
    """
    The knitter counted her swatch in the state `fabric`: stitches, rows or both.

    `stitches` and `rows` (halves allowed) lie over the lengths beside them, as she said them (None:
    not counted). Counts on the same `needle`, as she calls it ("" if not said), are of one swatch.
    """

    kind: ClassVar[str] = "swatch_counted"
    stitches: Fraction | None
    stitches_over: Length | None
    rows: Fraction | None
    rows_over: Length | None
    fabric: Fabric
    needle: str


@dataclass(frozen=True, slots=True)
class SwatchWeighed:
    """The swatch on `needle`, `stitches` wide and `rows` high as a whole, weighed `mass`."""

    kind: ClassVar[str] = "swatch_weighed"
    mass: Mass
    stitches: int
    rows: int
    needle: str


@dataclass(frozen=True, slots=True)
class PartnerNamed:
    """
    The piece is to be the same as the piece `partner`, of which `rows` rows were done then.

    `finished`: it was off the needles. `mirrored`: this piece is its mirror image (a left and a
    right front). What follows of the kinds below belongs to it; a later partner takes its place.
    """

    kind: ClassVar[str] = "partner_named"
    partner: str
    name: str
    rows: int
    finished: bool
    mirrored: bool


@dataclass(frozen=True, slots=True)
class PartnerPartKnitted:
    """
    The partner has `rows` rows in `part`, a part "until it measures", the last of them row `after`.

    `ended`: it was long enough then; else it was still being worked.
    """

    kind: ClassVar[str] = "partner_part"
    part: str
    rows: int
    after: int
    ended: bool


@dataclass(frozen=True, slots=True)
class PartnerMeasured:
    """The partner measured `length` from its cast-on after `row` rows, in the state `fabric`."""

    kind: ClassVar[str] = "partner_measured"
    row: int
    length: Length
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class PatternChanged:
    """From `from_row` on the piece follows another text or size."""

    kind: ClassVar[str] = "pattern_changed"
    pattern: str
    size: str | None
    from_row: int


@dataclass(frozen=True, slots=True)
class PieceFinished:
    """The piece is off the needles after `row` rows."""

    kind: ClassVar[str] = "piece_finished"
    row: int


# --- rows -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class RowsWorked:
    """Rows `first` to `last` were worked, all in `section` of the pattern."""

    kind: ClassVar[str] = "rows_worked"
    section: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class LoopEnded:
    """A part worked "until it measures" was long enough after row `after`."""

    kind: ClassVar[str] = "loop_ended"
    loop: str
    after: int


@dataclass(frozen=True, slots=True)
class RippedBack:
    """Rows up to `to` remain after ripping back, if `lifeline` then to a lifeline."""

    kind: ClassVar[str] = "ripped_back"
    to: int
    lifeline: bool


@dataclass(frozen=True, slots=True)
class Recounted:
    """The fabric was counted by eye: `done` rows are done. Settles any fork that it comes after."""

    kind: ClassVar[str] = "recounted"
    done: int


@dataclass(frozen=True, slots=True)
class RowReopened:
    """Row `row` is being unpicked: it is the row in work again, from its start."""

    kind: ClassVar[str] = "row_reopened"
    row: int


@dataclass(frozen=True, slots=True)
class StoppedInRow:
    """The knitter stopped inside `row`, `after` stitches along (None: not said)."""

    kind: ClassVar[str] = "stopped_in_row"
    row: int
    after: int | None


@dataclass(frozen=True, slots=True)
class BitReached:
    """In `row` the knitter has come to bit `bit` of the instruction (0-based)."""

    kind: ClassVar[str] = "bit_reached"
    row: int
    bit: int


@dataclass(frozen=True, slots=True)
class LifelinePlaced:
    """A lifeline runs through the `stitches` (None: not known) after `row`."""

    kind: ClassVar[str] = "lifeline_placed"
    row: int
    stitches: int | None


@dataclass(frozen=True, slots=True)
class MarkerPlaced:
    """A marker hangs in the fabric after `row`."""

    kind: ClassVar[str] = "marker_placed"
    row: int


@dataclass(frozen=True, slots=True)
class BallJoined:
    """
    Another ball was joined in `row`; `lot` is the dye lot on its band, "" if not said.

    Of the first schema; since the second `YarnJoined` is written.
    """

    kind: ClassVar[str] = "ball_joined"
    row: int
    lot: str


@dataclass(frozen=True, slots=True)
class YarnJoined:
    """
    A ball begins in `row`, after `after` stitches of it (None: not said); row 0 is the cast-on.

    `lot` is the dye lot on its band, "" if not said.
    """

    kind: ClassVar[str] = "yarn_joined"
    row: int
    after: int | None
    lot: str


@dataclass(frozen=True, slots=True)
class NeedleChanged:
    """From `row` on the piece is worked on `needle`, as the knitter calls it ("" if not said)."""

    kind: ClassVar[str] = "needle_changed"
    row: int
    needle: str


# --- what was seen ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Measured:
    """
    With `row` rows done the piece measured `length` from `since` in the state `fabric`.

    `from_row` is the row after which the measured stretch begins (0: cast-on). `assumed` is true
    while the knitter has not yet said how she measures; the next `MeasuringAgreed` then speaks
    for this reading too.
    """

    kind: ClassVar[str] = "measured"
    row: int
    length: Length
    since: Since
    from_row: int
    fabric: Fabric
    assumed: bool


@dataclass(frozen=True, slots=True)
class WidthMeasured:
    """After `row` rows the piece was `width` wide in the state `fabric`."""

    kind: ClassVar[str] = "width_measured"
    row: int
    width: Length
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class MeasuringAgreed:
    """How the knitter measures from now on; `from_row` belongs to `since` as in `Measured`."""

    kind: ClassVar[str] = "measuring_agreed"
    since: Since
    from_row: int
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class StitchesCounted:
    """After `row` rows `count` stitches were there; `expected` should be (None: not known)."""

    kind: ClassVar[str] = "stitches_counted"
    row: int
    count: int
    expected: int | None


@dataclass(frozen=True, slots=True)
class YarnWeighed:
    """After `row` rows the yarn that is left weighed `mass`."""

    kind: ClassVar[str] = "yarn_weighed"
    row: int
    mass: Mass


@dataclass(frozen=True, slots=True)
class HandNoted:
    """Row `row` felt tight, loose or even in the hand."""

    kind: ClassVar[str] = "hand_noted"
    row: int
    feel: Feel


@dataclass(frozen=True, slots=True)
class RowNoted:
    """A note on `row`; `about` is "note", "mistake" or "dropped"; `text` may be empty."""

    kind: ClassVar[str] = "row_noted"
    row: int
    about: str
    text: str


# --- taking back ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Undone:
    """
    What the records of `group` say no longer holds. Nothing is erased.

    A redo is the undoing of an undo: it names the group of that undo.
    """

    kind: ClassVar[str] = "undone"
    group: str


Event = (
    PatternKept
    | PieceBegun
    | PatternPieceChosen
    | SwatchCounted
    | SwatchWeighed
    | PartnerNamed
    | PartnerPartKnitted
    | PartnerMeasured
    | PatternChanged
    | PieceFinished
    | RowsWorked
    | LoopEnded
    | RippedBack
    | Recounted
    | RowReopened
    | StoppedInRow
    | BitReached
    | LifelinePlaced
    | MarkerPlaced
    | BallJoined
    | YarnJoined
    | NeedleChanged
    | OfRows
    | Measured
    | WidthMeasured
    | MeasuringAgreed
    | StitchesCounted
    | YarnWeighed
    | HandNoted
    | RowNoted
    | PieceWeighed
    | PartnerMade
    | PartnerWide
    | PartnerTolerance
    | ToleranceSet
    | OfOrder
    | Undone
)

EVENTS: dict[str, type[Event]] = {kind.kind: kind for kind in Event.__args__}

MOVES = (
    RowsWorked,
    RippedBack,
    Recounted,
    RowReopened,
    LoopEnded,
    PatternChanged,
    PieceFinished,
)
"""The kinds that say where the work stands: two devices that both write one of them have forked."""
