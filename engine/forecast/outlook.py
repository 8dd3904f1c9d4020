"""The chance that the piece is long enough after so many rows, seen from the row being worked."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.forecast.evidence import Evidence, Guess, Probe

if TYPE_CHECKING:
    from engine.fabric import Fabric
    from engine.forecast.growth import Growth
    from engine.forecast.habits import Hand

_FARTHEST_AHEAD: Final = 1.0
"""A trend is believed to go on for so many times the rows done."""
_TINY: Final = 1e-12
_erfc, _sqrt = math.erfc, math.sqrt


@dataclass(frozen=True, slots=True)
class _Run:
    """Rows from `start` (after the row of the question) in one regime, under one guess.

    The length is `cm` + rows * `per_row`; `variances` are those of the sum by powers of the rows.
    """

    start: int
    cm: float
    per_row: float
    variances: tuple[float, float, float]
    row_cm: float


@dataclass(frozen=True, slots=True)
class View:
    """The rows to come under one guess, which has a share of `weight`."""

    weight: float
    hand: Hand
    runs: tuple[_Run, ...]

    def moments(self, rows: float) -> tuple[float, float]:
        """Return mean and standard deviation of the length `rows` rows from now, in cm."""
        run = self.runs[0]
        for later in self.runs[1:]:
            if later.start > rows:
                break
            run = later
        far = rows - run.start
        zero, one, two = run.variances
        variance = zero + far * (one + far * two)
        variance += run.row_cm**2 * yet_to_come(self.hand, rows)
        return run.cm + far * run.per_row, math.sqrt(max(variance, 0.0) + _TINY)


def yet_to_come(hand: Hand, rows: float) -> float:
    """Return the variance, in row heights squared, that `rows` rows to come add to the length."""
    return hand.uneven**2 * rows + hand.walk**2 * rows**3 / 3


class Outlook:
    """The length in the state of the target, any number of rows from now; a weighted mixture."""

    def __init__(
        self,
        evidence: Evidence,
        row_now: int,
        fabric: Fabric,
        mark: int = 0,
        target_cm: float = 0.0,
    ) -> None:
        """Weigh the guesses by how well they foresaw the measurements.

        It is made to be right about `target_cm`, measured from row `mark`.
        """
        growth = evidence.growth
        starts, probes = _probes(growth, row_now, fabric, mark)
        ahead = (target_cm - growth.expected_cm(row_now, fabric, mark)) / growth.row_cm
        ahead = max(0.0, min(ahead, _FARTHEST_AHEAD * row_now))
        guesses = evidence.foresee(probes, 0.0 if mark else 1.0, ahead)
        self.views = tuple(
            View(
                guess.weight,
                guess.hand,
                tuple(
                    _run(start, row_cm, guess, 2 * place)
                    for place, (start, row_cm) in enumerate(starts)
                ),
            )
            for guess in guesses
        )
        self._starts = [start for start, _ in starts]
        self._flat = [
            (
                view.weight,
                view.hand.uneven**2,
                view.hand.walk**2,
                [(run.cm, run.per_row, run.variances, run.row_cm**2) for run in view.runs],
            )
            for view in self.views
        ]

    def chance_reached(self, target_cm: float, rows: float) -> float:
        """Return the chance that `rows` rows from now the piece is at least `target_cm` long."""
        at = max(place for place, start in enumerate(self._starts) if place == 0 or start <= rows)
        far = rows - self._starts[at]
        cube = rows * rows * rows / 3
        chance = 0.0
        # The inner loop of every forecast, so it is written out: `View.moments` says the same.
        for weight, uneven, walk, runs in self._flat:
            cm, per_row, (zero, one, two), unit = runs[at]
            variance = zero + far * (one + far * two)
            variance += unit * (uneven * rows + walk * cube)
            variance = max(variance, 0.0)  # rounding, where no measurement is like knitting
            short = target_cm - cm - far * per_row
            chance += weight * _erfc(short / _sqrt(2 * variance + _TINY))
        return 0.5 * chance

    def moments(self, rows: float) -> tuple[float, float]:
        """Return mean and standard deviation of the length `rows` rows from now, in cm."""
        parts = [(view.weight, *view.moments(rows)) for view in self.views]
        mean = sum(weight * centre for weight, centre, _ in parts)
        square = sum(weight * (sd**2 + (centre - mean) ** 2) for weight, centre, sd in parts)
        return mean, math.sqrt(square)

    def about(self, target_cm: float) -> tuple[float, float]:
        """Return roughly in how many rows the target is reached, and how far off that may be."""
        runs = self.views[0].runs
        run = next((one for one in reversed(runs) if one.cm < target_cm), runs[0])
        if run.per_row <= 0:
            return 0.0, 1.0
        rows = max(0.0, run.start + (target_cm - run.cm) / run.per_row)
        return rows, self.moments(rows)[1] / run.per_row

    def slope_g(self, quantile: float) -> float:
        """Return Fieller's g of the height of the last rows to come: (quantile * sd / mean)^2."""
        worst = 0.0
        for view in self.views:
            run = view.runs[-1]
            if run.per_row <= 0:
                return math.inf
            slope_variance = run.variances[2]
            worst += view.weight * quantile**2 * slope_variance / run.per_row**2
        return worst


def _probes(
    growth: Growth, row_now: int, fabric: Fabric, mark: int
) -> tuple[list[tuple[int, float]], list[Probe]]:
    """Return start and row height of each run to come, and two probes each.

    They are the coefficients of its length: at its start, and per row.
    """
    now = growth.span(row_now, fabric, mark)
    constant, weights = now.constant, now.weights
    starts, probes, lead = [], [], 0.0
    for regime, share in zip(growth.regimes, growth.shares, strict=True):
        if regime.end is not None and regime.end <= row_now:
            continue
        base, slope = growth.slope(regime, fabric)
        starts.append((max(0, regime.start - row_now), share * growth.row_cm))
        probes.append(Probe(now, constant, weights, 1.0, lead))
        probes.append(Probe(now, base, slope, 0.0, share))
        if regime.end is not None:
            rows = regime.end - max(row_now, regime.start)
            constant += rows * base
            weights = [old + rows * new for old, new in zip(weights, slope, strict=True)]
            lead += rows * share
    return starts, probes


def _run(start: int, row_cm: float, guess: Guess, at: int) -> _Run:
    (zero, both), (_, one) = (row[at : at + 2] for row in guess.covariances[at : at + 2])
    return _Run(start, guess.means[at], guess.means[at + 1], (zero, 2 * both, one), row_cm)
