"""How fast the work goes, and how many hours of knitting are left.

Only knitting hours: when a piece is finished by the clock depends on meals, children and sleep.
Every telling of rows is one observation of the time that their work took. The logarithm of the pace
is a level with a slope, which wander a little from row to row, and an offset of each sitting (a
structural model, followed by the filter of R. E. Kalman 1960). How far it wanders, how unlike two
rows are, how late they are told and how many hold a pause is not known: several such figures stand
side by side, each with the weight that the tellings give it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise, product
from statistics import NormalDist, median
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from engine.forecast.values import RowsLeft

_FEWEST: Final = 3
_MANY: Final = 120
"""So many of the last tellings tell the pace."""
_LATELY: Final = 40
"""The usual time of a row is the middle one of so many tellings: a pause does not move it."""
_UNLIKE: Final = ((0.07, 0.4), (0.15, 0.4), (0.35, 0.2))
"""By how much the time of one row is off, relative, and how common that is; no source."""
_LATE: Final = ((0.0, 0.6), (0.4, 0.4))
"""By how many rows' time a telling is late, and how common that is; no source."""
_CHANGE: Final = (((0.0, 0.001), 0.3), ((0.025, 0.001), 0.3), ((0.0, 0.003), 0.4))
"""How far the pace wanders in a sitting (each row, times the root of the rows), and how steep its
slope over all sittings may be, each row; how common that is; no source."""
_WANDER: Final = 0.004  # ... and from sitting to sitting
_PAUSING: Final = ((0.03, 0.6), (0.15, 0.4))
"""How many rows hold a pause, and how common that is; common practice, no source."""
_SITTING: Final = 0.1
"""How far the pace of one sitting is from that of another; common practice, no source."""
_SITTING_ROWS: Final = 25.0
_SITTING_GAP_S: Final = 3600.0  # who comes back after an hour sits down anew
_PAUSE_S: Final = (20.0, 7200.0)
"""A pause is so long, every order of magnitude as common; common practice, no source."""
_PAUSES: Final = ((0.05, 0.15), (0.15, 0.5), (0.5, 1.5), (1.5, 5.0), (5.0, 1e4))
"""Pauses from the one to the other, in times of what the rows took, are taken together."""
_AT_ONCE: Final = 0.25
"""Told again within so much of a row's time, both tellings are one."""
_QUICKEST_ROW_S: Final = 5.0
"""Rows told faster than one in so many seconds were knitted before; common practice, no source."""
_FIRST_SPREAD: Final = 1.0
_REACH: Final = 1.645  # deviations to either end of an interval of 90 %
_FASTEST: Final = 6.0  # times the pace of the others: no hand is so much faster


@dataclass(frozen=True, slots=True)
class RowStamp:
    """`row` rows were done at `seconds` of the monotonic clock of one writer (process start).

    `first` is the first of the rows told with it (0: not known).
    """

    row: int
    seconds: float
    writer: str = ""
    first: int = 0


@dataclass(frozen=True, slots=True)
class _Figures:
    """One set of figures for hand and telling."""

    unlike: float
    late: float
    wander: float
    slope: float
    pausing: float


@dataclass(frozen=True, slots=True)
class _Level:
    """The logarithm of the pace under one set of figures, and the weight of the set.

    `means` of level, slope and offset of the sitting; `covariances` of level with level, slope and
    offset, of slope with slope and offset, and of offset with offset.
    """

    means: tuple[float, float, float]
    covariances: tuple[float, float, float, float, float, float]
    weight: float
    figures: _Figures

    def now(self) -> tuple[float, float]:
        """Return mean and variance of the pace in this sitting."""
        mm, _, mo, _, _, oo = self.covariances
        return self.means[0] + self.means[2], mm + 2 * mo + oo

    def over(self, rows: float) -> tuple[float, float]:
        """Return mean and variance of the mean pace over so many rows to come.

        Half a sitting is still to come of this one, the rest are others.
        """
        rows, half = max(rows, 1.0), rows / 2
        mine = min(1.0, _SITTING_ROWS / 2 / rows)
        m, s, o = self.means
        mm, ms, mo, ss, so, oo = self.covariances
        variance = mm + 2 * half * ms + 2 * mine * mo + half**2 * ss + 2 * half * mine * so
        variance += mine**2 * oo
        variance += self.figures.unlike**2 / rows + _WANDER**2 * rows / 3
        variance += self.figures.wander**2 * mine * min(rows, _SITTING_ROWS)
        variance += _SITTING**2 * (1 - mine) * min(1 - mine, _SITTING_ROWS / rows)
        # Unlike rows take longer in the mean than the middle one.
        return m + half * s + mine * o + self.figures.unlike**2 / 2, variance


