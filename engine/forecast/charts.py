"""Control charts of the textbooks: tabular CUSUM, EWMA, and how long they run before they signal.

CUSUM: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3; EWMA: 6.3.2.4. Run lengths: the
integral equation of E. S. Page, Biometrika 41 (1954) 100-115, solved by Gauss and Legendre's rule;
two one-sided charts are combined by 1/ARL = 1/ARL+ + 1/ARL- (K. W. Kemp, J. R. Stat. Soc. B 23
(1961) 149-153; exact for charts that do not signal on both sides at once).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


@dataclass(frozen=True, slots=True)
class CusumStep:
    """One step of a tabular CUSUM; `signal` is +1 above, -1 below, 0 for neither."""

    high: float
    low: float
    total: float
    """Plain sum of the differences from the target."""
    signal: int
    since_high: int
    """How many steps the upper sum has been above 0: the shift began so many steps ago."""
    since_low: int


def tabular_cusum(
    values: Iterable[float], target: float, k: float, h: float, head_start: float = 0.0
) -> tuple[CusumStep, ...]:
    """Return the steps of a tabular CUSUM with allowance `k` and decision value `h`.

    `k` and `h` are in the unit of the values. The sums are not reset after a signal. `head_start`
    is where both sums begin (h/2 for a fast initial response).
    """
    if k < 0 or h <= 0:
        raise ValueError("The allowance is not negative and the decision value is positive.")
    high = low = head_start
    total, since_high, since_low = 0.0, 0, 0
    steps = []
    for value in values:
        high = max(0.0, high + value - target - k)
        low = max(0.0, low + target - k - value)
        total += value - target
        since_high = since_high + 1 if high > 0 else 0
        since_low = since_low + 1 if low > 0 else 0
        signal = 1 if high > h else (-1 if low > h else 0)
        steps.append(CusumStep(high, low, total, signal, since_high, since_low))
    return tuple(steps)


@dataclass(frozen=True, slots=True)
class EwmaStep:
    """One step of an EWMA chart with the exact limits of that step."""

    value: float
    low: float
    high: float
    signal: int


def ewma(
    values: Iterable[float], weight: float, start: float, sigma: float, width: float = 3.0
) -> tuple[EwmaStep, ...]:
    """Return the steps of an exponentially weighted moving average.

    `weight` (lambda) is that of the newest value, `start` the target, `sigma` the standard
    deviation of one value, `width` the limits in standard deviations of the average.
    """
    _check_weight(weight)
    average = start
    steps = []
    for place, value in enumerate(values, start=1):
        average = weight * value + (1 - weight) * average
        factor = weight / (2 - weight) * (1 - (1 - weight) ** (2 * place))
        reach = width * sigma * math.sqrt(factor)
        signal = 1 if average > start + reach else (-1 if average < start - reach else 0)
        steps.append(EwmaStep(average, start - reach, start + reach, signal))
    return tuple(steps)


def _check_weight(weight: float) -> None:
    if not 0 < weight <= 1:
        raise ValueError("The weight of the newest value lies above 0 and is at most 1.")


def cusum_run_length(
    k: float, h: float, shift: float = 0.0, *, two_sided: bool = True, head_start: float = 0.0
) -> float:
    """Return the average number of values until a CUSUM signals, of normal values.

    All in standard deviations of one value; `shift` is that of the mean, upwards for the one-sided
    chart.
    """
    above = _one_sided(k, h, shift, head_start)
    if not two_sided:
        return above
    return 1 / (1 / above + 1 / _one_sided(k, h, -shift, head_start))


@lru_cache(maxsize=256)
def _one_sided(k: float, h: float, shift: float, head_start: float) -> float:
    normal = NormalDist()
    nodes = [(h / 2 * (x + 1), h / 2 * w) for x, w in gauss_legendre(48)]
    points = [0.0, *(x for x, _ in nodes)]

    def equation(start: float) -> list[float]:
        """Return the weights of the unknown run lengths in L(start) = 1 + sum."""
        stays = normal.cdf(k - shift - start)
        return [stays, *(w * normal.pdf(x + k - shift - start) for x, w in nodes)]

    matrix = []
    for place, start in enumerate(points):
        row = [-value for value in equation(start)]
        row[place] += 1.0
        matrix.append([*row, 1.0])
    lengths = _solve(matrix)
    return 1 + sum(a * b for a, b in zip(equation(head_start), lengths, strict=True))


@lru_cache(maxsize=8)
def gauss_legendre(count: int) -> tuple[tuple[float, float], ...]:
    """Return the nodes and weights of Gauss and Legendre's rule on -1..1 (DLMF 3.5(v))."""
    rule = []
    for place in range(count):
        x = math.cos(math.pi * (place + 0.75) / (count + 0.5))
        derivative = 1.0
        for _ in range(100):
            before, value = 1.0, x
            for n in range(2, count + 1):
                before, value = value, ((2 * n - 1) * x * value - (n - 1) * before) / n
            derivative = count * (x * value - before) / (x * x - 1)
            step = value / derivative
            x -= step
            if abs(step) < 1e-15:  # noqa: PLR2004 (the last bit of a float)
                break
        rule.append((x, 2 / ((1 - x * x) * derivative**2)))
    return tuple(rule)


def _solve(rows: Sequence[list[float]]) -> list[float]:
    """Solve a small linear system; each row carries its right-hand side at the end."""
    work = [list(row) for row in rows]
    size = len(work)
    for column in range(size):
        pivot = max(range(column, size), key=lambda place: abs(work[place][column]))
        work[column], work[pivot] = work[pivot], work[column]
        for other in range(column + 1, size):
            factor = work[other][column] / work[column][column]
            if factor:
                for at in range(column, size + 1):
                    work[other][at] -= factor * work[column][at]
    found = [0.0] * size
    for place in reversed(range(size)):
        rest = sum(work[place][at] * found[at] for at in range(place + 1, size))
        found[place] = (work[place][size] - rest) / work[place][place]
    return found
