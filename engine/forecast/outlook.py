"""The chance that the piece is long enough after so many rows, seen from the row being worked."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.forecast.growth import HABITS, Growth, Habits, lapse_variance

if TYPE_CHECKING:
    from engine.fabric import Fabric
    from engine.forecast.belief import Belief


@dataclass(frozen=True, slots=True)
class _Run:
    """Rows from `start` (after the row of the question) in one regime, under one set of habits."""

    start: int
    cm: float
    per_row: float
    variance: float
    cross: float
    slope_variance: float
    height: float


@dataclass(frozen=True, slots=True)
class _View:
    weight: float
    habits: Habits
    runs: tuple[_Run, ...]

    def moments(self, rows: float) -> tuple[float, float]:
        """Return mean and standard deviation of the length `rows` rows from now, in cm."""
        run = self.runs[0]
        for later in self.runs[1:]:
            if later.start > rows:
                break
            run = later
        far = rows - run.start
        variance = run.variance + far * (2 * run.cross + far * run.slope_variance)
        variance += run.height**2 * lapse_variance(self.habits, rows)
        return run.cm + far * run.per_row, math.sqrt(max(variance, 1e-12))


class Outlook:
    """The length in the state of the target, any number of rows from now; a weighted mixture."""

    def __init__(self, growth: Growth, row_now: int, fabric: Fabric, mark: int = 0) -> None:
        """Weigh the settings of habits by how well they foresaw the measurements."""
        learnt = [(habits, growth.learn(habits, row_now)) for habits in HABITS]
        best = max(belief.log_likelihood for _, belief in learnt)
        weights = [
            habits.weight * math.exp(belief.log_likelihood - best) for habits, belief in learnt
        ]
        total = sum(weights)
        likeliest = max(range(len(weights)), key=weights.__getitem__)
        self.habits, self.belief = learnt[likeliest]
        self.views = tuple(
            _View(weight / total, habits, _runs(growth, belief, row_now, fabric, mark))
            for weight, (habits, belief) in zip(weights, learnt, strict=True)
            if weight > 0.01 * total
        )

    def chance_reached(self, target_cm: float, rows: float) -> float:
        """Return the chance that `rows` rows from now the piece is at least `target_cm` long."""
        chance, total = 0.0, 0.0
        for view in self.views:
            mean, deviation = view.moments(rows)
            chance += view.weight * 0.5 * math.erfc((target_cm - mean) / deviation / math.sqrt(2))
            total += view.weight
        return chance / total

    def moments(self, rows: float) -> tuple[float, float]:
        """Return mean and standard deviation of the length `rows` rows from now, in cm."""
        parts = [(view.weight, *view.moments(rows)) for view in self.views]
        total = sum(weight for weight, _, _ in parts)
        mean = sum(weight * centre for weight, centre, _ in parts) / total
        square = sum(weight * (sd**2 + (centre - mean) ** 2) for weight, centre, sd in parts)
        return mean, math.sqrt(square / total)

    def slope_g(self, quantile: float) -> float:
        """Return Fieller's g of the height of the last rows to come: (quantile * sd / mean)^2."""
        worst = 0.0
        for view in self.views:
            run = view.runs[-1]
            if run.per_row <= 0:
                return math.inf
            worst += view.weight * quantile**2 * run.slope_variance / run.per_row**2
        return worst / sum(view.weight for view in self.views)


def _runs(
    growth: Growth, belief: Belief, row_now: int, fabric: Fabric, mark: int
) -> tuple[_Run, ...]:
    constant, weights = growth.length(row_now, fabric, mark)
    found = []
    for regime in growth.regimes:
        if regime.end is not None and regime.end <= row_now:
            continue
        start = max(0, regime.start - row_now)
        base, slope = growth.slope(regime, fabric)
        length, variance = belief.expect(weights)
        per_row, slope_variance = belief.expect(slope)
        found.append(
            _Run(
                start=start,
                cm=constant + length,
                per_row=base + per_row,
                variance=variance,
                cross=belief.covary(weights, slope),
                slope_variance=slope_variance,
                height=abs(base + per_row),
            )
        )
        if regime.end is not None:
            rows = regime.end - max(row_now, regime.start)
            constant += rows * base
            weights = [old + rows * new for old, new in zip(weights, slope, strict=True)]
    return tuple(found)
