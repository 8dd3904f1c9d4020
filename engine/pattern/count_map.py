"""
What a row does to the number of stitches, as a partial map n -> (a*n + b) / q.

A map is defined for n >= least with n = remainder (mod modulus), or for one single n. Maps compose
and take powers, so the count after twenty million rows of a repeat needs no expanding. The domain
says exactly for which counts the rows can be worked.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

from engine.limits import MOST_STITCHES, spend

_MOST_BITS = 60


@dataclass(frozen=True, slots=True)
class CountMap:
    """
    n -> (a*n + b) / q where n >= `least` and n % `modulus` == `remainder`.

    `only` (not None) is the one n for which the map is defined. All numbers are whole, a >= 0,
    q >= 1; where the map is defined its value is whole and not negative.
    """

    a: int = 1
    b: int = 0
    q: int = 1
    least: int = 0
    modulus: int = 1
    remainder: int = 0
    only: int | None = None

    @property
    def somewhere(self) -> bool:
        """Whether the map is defined for any number of stitches."""
        return self.least <= MOST_STITCHES

    def fits(self, n: int) -> bool:
        """Whether the rows can be worked on n stitches."""
        if self.only is not None and n != self.only:
            return False
        return self.least <= n <= MOST_STITCHES and n % self.modulus == self.remainder

    def __call__(self, n: int) -> int | None:
        """Return how many stitches are left after the rows, or None if they do not fit."""
        spend()
        if not self.fits(n):
            return None
        return (self.a * n + self.b) // self.q

    def then(self, after: CountMap) -> CountMap:
        """Return the map of these rows followed by others."""
        spend()
        if not (self.somewhere and after.somewhere):
            return NOWHERE
        if self.only is not None:
            middle = self(self.only)
            end = after(middle) if middle is not None else None
            return NOWHERE if end is None else exactly(self.only, end)
        if after.only is not None:
            return self._then_only(after)
        domain = self._domain_into(after)
        if domain is None:
            return NOWHERE
        least, modulus, remainder = domain
        a, b, q = after.a * self.a, after.a * self.b + after.b * self.q, self.q * after.q
        common = gcd(gcd(a, b), q)
        a, b, q = a // common, b // common, q // common
        if max(a, q, modulus).bit_length() > _MOST_BITS:
            return NOWHERE
        return CountMap(a, b, q, least, modulus, remainder)

    def power(self, times: int) -> CountMap:
        """Return the map of the rows worked so many times (0: the identity)."""
        result, square = IDENTITY, self
        while times and result.somewhere:
            if times & 1:
                result = result.then(square)
            times >>= 1
            if times:
                square = square.then(square)
        return result

    def _then_only(self, after: CountMap) -> CountMap:
        if self.a == 0:
            # The value is the same for every n: either all of the domain goes on or nothing.
            end = after(self.b // self.q)
            if end is None:
                return NOWHERE
            return CountMap(0, end, 1, self.least, self.modulus, self.remainder)
        assert after.only is not None  # noqa: S101 (said by the caller)
        start, rest = divmod(after.only * self.q - self.b, self.a)
        end = after(after.only)
        if rest or not self.fits(start) or end is None:
            return NOWHERE
        return exactly(start, end)

    def _domain_into(self, after: CountMap) -> tuple[int, int, int] | None:
        """Return least, modulus and remainder of the n whose value `after` is defined for."""
        if self.a == 0:
            value = self.b // self.q
            return (self.least, self.modulus, self.remainder) if after.fits(value) else None
        # (a*n + b) / q = r2 (mod m2)   <=>   a*n = q*r2 - b (mod q*m2)
        wide = self.q * after.modulus
        common = gcd(self.a, wide)
        wanted = self.q * after.remainder - self.b
        if wanted % common:
            return None
        narrow = wide // common
        root = wanted // common * pow(self.a // common, -1, narrow) % narrow if narrow > 1 else 0
        joined = _both(self.modulus, self.remainder, narrow, root)
        if joined is None:
            return None
        modulus, remainder = joined
        least = max(self.least, -((self.b - self.q * after.least) // self.a))
        least += (remainder - least) % modulus
        return least, modulus, remainder


def _both(m1: int, r1: int, m2: int, r2: int) -> tuple[int, int] | None:
    """Return modulus and remainder of the numbers that are r1 (mod m1) and r2 (mod m2)."""
    common = gcd(m1, m2)
    if (r2 - r1) % common:
        return None
    step = m2 // common
    factor = (r2 - r1) // common * pow(m1 // common, -1, step) % step if step > 1 else 0
    modulus = m1 * step
    return modulus, (r1 + m1 * factor) % modulus


def exactly(takes: int, leaves: int) -> CountMap:
    """Return the map of a row that needs exactly so many stitches and leaves so many."""
    return CountMap(0, leaves, 1, takes, 1, 0, takes)


IDENTITY = CountMap()
NOWHERE = CountMap(least=MOST_STITCHES + 1)
