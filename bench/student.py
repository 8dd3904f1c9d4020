"""Student's t distribution, to full float accuracy and without a compiled library.

Definitions: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.4; the distribution function
through the regularised incomplete beta function (NIST Digital Library of Mathematical Functions
8.17).
"""

from __future__ import annotations

import math
from functools import lru_cache

import mpmath

_DIGITS = 30


def student_cdf(value: float, df: float) -> float:
    """Return the chance that Student's t with `df` > 0 degrees of freedom is at most `value`."""
    if not df > 0:
        raise ValueError("Student's t needs more than no degrees of freedom.")
    with mpmath.workdps(_DIGITS):
        return float(_cdf(mpmath.mpf(value), mpmath.mpf(df)))


@lru_cache(maxsize=512)
def student_quantile(chance: float, df: float) -> float:
    """Return the value that Student's t with `df` > 0 stays below with the given chance.

    `df` may be infinite (the normal distribution). Raises ValueError for a chance that does not
    lie between 0 and 1, or without degrees of freedom.
    """
    if not df > 0:
        raise ValueError("Student's t needs more than no degrees of freedom.")
    if not 0 < chance < 1:
        raise ValueError("A chance lies between 0 and 1.")
    with mpmath.workdps(_DIGITS):
        if math.isinf(df):
            return float(mpmath.sqrt(2) * mpmath.erfinv(2 * mpmath.mpf(chance) - 1))
        tail = min(mpmath.mpf(chance), 1 - mpmath.mpf(chance))
        found = _upper_quantile(tail, mpmath.mpf(df))
        return float(found if chance > 0.5 else -found)


def _cdf(value: mpmath.mpf, df: mpmath.mpf) -> mpmath.mpf:
    tail = mpmath.betainc(df / 2, 0.5, 0, df / (df + value**2), regularized=True) / 2
    return 1 - tail if value > 0 else tail


def _upper_quantile(tail: mpmath.mpf, df: mpmath.mpf) -> mpmath.mpf:
    """Return t > 0 with P(T > t) = tail, by bracketing and then halving on a log scale."""
    if tail == mpmath.mpf("0.5"):
        return mpmath.mpf(0)
    low, high = mpmath.mpf(0), mpmath.mpf(1)
    while _cdf(-high, df) > tail:
        low, high = high, high * 2
    return mpmath.findroot(
        lambda value: mpmath.log(_cdf(-value, df) / tail), (low, high), solver="anderson"
    )
