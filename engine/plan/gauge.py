"""Gauge: stitches and rows of a fabric, exactly as counted, before and after the wash.

4 inches are 10.16 cm, not 10: a gauge per 4 inches is converted, never taken for one per 10 cm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from engine.fabric import Fabric
from engine.quantities import Length, LengthUnit, centimetres, inches

TEN_CM: Final = centimetres(10)
FOUR_INCHES: Final = inches(4)


@dataclass(frozen=True, slots=True)
class Count:
    """So many stitches or rows (halves allowed) were counted over a length."""

    number: Fraction
    over: Length

    def __post_init__(self) -> None:
        """Refuse a count of nothing or over nothing."""
        if self.number <= 0 or self.over.value <= 0:
            raise ValueError("A count is of something, over some length.")

    @property
    def per_cm(self) -> Fraction:
        """Count per centimetre, exactly."""
        return self.number / self.over.to(LengthUnit.CM).value

    def per(self, length: Length) -> Fraction:
        """Return the count over another length, exactly."""
        return self.per_cm * length.to(LengthUnit.CM).value

    def span(self, number: Fraction | int, unit: LengthUnit = LengthUnit.CM) -> Length:
        """Return how long so many stitches or rows are, exactly."""
        return Length(number / self.per_cm, LengthUnit.CM).to(unit)

    def number_in(self, length: Length) -> Fraction:
        """Return how many stitches or rows a length holds, exactly and so rarely whole."""
        return self.per(length)


@dataclass(frozen=True, slots=True)
class Gauge:
    """Stitches and rows of one fabric in one state."""

    stitches: Count
    rows: Count
    fabric: Fabric = Fabric.WASHED


@dataclass(frozen=True, slots=True)
class Swatch:
    """One swatch, counted before its wash (rested), after it, or both.

    `washed` is what the finished piece will be; `unwashed` is what the ruler reads on the way.
    """

    washed: Gauge | None
    unwashed: Gauge | None

    def __post_init__(self) -> None:
        """Refuse a swatch that was not counted."""
        if self.washed is None and self.unwashed is None:
            raise ValueError("A swatch has to be counted before or after its wash.")

    @property
    def finished(self) -> Gauge:
        """The gauge to plan with: washed if it was counted so, else the unwashed one."""
        gauge = self.washed or self.unwashed
        assert gauge is not None  # noqa: S101 (checked when it was made)
        return gauge

    @property
    def in_hand(self) -> Gauge:
        """The gauge of the fabric while it is being knitted."""
        gauge = self.unwashed or self.washed
        assert gauge is not None  # noqa: S101 (checked when it was made)
        return gauge


class GaugeAdvice(StrEnum):
    """What to do about a swatch that differs from the pattern's gauge."""

    AS_PATTERN = "as_pattern"
    NEEDLE_UP = "needle_up"
    """More stitches than the pattern: the hand is tighter; a thicker needle makes fewer."""
    NEEDLE_DOWN = "needle_down"
    ROWS_ONLY = "rows_only"
    """Stitches fit, rows do not: knit lengths to the ruler, and count shaping anew."""
    OTHER_YARN = "other_yarn"
    """Too far for a needle: the fabric would be a board or a net."""


@dataclass(frozen=True, slots=True)
class GaugeMatch:
    """A swatch held against the pattern's gauge.

    Differences are relative, positive for more stitches or rows than the pattern's (a smaller
    piece). `needle_step_mm` is how far to go, 0 when the needle stays; swatch again after it.
    """

    advice: GaugeAdvice
    stitch_difference: Fraction
    row_difference: Fraction
    needle_step_mm: Fraction

    @property
    def swatch_again(self) -> bool:
        """Whether a new swatch has to be knitted before the piece."""
        return self.advice in {
            GaugeAdvice.NEEDLE_UP,
            GaugeAdvice.NEEDLE_DOWN,
            GaugeAdvice.OTHER_YARN,
        }


# Common practice, no source: half a stitch and one row to 10 cm are let pass; a quarter of a
# millimetre changes the gauge by some 3 %, half a millimetre by some 6 %; beyond 12 % change yarn.
STITCHES_LET_PASS: Final = Fraction(1, 2)
ROWS_LET_PASS: Final = Fraction(1)
_SMALL_STEP_UP_TO: Final = Fraction(4, 100)
_NEEDLE_UP_TO: Final = Fraction(12, 100)


def match_gauge(swatch: Gauge, pattern: Gauge) -> GaugeMatch:
    """Return how far a swatch is from the pattern's gauge, and what to do.

    Both should be in the same state, washed if the pattern says nothing else.
    """
    stitch_difference = swatch.stitches.per_cm / pattern.stitches.per_cm - 1
    row_difference = swatch.rows.per_cm / pattern.rows.per_cm - 1
    stitches_off = swatch.stitches.per(TEN_CM) - pattern.stitches.per(TEN_CM)
    rows_off = swatch.rows.per(TEN_CM) - pattern.rows.per(TEN_CM)
    step = Fraction(0)
    if abs(stitches_off) <= STITCHES_LET_PASS:
        fits = abs(rows_off) <= ROWS_LET_PASS
        advice = GaugeAdvice.AS_PATTERN if fits else GaugeAdvice.ROWS_ONLY
    elif abs(stitch_difference) > _NEEDLE_UP_TO:
        advice = GaugeAdvice.OTHER_YARN
    else:
        advice = GaugeAdvice.NEEDLE_UP if stitches_off > 0 else GaugeAdvice.NEEDLE_DOWN
        step = Fraction(1, 4) if abs(stitch_difference) <= _SMALL_STEP_UP_TO else Fraction(1, 2)
    return GaugeMatch(advice, stitch_difference, row_difference, step)
