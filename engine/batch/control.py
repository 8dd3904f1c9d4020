"""
The individuals and moving-range chart of one maker's pieces, with its limits and run rules.

Formulas and rules: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (limits) and 6.3.2 (the
rules of Western Electric, Statistical Quality Control Handbook, 1956). The constants are those of
ranges of two: d2 = 1.128, D4 = 3.267 (in print everywhere, ASTM E2587 among others).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import fmean
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

FEWEST: Final = 20
"""Below so many pieces of one maker there are tolerances only (common practice, no source)."""
_D2: Final = 1.128
_D4: Final = 3.267
_FEWEST_STEPS: Final = 4
"""So many steps of the ruler should fit under the limit of the ranges, else rounding alone makes
the limits (D. J. Wheeler on inadequate measurement units; from memory)."""


class Rule(StrEnum):
    """Why a piece is told: the rules of Western Electric, and a range above its own limit."""

    BEYOND_LIMIT = "beyond_limit"
    TWO_OF_THREE = "two_of_three"
    FOUR_OF_FIVE = "four_of_five"
    EIGHT_ON_ONE_SIDE = "eight_on_one_side"
    RANGE = "range"


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule that is broken at the piece in `place` (0-based)."""

    place: int
    rule: Rule


@dataclass(frozen=True, slots=True)
class IndividualsChart:
    """
    Centre and limits of single values and of the ranges between neighbours, in their unit.

    `sigma` is the standard deviation that the mean range stands for. `coarse`: the values were
    read in steps so coarse that the limits say nothing; then there are no signals.
    """

    centre: float
    sigma: float
    low: float
    high: float
    mean_range: float
    range_high: float
    ranges: tuple[float, ...]
    signals: tuple[Signal, ...]
    coarse: bool


def individuals(values: Sequence[float]) -> IndividualsChart:
    """
    Return the chart of values in the order in which they were made.

    Raises:
        ValueError: there are fewer than two.

    """
    if len(values) < 2:  # noqa: PLR2004 (a range has two ends)
        raise ValueError("A chart of single values needs at least two.")
    ranges = tuple(abs(after - before) for before, after in pairwise(values))
    centre, mean_range = fmean(values), fmean(ranges)
    sigma = mean_range / _D2
    coarse = _coarse(values, _D4 * mean_range)
    signals = () if coarse else _signals(values, centre, sigma, ranges, _D4 * mean_range)
    return IndividualsChart(
        centre,
        sigma,
        centre - 3 * sigma,
        centre + 3 * sigma,
        mean_range,
        _D4 * mean_range,
        ranges,
        signals,
        coarse,
    )


def _coarse(values: Sequence[float], range_high: float) -> bool:
    ordered = sorted(set(values))
    steps = [round(after - before, 9) for before, after in pairwise(ordered)]
    return not steps or range_high < _FEWEST_STEPS * min(steps)


def _signals(
    values: Sequence[float],
    centre: float,
    sigma: float,
    ranges: Sequence[float],
    range_high: float,
) -> tuple[Signal, ...]:
    away = [(value - centre) / sigma for value in values]
    found = []
    for place in range(len(values)):
        if abs(away[place]) > 3:  # noqa: PLR2004 (the limits lie at three sigma)
            found.append(Signal(place, Rule.BEYOND_LIMIT))
        found += [
            Signal(place, rule)
            for rule, many, among, beyond in _ZONES
            if _zone(away[: place + 1], many, among, beyond)
        ]
    found += [Signal(place, Rule.RANGE) for place, one in enumerate(ranges, 1) if one > range_high]
    return tuple(sorted(found, key=lambda one: (one.place, list(Rule).index(one.rule))))


_ZONES: Final = (
    (Rule.TWO_OF_THREE, 2, 3, 2.0),
    (Rule.FOUR_OF_FIVE, 4, 5, 1.0),
    (Rule.EIGHT_ON_ONE_SIDE, 8, 8, 0.0),
)
"""So many of the last so many values lie beyond so many sigma, on one side."""


def _zone(away: Sequence[float], many: int, among: int, beyond: float) -> bool:
    """Tell whether a rule is broken by the last value, which lies out itself."""
    last = away[-among:]
    if len(last) < among:
        return False
    sides: tuple[Callable[[float], bool], ...] = (
        lambda value: value > beyond,
        lambda value: value < -beyond,
    )
    return any(out(last[-1]) and sum(map(out, last)) >= many for out in sides)