@dataclass(frozen=True, slots=True)
class Pace:
    """The usual seconds per row of usual work, and the relative error of the pace of now.

    From `rows` rows, pauses left out; `levels` are what is believed of the pace.
    """

    seconds_per_row: float
    relative_error: float
    rows: int
    levels: tuple[_Level, ...] = field(default=(), compare=False, repr=False)

    def times(self, rows: float, chance: float) -> float:
        """Return the seconds per row, over so many rows to come, that a chance lies below."""
        low, high = -8.0, 8.0
        middle = math.log(self.seconds_per_row)
        spread = [(one.weight, *one.over(rows)) for one in self.levels]
        while high - low > 1e-4:  # noqa: PLR2004 (a hundredth of a per cent)
            at = (low + high) / 2
            below = sum(
                weight * 0.5 * math.erfc((mean - middle - at) / math.sqrt(2 * variance))
                for weight, mean, variance in spread
            )
            low, high = (at, high) if below < chance else (low, at)
        return self.seconds_per_row * math.exp((low + high) / 2)


@dataclass(frozen=True, slots=True)
class HoursLeft:
    """Hours of knitting still to go: between `low` and `high`, `best` the middle."""

    low: float
    high: float
    best: float


@dataclass(frozen=True, slots=True)
class _Telling:
    """Rows told together: their number, their work, the seconds since the telling before."""

    rows: int
    work: float
    seconds: float
    sitting: bool = False
    """Whether it is the first of a sitting."""


def pace(stamps: Iterable[RowStamp], work: Callable[[int], float] | None = None) -> Pace | None:
    """Return the pace of the last rows, None before three rows have been timed.

    `work(n)` is the work of the first n rows in usual rows (default: n). Rows told together
    ("three rows done") are one observation. Times of different writers are never compared, rows
    gone back over (ripped, undone) do not count.
    """
    told = _tellings(stamps, work or float)[-_MANY:]
    if sum(one.rows for one in told) < _FEWEST:
        return None
    usual = median(one.seconds / one.work for one in told[-_LATELY:])
    told = [one for one in told if one.seconds / one.work > usual / _FASTEST]
    levels = [
        _follow(told, math.log(usual), figures, weight) for figures, weight in _sets_of_figures()
    ]
    best = max(one.weight for one in levels)
    total = sum(math.exp(one.weight - best) for one in levels)
    kept = tuple(replace(one, weight=math.exp(one.weight - best) / total) for one in levels)
    nows = [(one.weight, *one.now()) for one in kept]
    middle = sum(weight * mean for weight, mean, _ in nows)
    spread = sum(weight * (variance + (mean - middle) ** 2) for weight, mean, variance in nows)
    return Pace(usual, math.sqrt(spread), sum(one.rows for one in told), kept)


def usual_row(stamps: Iterable[RowStamp]) -> float | None:
    """Return the middle time of a row in seconds, quickly; None before three rows were timed."""
    told = _tellings(stamps, float)[-_MANY:]
    if sum(one.rows for one in told) < _FEWEST:
        return None
    return median(one.seconds / one.rows for one in told)


def _sets_of_figures() -> Iterator[tuple[_Figures, float]]:
    for (unlike, a), (late, b), (change, c), (pausing, d) in product(
        _UNLIKE, _LATE, _CHANGE, _PAUSING
    ):
        yield _Figures(unlike, late, *change, pausing), math.log(a * b * c * d)


def _tellings(stamps: Iterable[RowStamp], work: Callable[[int], float]) -> list[_Telling]:
    by_writer: dict[str, list[RowStamp]] = {}
    for stamp in stamps:
        by_writer.setdefault(stamp.writer, []).append(stamp)
    found: list[_Telling] = []
    for mine in by_writer.values():
        found += _of_writer(mine, work)
    return [one for one in found if one.seconds >= _QUICKEST_ROW_S * one.rows]


def _of_writer(stamps: Sequence[RowStamp], work: Callable[[int], float]) -> list[_Telling]:
    found: list[_Telling] = []
    apart = [
        (after.seconds - before.seconds) / (after.row - before.row)
        for before, after in pairwise(stamps)
        if after.row > before.row and after.seconds > before.seconds
    ]
    soon = _AT_ONCE * median(apart) if apart else 0.0
    anew = True
    for before, after in pairwise(stamps):
        rows, seconds = after.row - before.row, after.seconds - before.seconds
        anew = anew or seconds > _SITTING_GAP_S
        if rows <= 0 or seconds < 0 or after.first not in {0, before.row + 1}:
            continue
        amount = work(after.row) - work(before.row)
        if seconds < soon * rows and found:
            last = found.pop()
            rows, amount, seconds = last.rows + rows, last.work + amount, last.seconds + seconds
            anew = last.sitting
        if seconds > 0 and amount > 0:
            found.append(_Telling(rows, amount, seconds, anew))
            anew = False
    return found


