"""A Gaussian belief about a few numbers, updated one measurement at a time (a Kalman filter).

R. E. Kalman, "A new approach to linear filtering and prediction problems", J. Basic Eng. 82
(1960) 35-45. Plain lists of floats: there are about ten numbers and few measurements, so that an
array library would cost more than it saves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from operator import mul


@dataclass(slots=True)
class Belief:
    """Means and covariances of the unknown numbers; `log_likelihood` of all that was observed."""

    mean: list[float]
    covariance: list[list[float]]
    log_likelihood: float = 0.0

    @classmethod
    def independent(cls, means: list[float], deviations: list[float]) -> Belief:
        """Return a belief in which the numbers are independent, with these standard deviations."""
        size = len(means)
        covariance = [[0.0] * size for _ in range(size)]
        for place, deviation in enumerate(deviations):
            covariance[place][place] = deviation * deviation
        return cls(list(means), covariance)

    def copy(self) -> Belief:
        """Return a copy that can be changed by itself."""
        return Belief(list(self.mean), [list(row) for row in self.covariance], self.log_likelihood)

    def expect(self, weights: list[float]) -> tuple[float, float]:
        """Return mean and variance of the weighted sum of the numbers."""
        mean = sum(map(mul, weights, self.mean))
        return mean, max(self.covary(weights, weights), 0.0)

    def covary(self, left: list[float], right: list[float]) -> float:
        """Return the covariance of two weighted sums of the numbers."""
        return math.fsum(
            weight * sum(map(mul, right, row))
            for weight, row in zip(left, self.covariance, strict=True)
            if weight
        )

    def observe(self, weights: list[float], value: float, variance: float) -> None:
        """Learn that the weighted sum was measured as `value`, with an error of `variance` > 0."""
        gain = [sum(map(mul, weights, row)) for row in self.covariance]
        total = variance + sum(map(mul, weights, gain))
        surprise = value - sum(map(mul, weights, self.mean))
        for place, row in enumerate(self.covariance):
            share = gain[place] / total
            if share:
                self.mean[place] += share * surprise
                row[:] = [old - share * other for old, other in zip(row, gain, strict=True)]
        self.log_likelihood -= 0.5 * (math.log(2 * math.pi * total) + surprise * surprise / total)

    def grow(self, target: int, source: int, factor: float) -> None:
        """Add `factor` times number `source` to number `target`."""
        self.mean[target] += factor * self.mean[source]
        size = range(len(self.mean))
        source_row = self.covariance[source]
        target_row = self.covariance[target]
        for at in size:
            target_row[at] += factor * source_row[at]
        for at in size:
            row = self.covariance[at]
            row[target] += factor * row[source]

    def remember(self, target: int, source: int) -> None:
        """Make number `target` a copy of what number `source` is now."""
        self.mean[target] = self.mean[source]
        for row in self.covariance:
            row[target] = row[source]
        self.covariance[target] = list(self.covariance[source])
        self.covariance[target][target] = self.covariance[source][source]
