"""What a simulated piece is: its truth, what the knitter does in order, and what is asked.

Conventions, the same in every family:

* Every ``..._by_row`` tuple has one entry for each row, and entry 0 belongs to the cast-on, so the
  index is the row's number. The tuples reach beyond the row at which the piece ends.
* ``at`` is monotonic time in seconds since the cast-on began; it never falls.
* ``row`` is the number of rows **done** when something happens (working row is ``row + 1``).
* A quantity that was spoken is a ``Fraction`` in the unit spoken: exactly what was said.
* Lengths of the truth are centimetres, weights grams, times seconds, work stitches.

What lies in ``Piece.did`` may be told to the program. ``Piece.truth`` and ``Piece.asked`` may not.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from fractions import Fraction

CM_PER_INCH = 2.54  # exact: international yard and pound, 1 July 1959

State = Literal["needle", "rested", "washed"]
"""How the fabric is when measured: on the needle, taken off and rested, or washed and dried."""
Unit = Literal["cm", "in"]
Start = Literal["cast-on"]
"""Where a length starts; these families measure everything from the cast-on."""


@dataclass(frozen=True, slots=True)
class Length:
    """A length as spoken."""

    value: Fraction
    unit: Unit

    @property
    def cm(self) -> float:
        """The same in centimetres."""
        return float(self.value) * (CM_PER_INCH if self.unit == "in" else 1.0)


@dataclass(frozen=True, slots=True)
class SessionBegan:
    """The knitter sits down; the first of each sitting."""

    at: float
    row: int


@dataclass(frozen=True, slots=True)
class TargetSet:
    """The length wanted, from where, and in which state it is meant."""

    at: float
    row: int
    length: Length
    state: State
    start: Start = "cast-on"


@dataclass(frozen=True, slots=True)
class SwatchCounted:
    """A swatch: so many stitches and rows over one length, in a state (halves are counted)."""

    at: float
    row: int
    stitches: Fraction
    rows: Fraction
    over: Length
    state: State


@dataclass(frozen=True, slots=True)
class SwatchWeighed:
    """A whole swatch on the scale: so many stitches wide, so many rows, of one kind of stitch."""

    at: float
    row: int
    kind: str
    stitches: int
    rows: int
    grams: Fraction


@dataclass(frozen=True, slots=True)
class RowsDone:
    """Rows told at once (``count``); ``row`` is where that leads."""

    at: float
    row: int
    count: int = 1


@dataclass(frozen=True, slots=True)
class Measured:
    """A length along the rows, of the piece made so far."""

    at: float
    row: int
    length: Length
    state: State
    start: Start = "cast-on"


@dataclass(frozen=True, slots=True)
class WidthMeasured:
    """The width of the fabric below the needle, and how many stitches make it."""

    at: float
    row: int
    stitches: int
    length: Length
    state: State


@dataclass(frozen=True, slots=True)
class StitchesCounted:
    """Stitches counted over a length in the fabric knitted last (halves are counted)."""

    at: float
    row: int
    stitches: Fraction
    over: Length
    state: State


@dataclass(frozen=True, slots=True)
class Felt:
    """The remark "that felt tight" or "that felt loose"."""

    at: float
    row: int
    how: Literal["tight", "loose"]


@dataclass(frozen=True, slots=True)
class NeedleChanged:
    """Another needle from the next row on; sizes in millimetres."""

    at: float
    row: int
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the scale says of the ball in work (not the balls still waiting)."""

    at: float
    row: int
    grams: Fraction


@dataclass(frozen=True, slots=True)
class BallJoined:
    """Another ball from the next row on; ``grams`` where it was weighed, else None."""

    at: float
    row: int
    grams: Fraction | None
    label_grams: int


@dataclass(frozen=True, slots=True)
class RippedBack:
    """So many rows pulled out (``count``), their yarn wound back; ``row`` is where that leads."""

    at: float
    row: int
    count: int


Deed = (
    SessionBegan
    | TargetSet
    | SwatchCounted
    | SwatchWeighed
    | RowsDone
    | Measured
    | WidthMeasured
    | StitchesCounted
    | Felt
    | NeedleChanged
    | Weighed
    | BallJoined
    | RippedBack
)


