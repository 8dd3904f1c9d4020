"""The straight line of the textbooks: fit, confidence and prediction interval, inverse prediction.

Fit, confidence and prediction interval: NIST/SEMATECH e-Handbook of Statistical Methods 4.4.3 and
4.5.1. Inverse prediction: E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175-185, in the notation of
B. M. Greenwell and C. M. Schubert Kabban, R Journal 6/1 (2014) 90-100, eq. 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from bench.least_squares import Fit, Number, exact, least_squares, root
from bench.student import student_quantile

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate with its lower and upper limit; `error` is the standard error behind it."""

    estimate: float
    low: float
    high: float
    error: float


@dataclass(frozen=True, slots=True)
class Unbounded:
    """Fieller's interval has no ends: the slope may be nothing at all (`g` >= 1)."""

    estimate: float
    g: float


@dataclass(frozen=True, slots=True)
class Line:
    """A fitted straight line y = intercept + slope * x (intercept 0 if it was not fitted)."""

    fit: Fit
    mean_x: Fraction
    spread_x: Fraction
    """Sum of squares of x, about its mean with an intercept and about zero without one."""

    @property
    def slope(self) -> float:
        """Rise of y for one of x."""
        return float(self.fit.coefficients[-1])

    @property
    def intercept(self) -> float:
        """Value of y at x = 0; exactly 0 without an intercept."""
        return float(self.fit.coefficients[0]) if self.fit.has_intercept else 0.0

    @property
    def slope_sd(self) -> float:
        """Standard deviation of the slope."""
        return self.fit.coefficient_sds[-1]

    @property
    def intercept_sd(self) -> float:
        """Standard deviation of the intercept; 0 without an intercept."""
        return self.fit.coefficient_sds[0] if self.fit.has_intercept else 0.0

    @property
    def residual_sd(self) -> float:
        """Residual standard deviation."""
        return self.fit.residual_sd

    @property
    def r_squared(self) -> float:
        """Share of the total sum of squares explained; uncentred without an intercept."""
        return self.fit.r_squared

    @property
    def df(self) -> int:
        """Degrees of freedom of the residuals."""
        return self.fit.df

    def at(self, x: Number) -> float:
        """Return the fitted y at `x`."""
        return float(self._at(exact(x)))

    def mean_interval(self, x: Number, level: float = 0.95) -> Interval:
        """Return the confidence interval of the mean of y at `x`."""
        return self._interval(exact(x), level, Fraction(0))

    def prediction_interval(self, x: Number, level: float = 0.95, new: int = 1) -> Interval:
        """Return the prediction interval of the mean of `new` new observations at `x`."""
        if new < 1:
            raise ValueError("A prediction is of one new observation or more.")
        return self._interval(exact(x), level, Fraction(1, new))

    def inverse_prediction(
        self, observed: Number | Sequence[Number], level: float = 0.95
    ) -> Interval | Unbounded:
        """Return the interval of the x at which the new observation(s) of y were made.

        Several observations at the same unknown x also help to estimate the scatter.
        """
        several = [observed] if isinstance(observed, Number) else list(observed)
        values = [exact(value) for value in several]
        if not values:
            raise ValueError("An inverse prediction needs an observation.")
        mean = sum(values, Fraction(0)) / len(values)
        squares = self.fit.residual_squares + sum((v - mean) ** 2 for v in values)
        return self._inverse(mean, level, squares, self.df + len(values) - 1, len(values))

    def inverse_mean(self, mean: Number, level: float = 0.95) -> Interval | Unbounded:
        """Return the interval of the x at which the *mean* of y has the given value."""
        return self._inverse(exact(mean), level, self.fit.residual_squares, self.df, None)

    # --- the sums -------------------------------------------------------------------------------

    def _at(self, x: Fraction) -> Fraction:
        slope = self.fit.coefficients[-1]
        return self.fit.coefficients[0] + slope * x if self.fit.has_intercept else slope * x

    def _leverage(self, x: Fraction) -> Fraction:
        if self.fit.has_intercept:
            return Fraction(1, self.fit.count) + (x - self.mean_x) ** 2 / self.spread_x
        return x**2 / self.spread_x

    def _interval(self, x: Fraction, level: float, new: Fraction) -> Interval:
        error = root(self._variance() * (new + self._leverage(x)))
        estimate = self._at(x)
        reach = self._quantile(level, self.df) * error
        return Interval(float(estimate), float(estimate) - reach, float(estimate) + reach, error)

    def _variance(self) -> Fraction:
        if self.df < 1:
            raise ValueError("A line through as many points as it has coefficients has no error.")
        return self.fit.residual_variance

    @staticmethod
    def _quantile(level: float, df: int) -> float:
        if not 0 < level < 1:
            raise ValueError("A level lies between 0 and 1.")
        return student_quantile((1 + level) / 2, df)

    def _inverse(
        self, mean: Fraction, level: float, squares: Fraction, df: int, new: int | None
    ) -> Interval | Unbounded:
        if df < 1:
            raise ValueError("A line through as many points as it has coefficients has no error.")
        slope = self.fit.coefficients[-1]
        if slope == 0:
            return Unbounded(math.nan, math.inf)
        base = self.fit.coefficients[0] if self.fit.has_intercept else Fraction(0)
        estimate = (mean - base) / slope
        variance = squares / df
        share = Fraction(1, new) if new else Fraction(0)
        error = root(variance * (share + self._leverage(estimate)) / slope**2)
        t = exact(self._quantile(level, df))
        g = t**2 * variance / (slope**2 * self.spread_x)
        if g >= 1:
            return Unbounded(float(estimate), float(g))
        if self.fit.has_intercept:
            centre, share = self.mean_x, share + Fraction(1, self.fit.count)
        else:
            centre = Fraction(0)
        away = estimate - centre
        middle = estimate + away * g / (1 - g)
        under_root = away**2 / self.spread_x + (1 - g) * share
        reach = float(t) * root(variance * under_root / slope**2) / float(1 - g)
        return Interval(float(estimate), float(middle) - reach, float(middle) + reach, error)


def fit_line(xs: Sequence[Number], ys: Sequence[Number], *, intercept: bool = True) -> Line:
    """Fit a straight line by least squares, exactly.

    `error` of an inverse prediction is that of the first-order (Wald) formula. Raises ValueError
    if the lengths differ or x does not vary.
    """
    fit = least_squares([(x,) for x in xs], ys, intercept=intercept)
    points = [exact(x) for x in xs]
    centre = sum(points, Fraction(0)) / len(points)
    about = centre if intercept else Fraction(0)
    spread = sum(((x - about) ** 2 for x in points), Fraction(0))
    return Line(fit, centre, spread)