def _follow(told: Sequence[_Telling], usual: float, figures: _Figures, weight: float) -> _Level:
    """Return the level after all tellings under one set of figures."""
    # m: level, s: slope, o: offset of the sitting; then their covariances.
    m, s, o = usual, 0.0, 0.0
    mm, ms, mo, ss, so, oo = _FIRST_SPREAD**2, 0.0, 0.0, figures.slope**2, 0.0, _SITTING**2
    for one in told:
        if one.sitting:
            o, mo, so, oo = 0.0, 0.0, 0.0, _SITTING**2
        rows = one.rows
        m += rows * s
        mm += 2 * rows * ms + rows * rows * ss + _WANDER**2 * rows
        oo += figures.wander**2 * rows
        ms, mo = ms + rows * ss, mo + rows * so
        gain_m, gain_s, gain_o = mm + mo, ms + so, mo + oo
        error = figures.unlike**2 / rows + 2 * (figures.late / rows) ** 2
        surprise = math.log(one.seconds / one.work) - m - o
        seconds = max(one.seconds / math.exp(max(surprise, 0.0)), 1.0)
        move, learnt, chance = _seen(
            surprise, gain_m + gain_o, error, 1 - (1 - figures.pausing) ** rows, seconds
        )
        weight += math.log(chance)
        m, s, o = m + gain_m * move, s + gain_s * move, o + gain_o * move
        mm, ms, mo = (
            mm - learnt * gain_m**2,
            ms - learnt * gain_m * gain_s,
            mo - learnt * gain_m * gain_o,
        )
        ss, so, oo = ss - learnt * gain_s**2, so - learnt * gain_s * gain_o, oo - learnt * gain_o**2
    return _Level((m, s, o), (mm, ms, mo, ss, so, oo), weight, figures)


def _seen(
    surprise: float, variance: float, error: float, pausing: float, seconds: float
) -> tuple[float, float, float]:
    """Return by how much a surprise moves and how much it teaches, and how likely it was.

    The rows took `seconds` if they hold no pause; with one of them it took longer.
    """
    cases = [(0.0, 0.0, 1 - pausing)]
    orders = math.log(_PAUSE_S[1] / _PAUSE_S[0])
    for least, most in _PAUSES:
        low, high = max(least, _PAUSE_S[0] / seconds), min(most, _PAUSE_S[1] / seconds)
        if low < high:
            ends = math.log1p(low), math.log1p(high)
            share = pausing * math.log(high / low) / orders
            cases.append(((ends[0] + ends[1]) / 2, (ends[1] - ends[0]) ** 2 / 12, share))
    total = move = square = learnt = 0.0
    for shift, spread, share in cases:
        whole = variance + error + spread
        off = surprise - shift
        weight = share * math.exp(-off * off / (2 * whole)) / math.sqrt(2 * math.pi * whole)
        total += weight
        move += weight * off / whole
        square += weight * (off / whole) ** 2
        learnt += weight / whole
    if total < 1e-12:  # noqa: PLR2004 (so unlike that nothing can be learnt from it)
        return 0.0, 0.0, 1e-12
    move /= total
    # If it may have been a pause, which of the two it was stays open.
    return move, learnt / total - (square / total - move * move), total


def hours_left(
    rows: RowsLeft, speed: Pace, amounts: tuple[float, float, float] | None = None
) -> HoursLeft:
    """Return the knitting hours for the rows left; the error of rows and of pace are put together.

    `amounts` are the work of the least, likeliest and most rows in usual rows (default: the rows).
    The level of the interval is that of `rows`.
    """
    least, likeliest, most = amounts or (rows.low, rows.best, rows.high)
    a_row = speed.seconds_per_row
    reach = NormalDist().cdf(_REACH)
    fast, middle, slow = (speed.times(rows.best, chance) for chance in (1 - reach, 0.5, reach))
    about = likeliest * middle
    low = max(0.0, about - math.hypot((likeliest - least) * middle, likeliest * (middle - fast)))
    high = about + math.hypot((most - likeliest) * middle, likeliest * (slow - middle))
    best = min(max(likeliest * a_row, low), high)
    return HoursLeft(low / 3600, high / 3600, best / 3600)
