"""The chance that the piece is long enough after so many rows, seen from the row being worked."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.forecast.evidence import Evidence, Probe
from engine.forecast.habits import CHANGE, Hand

if TYPE_CHECKING:
    from engine.fabric import Fabric
    from engine.forecast.growth import Growth

_ROOT_2: Final = math.sqrt(2)


@dataclass(frozen=True, slots=True)
class _Run:
    """Rows from `start` (after the row of the question) in one regime, under one guess.

    The length is `cm` + rows * `per_row` + rows squared * `bend`; `variances` are those of its
    three coefficients, gathered by powers of the rows.
    """

    start: int
    cm: float
    per_row: float
    bend: float
    variances: tuple[float, float, float, float, float]
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
        zero, one, two, three, four = run.variances
        variance = zero + far * (one + far * (two + far * (three + far * four)))
        variance += run.row_cm**2 * yet_to_come(self.hand, rows)
        mean = run.cm + far * (run.per_row + far * run.bend)
        return mean, math.sqrt(max(variance, 1e-12))


def yet_to_come(hand: Hand, rows: float) -> float:
    """Return the variance, in row heights squared, that `rows` rows to come add to the length.

    Uneven rows, the walk of the hand, and the chance that it changes and nobody says so.
    """
    change, per_row = CHANGE
    return hand.uneven**2 * rows + (hand.walk**2 + per_row * change**2) * rows**3 / 3


class Outlook:
    """The length in the state of the target, any number of rows from now; a weighted mixture."""

    def __init__(
        self, growth: Growth, evidence: Evidence, row_now: int, fabric: Fabric, mark: int = 0
    ) -> None:
        """Weigh the guesses by how well they foresaw the measurements."""
        starts, probes = _probes(growth, row_now, fabric, mark)
        guesses = evidence.foresee(probes, 0.0 if mark else 1.0)
        self.views = tuple(
            View(
                guess.weight,
                guess.hand,
                tuple(
                    _run(
                        start,
                        row_cm,
                        guess.means[at : at + 3],
                        [row[at : at + 3] for row in guess.covariances[at : at + 3]],
                    )
                    for (start, row_cm), at in zip(starts, range(0, len(probes), 3), strict=True)
                ),
            )
            for guess in guesses
        )

    def chance_reached(self, target_cm: float, rows: float) -> float:
        """Return the chance that `rows` rows from now the piece is at least `target_cm` long."""
        chance = 0.0
        for view in self.views:
            mean, deviation = view.moments(rows)
            chance += view.weight * math.erfc((target_cm - mean) / deviation / _ROOT_2)
        return 0.5 * chance

    def moments(self, rows: float) -> tuple[float, float]:
        """Return mean and standard deviation of the length `rows` rows from now, in cm."""
        parts = [(view.weight, *view.moments(rows)) for view in self.views]
        mean = sum(weight * centre for weight, centre, _ in parts)
        square = sum(weight * (sd**2 + (centre - mean) ** 2) for weight, centre, sd in parts)
        return mean, math.sqrt(square)

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
    """Return start and row height of each run to come, and three probes each.

    They are the coefficients of its length: at its start, per row, and per row squared.
    """
    now = growth.span(row_now, fabric, mark)
    constant, weights = now.constant, now.weights
    starts, probes, lead = [], [], 0.0
    for regime, share in zip(growth.regimes, growth.shares, strict=True):
        if regime.end is not None and regime.end <= row_now:
            continue
        base, slope = growth.slope(regime, fabric)
        starts.append((max(0, regime.start - row_now), share * growth.row_cm))
        nothing = [0.0] * len(weights)
        probes += [
            Probe(now, constant, weights, 1.0, lead, lead**2 / 2),
            Probe(now, base, slope, 0.0, share, share * lead),
            Probe(now, 0.0, nothing, 0.0, 0.0, share**2 / 2),
        ]
        if regime.end is not None:
            rows = regime.end - max(row_now, regime.start)
            constant += rows * base
            weights = [old + rows * new for old, new in zip(weights, slope, strict=True)]
            lead += rows * share
    return starts, probes


def _run(start: int, row_cm: float, means: list[float], spread: list[list[float]]) -> _Run:
    (zero, first, second), (_, one, mixed), (_, _, two) = spread
    return _Run(start, *means, (zero, 2 * first, one + 2 * second, 2 * mixed, two), row_cm)
