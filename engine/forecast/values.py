"""What a forecast is asked with and what it answers: values only, the words live in phrase data."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, TypeAlias

if TYPE_CHECKING:
    from engine.fabric import Fabric


@dataclass(frozen=True, slots=True)
class LengthReading:
    """One measured length of the piece.

    `row` is the number of rows done when it was measured, `part` the stitch part being knitted
    then, `needle` the needle in use. `from_row`: the row measured from, 0 for the cast-on edge.
    """

    row: int
    cm: float
    fabric: Fabric
    part: str = ""
    needle: str = ""
    from_row: int = 0

    def __post_init__(self) -> None:
        """Refuse a reading that measures nothing."""
        if not 0 <= self.from_row <= self.row:
            raise ValueError("A length is measured from a row that comes before its own.")


@dataclass(frozen=True, slots=True)
class PartSpan:
    """Rows `first` to `last` (counted from the cast-on, both included) in one stitch.

    `last` None: until the piece is long enough. `needle` may be left empty; then the needles named
    by the readings decide.
    """

    part: str
    first: int
    last: int | None
    needle: str = ""


PATTERN_SPREAD: Final = 0.06
"""How far one hand is from the pattern's gauge; common practice, no source."""
SWATCH_SPREAD: Final = 0.03
"""How far a piece is from its maker's swatch: about a row in 10 cm; common practice, no source."""
PARTNER_SPREAD: Final = 0.02
"""How far a piece is from its partner by the same hand; common practice, no source."""


@dataclass(frozen=True, slots=True)
class GaugePrior:
    """Rows to 10 cm known beforehand, from the swatch or from the partner piece.

    `spread` is the relative standard deviation with which a new piece follows this source, one of
    the three figures above. Counts that share a `source` are of one piece of fabric, so that
    washed against unwashed tells the shrinkage. An empty `part` means the stitch of the piece in
    general.
    """

    rows_per_10cm: float
    fabric: Fabric
    spread: float = SWATCH_SPREAD
    part: str = ""
    needle: str = ""
    source: str = "swatch"

    def __post_init__(self) -> None:
        """Refuse a gauge that no fabric has."""
        if not self.rows_per_10cm > 0:
            raise ValueError("Rows to 10 cm have to be more than none.")
        if self.spread < 0:
            raise ValueError("A spread cannot be negative.")


@dataclass(frozen=True, slots=True)
class RowsLeft:
    """Between `low` and `high` rows still to knit, `best` the middle.

    `level` is the chance that the truth lies within, calibrated over simulated knitters.
    `measure_again_at`: the row where the next measurement is worth most, None when it is hardly
    worth one.
    """

    low: int
    high: int
    best: int
    level: float
    measure_again_at: int | None


class WhyNot(StrEnum):
    """Why no honest number of rows can be given."""

    NOTHING_KNOWN = "nothing_known"
    """No measurement, no swatch, no partner."""
    TOO_UNCERTAIN = "too_uncertain"
    """The rate of growth is not known well enough: the interval has no upper end (g >= 1)."""


class Remedy(StrEnum):
    """What the knitter can do so that the next question can be answered."""

    MEASURE_NOW = "measure_now"
    MEASURE_FURTHER_ON = "measure_further_on"


@dataclass(frozen=True, slots=True)
class CannotSay:
    """Nothing honest can be said yet; `measure_again_at` is the row for the remedy."""

    reason: WhyNot
    remedy: Remedy
    measure_again_at: int


RowsForecast: TypeAlias = RowsLeft | CannotSay


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A length that can hardly be; what would be plausible lies between `low_cm` and `high_cm`.

    `expected_cm` is the middle. A slip of the tongue (thirteen for thirty), a wrong unit or a
    stretched piece looks like this: ask, never use it silently.
    """

    low_cm: float
    high_cm: float
    expected_cm: float
