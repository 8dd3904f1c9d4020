"""How a tape errs and how a hand moves: guesses that the measurements choose between.

Nobody knows beforehand how good this tape is, nor how even this hand. So a few settings of both are
run side by side, each weighted by how well it foresaw the measurements (a hierarchical scale: the
mixture of them has heavy tails). Beside them stand surprises, of which a piece has one or none: one
reading is far off, the hand changed at some row and nobody said so, the edge is a hem or flares,
the piece never followed its swatch. The figures are common practice, no source; within it they
were chosen on simulated knitters (bench/forecast_bench.py).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from engine.forecast.growth import Span


@dataclass(frozen=True, slots=True)
class Tape:
    """One guess at the standard deviation of a measurement, in cm, and its chance beforehand."""

    error_cm: float
    chance: float


@dataclass(frozen=True, slots=True)
class Hand:
    """One guess at the hand; standard deviations, relative to a row's height.

    `uneven` of one row against the next, evenings of another tension included; `walk` of the step
    that the tension makes from one row to the next, a hand that gets looser and looser included.
    """

    uneven: float
    walk: float
    chance: float


TAPES: Final = (Tape(0.17, 0.33), Tape(0.3, 0.32), Tape(0.5, 0.22), Tape(0.9, 0.13))
HANDS: Final = (
    Hand(0.06, 0.0003, 0.68),
    Hand(0.09, 0.0012, 0.20),
    Hand(0.14, 0.0040, 0.09),
    Hand(0.20, 0.0090, 0.03),
)
STRETCH: Final = 0.006
"""A tape on soft fabric, relative to the length."""

SLIP: Final = (1.3, 0.04)
"""Standard deviation in cm of a reading that is far off, and its chance."""
EDGE: Final = (0.8, 0.12)
"""A hem, or an edge that flares or draws in: cm, and its chance."""
OTHER_HAND: Final = (0.07, 0.06)
"""A piece that never followed its swatch: relative, and its chance."""
CHANGE: Final = (0.055, 0.003)
"""A hand that changed at some row: relative (3 to 8 %), and the chance of it per row."""
TREND: Final = (0.0005, 0.12)
"""A hand that gets looser and looser, or tighter: relative per row, and its chance."""
HANG: Final = (0.02, 0.15)
"""A hanging piece that its own weight makes longer: relative at half a metre, and its chance."""
HALF_A_METRE: Final = 50.0


def uneven_part(one: Span, other: Span) -> float:
    """Return the covariance of what uneven rows add to two spans, for `uneven` 1, in rows."""
    return max(0.0, min(one.end, other.end) - max(one.start, other.start))


def walk_part(one: Span, other: Span) -> float:
    """Return the covariance of what a walk from the cast-on on adds to two spans, for `walk` 1."""
    found = _walked(one.end, other.end)
    if one.start or other.start:
        found += _walked(one.start, other.start)
        found -= _walked(one.start, other.end) + _walked(one.end, other.start)
    return found


def _walked(one: float, other: float) -> float:
    """Return the covariance of two sums of a Brownian walk, from 0 to two rows."""
    if one > other:
        one, other = other, one
    return one * one * (3 * other - one) / 6


def level_part(span: Span) -> float:
    """Return the covariance of what a walk adds to a span, and of where it is after it."""
    return (span.end * span.end - span.start * span.start) / 2


def since(span: Span, row: float) -> float:
    """Return how many usual rows of a span come after a usual row."""
    return max(0.0, span.end - max(span.start, row))