@dataclass(frozen=True, slots=True)
class TargetRow:
    """Asked: which row reaches the target? ``answer`` is the first row that is long enough."""

    after: int
    """So many entries of ``Piece.did`` have happened."""
    row: int
    measurements: int
    """Lengths measured so far; 0 means that only a swatch is known."""
    answer: int


@dataclass(frozen=True, slots=True)
class YarnToEnd:
    """Asked after a weighing: whether the ball in work lasts through bind-off and tail.

    ``given`` = ``used`` + ``left`` + ``set_aside`` (grams, true): all balls so far, what is in the
    piece, what is in the ball in work, and ends of finished balls.
    """

    after: int
    row: int
    weighings: int
    given: float
    used: float
    left: float
    set_aside: float
    needed: float
    lasts: bool
    whole_rows: int
    """Rows the ball still makes, at most those of the plan, nothing kept for the bind-off."""


@dataclass(frozen=True, slots=True)
class TimeLeft:
    """Asked: how much knitting is left? ``seconds`` without any pause."""

    after: int
    row: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Truth:
    """What really is. Tuples by row: entry 0 is the cast-on (see the module's docstring)."""

    height_cm_by_row: tuple[float, ...]
    """Height of the piece, unwashed, after each row: cumulative, edge or hem included."""
    stitches_by_row: tuple[int, ...]
    """Work of each row: stitches on the needle when it is done."""
    grams_by_row: tuple[float, ...]
    """Yarn of each row; entry 0 is the cast-on with its tail."""
    seconds_by_row: tuple[float, ...]
    """Knitting time of each row, no pause in it; entry 0 is 0."""
    washed_ratio: float = 1.0
    """Washed height divided by unwashed height."""
    change_row: int | None = None
    """The first row of another gauge (told or untold), or None."""
    change_ratio: float = 1.0
    """Stitch size after that row divided by the size before."""
    bind_off_grams: float = 0.0
    tail_grams: float = 0.0
    slips: frozenset[int] = frozenset()
    """Indices in ``Piece.did`` of measurements that are mistakes, not noise."""

    def row_reaching(self, cm: float, state: State) -> int | None:
        """Return the first row whose height in that state is at least ``cm``; None if none is."""
        wanted = cm / (self.washed_ratio if state == "washed" else 1.0)
        row = bisect_left(self.height_cm_by_row, wanted - 1e-9)
        return row if row < len(self.height_cm_by_row) else None

    def grams_used(self, row: int) -> float:
        """Return the yarn in the piece when ``row`` rows are done (grams)."""
        return sum(self.grams_by_row[: row + 1])

    def seconds_from(self, row: int, to: int) -> float:
        """Return the knitting time of rows ``row + 1`` to ``to`` (seconds)."""
        return sum(self.seconds_by_row[row + 1 : to + 1])


@dataclass(frozen=True, slots=True)
class Piece:
    """One simulated piece."""

    family: str
    kind: str
    seed: int
    rows: int
    """Rows of the plan; in the length families the true row of the target."""
    planned_stitches: tuple[int, ...]
    """Stitches of each row as the pattern says (may be told); entry 0 is the cast-on."""
    planned_kinds: tuple[str, ...]
    """Kind of stitch of each row as the pattern says: "stockinette", "rib" or "lace"."""
    truth: Truth
    did: tuple[Deed, ...]
    asked: tuple[TargetRow | YarnToEnd | TimeLeft, ...]


def heights(row_cm: list[float], edge_cm: float = 0.0) -> tuple[float, ...]:
    """Return the height after each row from the rows' own heights (cm), entry 0 being 0.

    A positive ``edge_cm`` (a flaring edge) comes with the first three rows; a negative one (an edge
    that rolls in, a hem turned up) swallows the first rows until it is used up, so that no height
    ever falls.
    """
    summed = accumulate(row_cm, initial=0.0)
    if edge_cm >= 0:
        return tuple(cm + edge_cm * min(row, 3) / 3 for row, cm in enumerate(summed))
    return tuple(max(0.0, cm + edge_cm) for cm in summed)
