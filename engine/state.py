"""
Where a piece stands: the value into which its history folds.

Rows are counted from the cast-on; `done` rows are done and `done + 1` is being worked. Nothing
here is computed from the pattern: what a row is, and how many stitches it should leave, the
course of the pattern says.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction

    from engine.commands import Feel, Since
    from engine.fabric import Fabric
    from engine.quantities import Length, Mass
    from engine.said_events import RowBegun, RowMended, RowSaid, RowsRepeated, ShapingSaid
    from engine.stages import Trait


@dataclass(frozen=True, slots=True)
class PatternFrom:
    """The pattern text (by hash) and size that hold from row `from_row` on."""

    from_row: int
    sha256: str
    size: str | None


@dataclass(frozen=True, slots=True)
class SwatchCount:
    """
    Stitches and rows of a swatch over lengths (None: not counted); one swatch a needle.

    `done` rows of the piece were done when it was counted.
    """

    stitches: Fraction | None
    stitches_over: Length | None
    rows: Fraction | None
    rows_over: Length | None
    fabric: Fabric
    needle: str
    done: int = 0


@dataclass(frozen=True, slots=True)
class SwatchWeight:
    """What the whole swatch on a needle weighed, so many stitches wide and rows high."""

    mass: Mass
    stitches: int
    rows: int
    needle: str


@dataclass(frozen=True, slots=True)
class PartnerPart:
    """Rows of the partner in a part "until it measures", the last of them row `after`."""

    part: str
    rows: int
    after: int
    ended: bool


@dataclass(frozen=True, slots=True)
class PartnerReading:
    """A length of the partner from its cast-on, or a width, after `row` rows."""

    row: int
    length: Length
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class Tolerance:
    """By how much a trait may differ and still be the same; see `ToleranceSet`."""

    trait: Trait
    length: Length | None
    number: Fraction | None


@dataclass(frozen=True, slots=True)
class PartnerPiece:
    """
    The piece that this one is to be the same as, or the mirror image of, as it was then.

    `tolerances` are those that were set for it; `needle` and `lot` its last ones ("": not known).
    """

    piece: str
    name: str
    rows: int
    finished: bool
    mirrored: bool
    parts: tuple[PartnerPart, ...] = ()
    readings: tuple[PartnerReading, ...] = ()
    widths: tuple[PartnerReading, ...] = ()
    needle: str = ""
    lot: str = ""
    tolerances: tuple[Tolerance, ...] = ()


@dataclass(frozen=True, slots=True)
class InRow:
    """The knitter is inside `row`, `after` stitches along (None: not known)."""

    row: int
    after: int | None


@dataclass(frozen=True, slots=True)
class Reading:
    """A length read after `row` rows; `aside` once the fabric under it was ripped back."""

    row: int
    length: Length
    since: Since
    from_row: int
    fabric: Fabric
    assumed: bool
    aside: bool = False


@dataclass(frozen=True, slots=True)
class WidthReading:
    """A width read after `row` rows."""

    row: int
    width: Length
    fabric: Fabric
    aside: bool = False


@dataclass(frozen=True, slots=True)
class StitchCount:
    """Stitches counted after `row` rows, beside what was expected then."""

    row: int
    count: int
    expected: int | None
    aside: bool = False


@dataclass(frozen=True, slots=True)
class Weighing:
    """
    What was left of the yarn after `row` rows; of the `stretch`-th stretch of yarn (0: the first).

    `ripped`: set aside because the rows were ripped back, so that it still tells what they took.
    """

    row: int
    mass: Mass
    aside: bool = False
    stretch: int = 0
    ripped: bool = False


@dataclass(frozen=True, slots=True)
class Lifeline:
    """A lifeline after `row`, through `stitches` (None: not known)."""

    row: int
    stitches: int | None


@dataclass(frozen=True, slots=True)
class BallJoin:
    """A ball that begins in `row` (0: the cast-on), after `after` stitches (None: not said)."""

    row: int
    lot: str
    aside: bool = False
    after: int | None = None


@dataclass(frozen=True, slots=True)
class NeedleChange:
    """From `row` on the piece is worked on `needle` ("": another one, not said which)."""

    row: int
    needle: str


@dataclass(frozen=True, slots=True)
class RowNote:
    """A note on a row; notes are kept when the row is ripped back."""

    row: int
    about: str
    text: str


@dataclass(frozen=True, slots=True)
class HandNote:
    """How a row felt in the hand."""

    row: int
    feel: Feel


@dataclass(frozen=True, slots=True)
class HowMeasured:
    """How the knitter has said that she measures."""

    since: Since
    from_row: int
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class PieceState:
    """
    Everything that the history of one piece says, as one value.

    `ended` maps a loop of the pattern ("until it measures") to the last row worked in it. `fork`
    holds the numbers of rows done between which two devices disagree (empty: they agree);
    `counted_twice` is the row that two devices counted without knowing of each other (0: none).
    `aside` is how many records count for nothing because what they say cannot be.
    `weighed` is what the finished piece weighs, dry.
    `stretch` counts how often the yarn that is left became another: at every ball joined, and when
    a join is ripped out.
    `said` are the rows that she made up, in order, `saying` the one that she has not said to its
    end, `mended` the rows of which the record was wrong.
    `undoable` and `redoable` name the group that undo would take back and the undo that redo
    would take back. `pattern_piece` is the title of the piece that is knitted, of a pattern with
    several (None: the first).
    """

    piece: str = ""
    name: str = ""
    project: str = ""
    cast_on: int | None = None
    target: Length | None = None
    count_every: int = 0
    texts: tuple[tuple[str, str], ...] = ()
    patterns: tuple[PatternFrom, ...] = ()
    pattern_piece: str | None = None
    swatch_counts: tuple[SwatchCount, ...] = ()
    swatch_weights: tuple[SwatchWeight, ...] = ()
    partner: PartnerPiece | None = None
    begun: bool = False
    finished: bool = False
    done: int = 0
    ended: tuple[tuple[str, int], ...] = ()
    in_row: InRow | None = None
    bit: int = 0
    lifelines: tuple[Lifeline, ...] = ()
    markers: tuple[int, ...] = ()
    balls: tuple[BallJoin, ...] = ()
    needles: tuple[NeedleChange, ...] = ()
    said: tuple[RowSaid | RowsRepeated | ShapingSaid, ...] = ()
    saying: RowBegun | None = None
    mended: tuple[RowMended, ...] = ()
    how: HowMeasured | None = None
    lengths: tuple[Reading, ...] = ()
    widths: tuple[WidthReading, ...] = ()
    counts: tuple[StitchCount, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    weighed: Mass | None = None
    tolerances: tuple[Tolerance, ...] = ()
    stretch: int = 0
    hand: tuple[HandNote, ...] = ()
    notes: tuple[RowNote, ...] = ()
    fork: tuple[int, ...] = ()
    counted_twice: int = 0
    aside: int = 0
    undoable: str | None = None
    redoable: tuple[str, ...] = ()

    @property
    def working(self) -> int:
        """The row that is being worked, counted from the cast-on."""
        return self.done + 1

    @property
    def loops_ended(self) -> dict[str, int]:
        """`ended` as a mapping, as `Course.where` wants it."""
        return dict(self.ended)

    @property
    def pattern(self) -> PatternFrom | None:
        """The pattern that holds for the row being worked; None when rows are only counted."""
        holding = [pattern for pattern in self.patterns if pattern.from_row <= self.working]
        return holding[-1] if holding else None

    def text_of(self, sha256: str) -> str:
        """Return the kept text of a pattern; KeyError if the history does not hold it."""
        return dict(self.texts)[sha256]
