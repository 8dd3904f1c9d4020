"""Least squares in exact fractions: nothing is lost, however nasty the numbers.

Ordinary formulas of linear regression (NIST/SEMATECH e-Handbook of Statistical Methods 4.4.3); the
normal equations that ruin a float computation are harmless for fractions, so that the certified
values of the NIST Statistical Reference Datasets come out to their last digit. A float stands for
the decimal that it prints as: 0.1 is one tenth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

Number: TypeAlias = int | float | Fraction | Decimal


def exact(number: Number) -> Fraction:
    """Return the number as a fraction; a float as the shortest decimal that prints the same."""
    return Fraction(repr(number)) if isinstance(number, float) else Fraction(number)


@dataclass(frozen=True, slots=True)
class Fit:
    """A least-squares fit of y = sum of coefficient * regressor, all in exact fractions.

    With an intercept it is the first coefficient. `inverse` is the inverse of X'X. The model's sum
    of squares is about the mean with an intercept and about zero without one, as in the NIST
    certificates.
    """

    coefficients: tuple[Fraction, ...]
    inverse: tuple[tuple[Fraction, ...], ...]
    count: int
    has_intercept: bool
    residual_squares: Fraction
    model_squares: Fraction

    @property
    def df(self) -> int:
        """Degrees of freedom of the residuals."""
        return self.count - len(self.coefficients)

    @property
    def residual_sd(self) -> float:
        """Residual standard deviation; nan without degrees of freedom."""
        return root(self.residual_variance) if self.df > 0 else math.nan

    @property
    def residual_variance(self) -> Fraction:
        """Residual mean square; raises ZeroDivisionError without degrees of freedom."""
        return self.residual_squares / self.df

    @property
    def coefficient_sds(self) -> tuple[float, ...]:
        """Standard deviations of the coefficients; nan without degrees of freedom."""
        if self.df == 0:
            return (math.nan,) * len(self.coefficients)
        return tuple(
            root(self.residual_variance * self.inverse[place][place])
            for place in range(len(self.coefficients))
        )

    @property
    def r_squared(self) -> float:
        """Share of the (un)centred total sum of squares that the model explains."""
        total = self.model_squares + self.residual_squares
        return float(self.model_squares / total) if total else math.nan

    @property
    def f_statistic(self) -> float:
        """Model mean square over residual mean square; inf when the fit is exact."""
        model_df = len(self.coefficients) - self.has_intercept
        if self.residual_squares == 0 or model_df == 0 or self.df == 0:
            return math.inf if self.model_squares else math.nan
        return float(self.model_squares / model_df / self.residual_variance)


def root(value: Fraction) -> float:
    """Return the square root of a fraction that may be too large or too small for a float."""
    if value <= 0:
        return 0.0
    shift = (value.numerator.bit_length() - value.denominator.bit_length()) // 2
    scale = Fraction(2) ** (2 * shift)
    return math.ldexp(math.sqrt(value / scale), shift)


def least_squares(
    regressors: Sequence[Sequence[Number]], values: Sequence[Number], *, intercept: bool = True
) -> Fit:
    """Fit `values` by the rows of `regressors` (one row per value), exactly.

    Raises ValueError if the lengths differ, there are fewer values than coefficients, or the
    regressors do not determine the coefficients.
    """
    if len(regressors) != len(values):
        raise ValueError("Every value needs its own row of regressors.")
    ones = (Fraction(1),) if intercept else ()
    rows = [(*ones, *(exact(number) for number in row)) for row in regressors]
    wanted = [exact(number) for number in values]
    size = len(rows[0]) if rows else 0
    if size == 0 or len(rows) < size or any(len(row) != size for row in rows):
        raise ValueError("There are too few values for the coefficients.")
    products = [
        [sum((row[i] * row[j] for row in rows), Fraction(0)) for j in range(size)]
        for i in range(size)
    ]
    moments = [
        sum((row[i] * value for row, value in zip(rows, wanted, strict=True)), Fraction(0))
        for i in range(size)
    ]
    inverse = _invert(products)
    found = tuple(
        sum((entry * moment for entry, moment in zip(line, moments, strict=True)), Fraction(0))
        for line in inverse
    )
    residual = sum(
        (
            (value - sum((b * x for b, x in zip(found, row, strict=True)), Fraction(0))) ** 2
            for row, value in zip(rows, wanted, strict=True)
        ),
        Fraction(0),
    )
    centre = sum(wanted, Fraction(0)) / len(wanted) if intercept else Fraction(0)
    total = sum(((value - centre) ** 2 for value in wanted), Fraction(0))
    return Fit(
        coefficients=found,
        inverse=tuple(tuple(line) for line in inverse),
        count=len(wanted),
        has_intercept=intercept,
        residual_squares=residual,
        model_squares=total - residual,
    )


def _invert(matrix: list[list[Fraction]]) -> list[list[Fraction]]:
    """Return the inverse by Gauss and Jordan; exact, so any pivot that is not zero will do."""
    size = len(matrix)
    work = [[*row, *(Fraction(int(i == j)) for j in range(size))] for i, row in enumerate(matrix)]
    for column in range(size):
        pivot = next((r for r in range(column, size) if work[r][column]), None)
        if pivot is None:
            raise ValueError("These regressors do not determine the coefficients.")
        work[column], work[pivot] = work[pivot], work[column]
        lead = work[column][column]
        work[column] = [entry / lead for entry in work[column]]
        for other in range(size):
            factor = work[other][column]
            if other != column and factor:
                work[other] = [
                    entry - factor * base
                    for entry, base in zip(work[other], work[column], strict=True)
                ]
    return [row[size:] for row in work]
