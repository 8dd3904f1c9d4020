"""Whether the yarn lasts: grams left on a kitchen scale against the rows still to knit.

What is left and what a row takes are the two unknown numbers of a Gaussian belief; every weighing
is a measurement of the first with the error of the scale. A row of a small piece weighs half a
gram, so on a scale of 1 g only several weighings, some rows apart, tell much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from engine.forecast.belief import Belief

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_LEFT, _PER_ROW = 0, 1
_UNEVEN: Final = 0.07  # of the yarn of n rows this times their root, in rows; no source
_SCALE_EXTRA: Final = 0.25  # a scale is a quarter of a step off besides its rounding; no source
_WIDTHS_PER_ROW: Final = 4.0  # yarn in a plain row over its width: Munden's Kw
_WIDTHS_FOR_BIND_OFF: Final = 4.0  # common practice, no source
_END_CM: Final = 30.0  # common practice, no source
_KEPT_ERROR: Final = 0.06  # of the yarn kept back
_STEPS_WORTH_WEIGHING: Final = 5
_SURE: Final = 0.99


@dataclass(frozen=True, slots=True)
class Weighing:
    """After `row` rows the yarn that is left weighed `grams` (all balls still to be knitted)."""

    row: int
    grams: float


@dataclass(frozen=True, slots=True)
class YarnPerRow:
    """Grams per row known beforehand, with the relative standard deviation of the estimate."""

    grams: float
    spread: float


@dataclass(frozen=True, slots=True)
class YarnForecast:
    """What the yarn is good for.

    `chance` that it lasts for the rows needed and what is kept back; it reaches for `low` to
    `high` more rows (90 %), `best` the middle, with bind-off and end kept back.
    """

    chance: float
    low: int
    high: int
    best: int
    grams_left: float
    grams_per_row: float
    weigh_again_at: int | None


class WeighFirst(StrEnum):
    """Why nothing can be said of the yarn yet."""

    NEVER_WEIGHED = "never_weighed"
    WEIGH_AGAIN = "weigh_again"
    """Weighed once, and nobody knows what a row takes."""
    SCALE_TOO_COARSE = "scale_too_coarse"
    """Less was used than the scale can tell."""


@dataclass(frozen=True, slots=True)
class CannotTell:
    """Nothing honest can be said of the yarn; weigh (again) at `weigh_at`."""

    reason: WeighFirst
    weigh_at: int


def rows_kept_back(width_cm: float) -> float:
    """Return the yarn to keep back for bind-off and end, counted in rows of stockinette.

    Four times the width for the bind-off and 30 cm for the end; a row takes four times the width.
    """
    if width_cm <= 0:
        raise ValueError("A piece has some width.")
    return (_WIDTHS_FOR_BIND_OFF * width_cm + _END_CM) / (_WIDTHS_PER_ROW * width_cm)


def yarn_lasts(
    weighings: Sequence[Weighing],
    row_now: int,
    rows_needed: tuple[int, int],
    *,
    resolution_g: float = 1.0,
    kept_back_rows: float = 2.0,
    known: YarnPerRow | None = None,
    work: Callable[[int], float] | None = None,
) -> YarnForecast | CannotTell:
    """Return the chance that the yarn lasts, or what to weigh first.

    `rows_needed` is the interval of rows still to knit (the same twice if the pattern says it).
    `work(n)` is the yarn of the first n rows counted in usual rows, for shaped pieces (default: n).
    Weighings beyond `row_now` are set aside; `kept_back_rows` as from `rows_kept_back`.
    """
    if resolution_g <= 0 or rows_needed[0] > rows_needed[1]:
        raise ValueError("A scale has a resolution, and an interval a lower and an upper end.")
    done = work or float
    kept = sorted((w for w in weighings if w.row <= row_now), key=lambda weighing: weighing.row)
    if not kept:
        return CannotTell(WeighFirst.NEVER_WEIGHED, row_now)
    guess = _guess_per_row(kept, known, done)
    if guess is None:
        ahead = _rows_worth_weighing(resolution_g, None)
        reason = WeighFirst.WEIGH_AGAIN if len(kept) == 1 else WeighFirst.SCALE_TOO_COARSE
        return CannotTell(reason, max(row_now, kept[-1].row + ahead))
    error = resolution_g**2 * (1 / 12 + _SCALE_EXTRA**2)
    belief = _learn(kept, known, guess, error, done)
    _knit(belief, guess, done(row_now) - done(kept[-1].row))
    per_row = belief.mean[_PER_ROW]
    spread = math.sqrt(belief.covariance[_PER_ROW][_PER_ROW])
    ahead = _rows_worth_weighing(resolution_g, max(per_row, guess / 4))
    if per_row <= 0 or spread > per_row / NormalDist().inv_cdf(0.95):
        # The slope may be nothing: Fieller's g >= 1, said of yarn.
        return CannotTell(WeighFirst.SCALE_TOO_COARSE, max(row_now, kept[-1].row + ahead))

    def chance_for(more: float, kept_rows: float, spread_rows: float = 0.0) -> float:
        use = more + kept_rows
        mean, variance = belief.expect([1.0, -use])
        variance += per_row**2 * (_UNEVEN**2 * more + (_KEPT_ERROR * kept_rows) ** 2)
        variance += (per_row * spread_rows) ** 2
        return 0.5 * math.erfc(-mean / math.sqrt(2 * max(variance, 1e-12)))

    needed = [done(row_now + rows) - done(row_now) for rows in rows_needed]
    middle = sum(needed) / 2
    chance = chance_for(middle, kept_back_rows, (needed[1] - needed[0]) / 2 / 1.645)
    rows = [
        _last_row(lambda more: chance_for(more, kept_back_rows), level, row_now, done)
        for level in (0.95, 0.5, 0.05)
    ]
    left = belief.mean[_LEFT]
    soon = min(rows_needed[1], max(rows[0], 1))
    again = None
    if 1 - _SURE < chance < _SURE and soon > 1:
        again = row_now + min(max(ahead, soon // 2), soon - 1)
    return YarnForecast(chance, rows[0], rows[2], rows[1], max(0.0, left), per_row, again)


def _guess_per_row(
    weighings: Sequence[Weighing], known: YarnPerRow | None, done: Callable[[int], float]
) -> float | None:
    if known is not None:
        return known.grams
    rows = done(weighings[-1].row) - done(weighings[0].row)
    used = weighings[0].grams - weighings[-1].grams
    return used / rows if rows > 0 and used > 0 else None


def _learn(
    weighings: Sequence[Weighing],
    known: YarnPerRow | None,
    guess: float,
    error: float,
    done: Callable[[int], float],
) -> Belief:
    spread = known.grams * known.spread if known else 3 * guess
    far = 1000 * (error + guess**2) ** 0.5 + weighings[0].grams
    belief = Belief.independent([weighings[0].grams, guess], [far, spread])
    at = weighings[0].row
    for weighing in weighings:
        _knit(belief, guess, done(weighing.row) - done(at))
        at = weighing.row
        belief.observe([1.0, 0.0], weighing.grams, error)
    return belief


def _knit(belief: Belief, per_row: float, rows: float) -> None:
    if rows > 0:
        belief.grow(_LEFT, _PER_ROW, -rows)
        belief.covariance[_LEFT][_LEFT] += (per_row * _UNEVEN) ** 2 * rows


def _rows_worth_weighing(resolution_g: float, per_row: float | None) -> int:
    """Return after how many rows the scale can tell: five of its steps, ten rows if unknown."""
    if per_row is None:
        return 10
    return max(1, math.ceil(_STEPS_WORTH_WEIGHING * resolution_g / per_row))


def _last_row(
    chance: Callable[[float], float], level: float, row_now: int, done: Callable[[int], float]
) -> int:
    """Return the most rows from now for which the chance is still at least `level`."""
    start, low, high = done(row_now), 0, 1
    if chance(0.0) < level:
        return 0
    while chance(done(row_now + high) - start) >= level and high < 1_000_000:  # noqa: PLR2004
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if chance(done(row_now + middle) - start) >= level:
            low = middle
        else:
            high = middle
    return low
