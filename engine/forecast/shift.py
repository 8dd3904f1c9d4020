"""One sequential test for a change of the hand, from everything that is known of the fabric.

Every look (a length from its start, a width, stitches over a width) is the mean of the hand's
deviation from the swatch over some rows. An honest hand differs from its swatch by something, all
along, and wanders; tapes and knitters differ. All looks together are normal then, and a change from
some row on adds the same to all later rows. For each row at which it may have come Bayes' rule
gives its chance (A. N. Shiryaev, Theory Probab. Appl. 8 (1963) 22-46, from memory: the posterior
chance of a change is the statistic that finds it soonest). How far a hand wanders and how rough the
tape is are not known: several such figures stand side by side, each with the weight that the looks
give it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby, product
from operator import mul
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

_OFFSET: Final = 0.02
"""How far a hand is from its swatch in rows and stitches alike; common practice, no source."""
_OWN_OFFSET: Final = 0.017
"""... and in each of the two: half a stitch in 20 and two swatches of one hand; no source."""
_WANDERS: Final = ((0.008, 0.3), (0.016, 0.6), (0.03, 0.1))
"""How far a hand wanders, relative, and how common that is; no source."""
_MEMORIES: Final = ((5.0, 0.65), (25.0, 0.35))
"""For how many rows the wander is remembered, and the share of its variance; no source."""
_TAPES: Final = ((0.7, 0.3), (1.2, 0.6), (2.5, 0.1))
"""How rough tape and fabric are, in times of the usual, and how common that is; no source."""
_SIZE: Final = 0.07
"""Standard deviation of a change, where there is one; common practice, no source."""
_CHANGES_IN: Final = 200.0
"""In so many rows a hand changes once; common practice, no source."""
_FROM_THE_START: Final = 0.1
"""So many pieces are knitted unlike their swatch from the first row on; no source."""
_EVERY: Final = 4
"""At every fourth row a change may have come; nothing that is measured tells them apart."""
_FARTHEST: Final = 10_000
"""A change from a later row on is not looked for; no scarf is longer, and each row takes room."""
_FELT_RIGHT: Final = math.log(3.0)
_FELT_WRONG: Final = -math.log(2.0)
_FELT_AT_MOST: Final = 2
"""What "that felt tight" says for a change that way, against another way; no source."""
_FEW: Final = 0.025  # a change that is less is none


@dataclass(frozen=True, slots=True)
class Sign:
    """A look at rows `first` to `row`: `value` is their relative deviation, `error` its error.

    `across`: it is of the stitches, else of the rows. `start_error` is the error that all lengths
    from the same start share, for this one. `at`: after how many rows it was measured (0: `row`).
    """

    first: int
    row: int
    value: float
    error: float
    across: bool = False
    start_error: float = 0.0
    at: int = 0

    @property
    def seen(self) -> int:
        """After how many rows it was measured."""
        return self.at or self.row


@dataclass(frozen=True, slots=True)
class Shift:
    """`chance` that the hand has changed that way by 2.5 % or more, by `size`, `since` a row.

    `before` is the chance that the looks before the last one gave to a change that way.
    """

    chance: float
    size: float
    since: int
    before: float = 0.0


def shift(signs: Sequence[Sign], felt: Sequence[tuple[int, int]] = ()) -> Shift | None:
    """Return what the signs say of a change; None without any.

    `felt`: rows that felt tight (-1), loose (+1) or even (0).
    """
    if not signs:
        return None
    test = ShiftTest()
    for _, together in groupby(sorted(signs, key=_seen), key=_seen):
        test.look(*together)
    return test.found(felt)


def _seen(sign: Sign) -> int:
    return sign.seen


@dataclass(slots=True)
class _Figures:
    """One set of figures: the Cholesky factor of the looks, and what it makes of looks and changes.

    `changes` holds for each candidate row the whitened shape of a change from there on.
    """

    wander: float
    tape: float
    weight: float
    rows: list[list[float]]
    looks: list[float]
    changes: list[list[float]]
    log_scale: float = 0.0


class ShiftTest:
    """Takes one look after the other, in the order of their rows."""

    def __init__(self) -> None:
        """Begin with no looks."""
        self.signs: list[Sign] = []
        self.starts: list[int] = []
        self._before: Shift | None = None
        self.sets = [
            _Figures(wander, tape, math.log(a * b), [], [], [])
            for (wander, a), (tape, b) in product(_WANDERS, _TAPES)
        ]

    def look(self, *signs: Sign) -> None:
        """Take another look: what was measured after the same row."""
        self._before = self._now(()) if self.signs else None
        for sign in signs:
            self._add(sign)

    def _add(self, sign: Sign) -> None:
        candidates = [1, *range(1 + _EVERY, min(sign.row, _FARTHEST) + 1, _EVERY)]
        fresh = len(candidates) - len(self.starts)
        self.starts = candidates if fresh > 0 else self.starts
        same, wander = self._shared(sign)
        value = math.log1p(max(sign.value, -0.9))
        rows = sign.row - sign.first + 1
        shares = [min(rows, max(0, sign.row - start + 1)) / rows for start in self.starts]
        for one in self.sets:
            one.changes += [[0.0] * len(self.signs) for _ in range(max(fresh, 0))]
            self._whiten(one, sign, same, wander, value, shares)
        self.signs.append(sign)

    def _shared(self, sign: Sign) -> tuple[list[float], list[float]]:
        """Return the covariances with the looks before and itself: of what stays, of the wander."""
        same, wander = [], []
        for other in (*self.signs, sign):
            both = _OFFSET**2 + (_OWN_OFFSET**2 if other.across == sign.across else 0.0)
            if not sign.across and not other.across:
                both += sign.start_error * other.start_error
            same.append(both)
            wander.append(_wandering(other.first, other.row, sign.first, sign.row))
        return same, wander

    @staticmethod
    def _whiten(
        one: _Figures,
        sign: Sign,
        same: Sequence[float],
        wander: Sequence[float],
        value: float,
        shares: Sequence[float],
    ) -> None:
        """Put another row under the Cholesky factor, and whiten look and changes by it."""
        square = one.wander**2
        row: list[float] = []
        for place, factor in enumerate(one.rows):
            here = same[place] + square * wander[place]
            row.append((here - sum(map(mul, row, factor))) / factor[-1])
        left = same[-1] + square * wander[-1] + (one.tape * sign.error) ** 2
        pivot = math.sqrt(max(left - sum(map(mul, row, row)), 1e-10))
        one.looks.append((value - sum(map(mul, row, one.looks))) / pivot)
        for change, share in zip(one.changes, shares, strict=True):
            change.append((share - sum(map(mul, row, change))) / pivot)
        row.append(pivot)
        one.rows.append(row)
        one.log_scale += math.log(pivot)

    def found(self, felt: Sequence[tuple[int, int]] = ()) -> Shift:
        """Return what the looks up to now say, and what those before the last one said."""
        now, before = self._now(felt), self._before
        if before is None or before.size * now.size <= 0:
            return now
        return replace(now, before=before.chance)

    def _now(self, felt: Sequence[tuple[int, int]]) -> Shift:
        cases = list(self._cases(felt))
        best = max(case[0] for case in cases)
        weighed = [(math.exp(case[0] - best), *case[1:]) for case in cases]
        total = sum(weight for weight, *_ in weighed)
        up = down = size_up = size_down = 0.0
        rows_up: dict[int, float] = {}
        rows_down: dict[int, float] = {}
        for weight, start, mean, deviation in weighed:
            if start == 0 or weight < 1e-9 * total:
                continue
            above = weight * _beyond((mean - _FEW) / deviation)
            below = weight * _beyond((-mean - _FEW) / deviation)
            up, down = up + above, down + below
            size_up, size_down = size_up + above * mean, size_down + below * mean
            rows_up[start] = rows_up.get(start, 0.0) + above
            rows_down[start] = rows_down.get(start, 0.0) + below
        chance, size, rows = (up, size_up, rows_up) if up >= down else (down, size_down, rows_down)
        if chance <= 0:
            return Shift(0.0, 0.0, 1)
        return Shift(chance / total, size / chance, max(rows, key=lambda start: rows[start]))

    def _cases(self, felt: Sequence[tuple[int, int]]) -> list[tuple[float, int, float, float]]:
        """Return for no change (0) and each row where it may have come: weight, size, error."""
        last = max(sign.row for sign in self.signs)
        hazard = _EVERY / _CHANGES_IN
        none = max(0.2, 1 - _FROM_THE_START - hazard * len(self.starts))
        cases = []
        for one in self.sets:
            plain = one.weight - 0.5 * sum(map(mul, one.looks, one.looks)) - one.log_scale
            cases.append((plain + math.log(none), 0, 0.0, 1.0))
            for start, change in zip(self.starts, one.changes, strict=True):
                much, along = sum(map(mul, change, change)), sum(map(mul, change, one.looks))
                if much <= 0 or start > last:
                    continue
                room = 1 + _SIZE**2 * much
                mean = _SIZE**2 * along / room
                weight = plain + 0.5 * (along * mean - math.log(room))
                weight += math.log(_FROM_THE_START if start == 1 else hazard)
                cases.append(
                    (weight + _felt(felt, start, mean), start, mean, _SIZE / math.sqrt(room))
                )
        return cases


def _felt(felt: Sequence[tuple[int, int]], start: int, size: float) -> float:
    """Return what the remarks since a row say for a change of that size."""
    since = [way for row, way in felt if row >= start]
    right = sum(way * size > 0 for way in since)
    wrong = len(since) - right
    return min(right, _FELT_AT_MOST) * _FELT_RIGHT + min(wrong, _FELT_AT_MOST) * _FELT_WRONG


def _beyond(deviations: float) -> float:
    return 0.5 * math.erfc(-deviations / math.sqrt(2))


@lru_cache(maxsize=1 << 15)
def _wandering(a: int, b: int, c: int, d: int) -> float:
    """Return the covariance of the mean wander over rows a to b and c to d, of variance 1."""
    total = 0.0
    for memory, share in _MEMORIES:
        rho = math.exp(-1 / memory)
        summed = (
            _sum(rho, b, d) - _sum(rho, a - 1, d) - _sum(rho, b, c - 1) + _sum(rho, a - 1, c - 1)
        )
        total += share * summed
    return total / ((b - a + 1) * (d - c + 1))


def _sum(rho: float, x: int, y: int) -> float:
    """Return the sum of rho to the power of r - s, r to x and s to y, in closed form."""
    x, y = min(x, y), max(x, y)
    if x <= 0:
        return 0.0
    rest = 1 - rho
    square = x * (1 + rho) / rest - 2 * rho * (1 - rho**x) / rest**2
    return square + (1 - rho**x) / rest * rho * (1 - rho ** (y - x)) / rest
