"""Whether the yarn lasts: grams left on a kitchen scale against the work still to do.

What is left and what a row of work takes are unknown numbers of a Gaussian belief; every weighing
is a measurement of the first with the error of the scale. Weighings of one ball make a stretch; a
ball joined begins another, with its own grams and the same yarn per work. How fine the scale is,
how evenly the hand takes yarn and how far that wanders is not known either: beliefs for several
such figures stand side by side, each with the weight that the weighings give it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from engine.forecast.belief import Belief

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

Amounts = tuple[float, ...]
"""Work by kind of stitch, the swatch's stitch first, counted in usual rows."""

_LEFT, _PER_ROW = 0, 1
_SCALES: Final = ((0.1, 0.15), (0.5, 0.1), (1.0, 0.5), (2.0, 0.05), (5.0, 0.15), (10.0, 0.05))
"""Steps of a kitchen scale in grams, and how common they are; common practice, no source."""
_BALL_G: Final = 50.0
_UNEVEN: Final = ((0.03, 0.3), (0.07, 0.5), (0.18, 0.2))
"""The yarn of n rows is off by this times the root of n rows, and how common it is; no source."""
_WANDER: Final = ((0.0005, 0.5), (0.002, 0.5))
"""By how much the yarn per work changes in a row, times the root of the rows; no source."""
_OTHER_KIND: Final = 0.08  # how far another stitch is from the swatch's, relative; no source
_SCALE_EXTRA: Final = 0.25  # a scale is a quarter of a step off besides its rounding; no source
_WIDTHS_PER_ROW: Final = 4.0  # yarn in a plain row over its width: Munden's Kw
_WIDTHS_FOR_BIND_OFF: Final = 4.0  # common practice, no source
_END_CM: Final = 30.0  # common practice, no source
SWATCH_EDGES: Final = 0.9
"""Rows that cast-on and bind-off of a swatch weigh: 7 widths, where they are there; no source."""
_KEPT_ERROR: Final = 0.12  # of the yarn kept back; no source
_WOUND_BACK: Final = 0.1  # of the yarn of ripped rows nobody knows whether it is used again
_STEPS_WORTH_WEIGHING: Final = 5
_SURE: Final = 0.99
_GROWN: Final = 4.0  # deviations by which more yarn than there can be is another ball
_ZERO: Final = 1e-12


@dataclass(frozen=True, slots=True)
class YarnReading:
    """After `row` rows the yarn left weighed `grams`; `stretch` tells one ball from another.

    Weighings are given in the order of time: at a lower row than the one before, rows were ripped
    back in between.
    """

    row: int
    grams: float
    stretch: int = 0


@dataclass(frozen=True, slots=True)
class YarnPerRow:
    """Grams per usual row known beforehand, with the relative standard deviation of that."""

    grams: float
    spread: float


@dataclass(frozen=True, slots=True)
class YarnForecast:
    """What the yarn is good for.

    `chance` that it lasts for the rows needed and what is kept back; it reaches for `low` to
    `high` more rows (90 %), `best` the middle, with bind-off and end kept back. `grams_per_row` is
    that of a usual row, `grams_needed` what the rows needed and the kept back will take.
    """

    chance: float
    low: int
    high: int
    best: int
    grams_left: float
    grams_per_row: float
    weigh_again_at: int | None
    grams_needed: float = 0.0


class WeighFirst(StrEnum):
    """Why nothing can be said of the yarn yet."""

    NEVER_WEIGHED = "never_weighed"
    """Never, or not since another ball was joined."""
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


def scale_steps(grams: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Return the steps that a scale may have which said these weights, each with its chance.

    On a scale of step r every weight is a multiple of r, and there are r times fewer of them: by
    Bayes' rule each weight that is one makes the step so much likelier. Whole balls of 50 g are
    round on any scale and say nothing.
    """
    telling = sum(not _multiple(weight, _BALL_G) for weight in grams)
    found = [
        (step, prior * step**telling)
        for step, prior in _SCALES
        if all(_multiple(weight, step) for weight in grams)
    ]
    finest, prior = _SCALES[0]
    found = found or [(finest, prior)]
    total = sum(weight for _, weight in found)
    return tuple((step, weight / total) for step, weight in found if weight > 0.002 * total)


def _multiple(weight: float, step: float) -> bool:
    return abs(weight / step - round(weight / step)) < 1e-6  # noqa: PLR2004 (the error of a float)


def yarn_lasts(  # noqa: PLR0913 (what is said, what is known, and what is to come)
    weighings: Sequence[YarnReading],
    row_now: int,
    rows_needed: tuple[int, int],
    *,
    resolution_g: float | None = None,
    kept_back_rows: float = 2.0,
    known: Sequence[YarnPerRow | None] = (),
    work: Callable[[int], Amounts] | None = None,
    needed: tuple[Amounts, Amounts] | None = None,
    stretch_now: int | None = None,
) -> YarnForecast | CannotTell:
    """Return the chance that the yarn lasts, or what to weigh first.

    Args:
        weighings: in the order of time.
        row_now: the rows done.
        rows_needed: the interval of rows still to knit (the same twice if the pattern says it).
        resolution_g: the step of the scale; None: it is learnt from what was said.
        kept_back_rows: yarn for bind-off and end in usual rows, as from `rows_kept_back`.
        known: what a usual row takes by kind of stitch, from weighed swatches (None: not known).
        work: the work of the first n rows by kind of stitch (default: n usual rows of one kind).
        needed: the work of the rows needed, where it does not follow from `work`.
        stretch_now: which stretch of yarn is in the hands now (default: the one weighed last).

    """
    if (resolution_g is not None and resolution_g <= 0) or rows_needed[0] > rows_needed[1]:
        raise ValueError("A scale has a resolution, and an interval a lower and an upper end.")
    done = work or (lambda rows: (float(rows),))
    kept = _once_a_row(weighings)
    if not kept or (stretch_now is not None and kept[-1].stretch != stretch_now):
        return CannotTell(WeighFirst.NEVER_WEIGHED, row_now)
    seen = [weighing.grams for weighing in kept]
    steps = ((resolution_g, 1.0),) if resolution_g is not None else scale_steps(seen)
    likely = max(steps, key=lambda one: one[1])[0]
    guess = _guess_per_row(kept, known, done)
    if guess is None:
        ahead = _rows_worth_weighing(likely, None)
        alone = len({(one.row, one.stretch) for one in kept}) == 1
        reason = WeighFirst.WEIGH_AGAIN if alone else WeighFirst.SCALE_TOO_COARSE
        return CannotTell(reason, max(row_now, kept[-1].row + ahead))
    mixed = _Mixed([*_learnt(kept, row_now, known, guess, steps, done)])
    per_row, spread = mixed.of(_PER_ROW)
    ahead = _rows_worth_weighing(likely, max(per_row, guess / 4))
    if per_row <= 0 or spread > per_row / NormalDist().inv_cdf(0.95):
        # The slope may be nothing: Fieller's g >= 1, said of yarn.
        return CannotTell(WeighFirst.SCALE_TOO_COARSE, max(row_now, kept[-1].row + ahead))
    ends = needed or tuple(_minus(done(row_now + rows), done(row_now)) for rows in rows_needed)
    middle = tuple((low + high) / 2 for low, high in zip(*ends, strict=True))
    reach = (sum(ends[1]) - sum(ends[0])) / 2 / NormalDist().inv_cdf(0.95)
    chance = mixed.lasts(middle, kept_back_rows, reach)
    now = done(row_now)
    rows = [
        _last_row(lambda n: mixed.lasts(_minus(done(row_now + n), now), kept_back_rows), level)
        for level in (0.95, 0.5, 0.05)
    ]
    soon = min(rows_needed[1], max(rows[0], 1))
    again = None
    if 1 - _SURE < chance < _SURE and soon > 1:
        again = row_now + min(max(ahead, soon // 2), soon - 1)
    left = max(0.0, mixed.of(_LEFT)[0])
    takes = per_row * (sum(middle) + kept_back_rows)
    return YarnForecast(chance, rows[0], rows[2], rows[1], left, per_row, again, takes)


def _once_a_row(weighings: Sequence[YarnReading]) -> list[YarnReading]:
    """Return the weighings; weighed again at once, the first one was wrong."""
    kept: list[YarnReading] = []
    for one in weighings:
        if kept and (kept[-1].row, kept[-1].stretch) == (one.row, one.stretch):
            kept.pop()
        kept.append(one)
    return kept


def _minus(after: Amounts, before: Amounts) -> Amounts:
    return tuple(b - a for a, b in zip(before, after, strict=True))


def _guess_per_row(
    weighings: Sequence[YarnReading],
    known: Sequence[YarnPerRow | None],
    done: Callable[[int], Amounts],
) -> float | None:
    """Return about what a usual row takes; None if nothing tells."""
    swatched = next((one for one in known if one is not None), None)
    if swatched is not None:
        return swatched.grams
    rows = used = 0.0
    for before, after in pairwise(weighings):
        between = sum(done(after.row)) - sum(done(before.row))
        fewer = before.grams - after.grams
        if before.stretch == after.stretch and between > 0 and fewer >= 0:
            rows, used = rows + between, used + fewer
    return used / rows if rows > 0 and used > 0 else None


@dataclass(frozen=True, slots=True)
class _Hypothesis:
    """One set of figures for scale and hand, what is believed under it, and its weight."""

    belief: Belief
    weight: float
    uneven: float
    wander: float


def _learnt(
    weighings: Sequence[YarnReading],
    row_now: int,
    known: Sequence[YarnPerRow | None],
    guess: float,
    steps: Sequence[tuple[float, float]],
    done: Callable[[int], Amounts],
) -> Iterator[_Hypothesis]:
    for step, step_weight in steps:
        for uneven, uneven_weight in _UNEVEN:
            for wander, wander_weight in _WANDER:
                belief = _learn(weighings, row_now, known, guess, step, uneven, wander, done)
                weight = math.log(step_weight * uneven_weight * wander_weight)
                yield _Hypothesis(belief, weight + belief.log_likelihood, uneven, wander)


def _learn(  # noqa: PLR0917 (what is known, and the three figures of a hypothesis)
    weighings: Sequence[YarnReading],
    row_now: int,
    known: Sequence[YarnPerRow | None],
    guess: float,
    step: float,
    uneven: float,
    wander: float,
    done: Callable[[int], Amounts],
) -> Belief:
    kinds = len(done(0))
    error = step**2 * (1 / 12 + _SCALE_EXTRA**2)
    far = 100 * max(one.grams for one in weighings) + 1000 * guess
    belief = Belief.independent(
        [weighings[0].grams, guess, *[0.0] * (kinds - 1)],
        [far, 3 * guess, *[_OTHER_KIND * guess] * (kinds - 1)],
    )
    for place, swatch in enumerate(known):
        if swatch is not None:
            of_kind = [float(place == other) for other in range(1, kinds)]
            belief.observe([0.0, 1.0, *of_kind], swatch.grams, (swatch.grams * swatch.spread) ** 2)
    belief.log_likelihood = 0.0  # the swatch says nothing of the scale and of the hand's wander
    before: YarnReading | None = None
    for one in weighings:
        if before is not None:
            amounts = _minus(done(one.row), done(before.row))
            if before.stretch != one.stretch or one.row < before.row:
                _begin(belief, one.grams, far)
                amounts = tuple(max(amount, 0.0) for amount in amounts)
                _wander(belief, guess * wander, sum(amounts))
            else:
                _knit(belief, guess, amounts, uneven, wander)
                expected, variance = belief.mean[_LEFT], belief.covariance[_LEFT][_LEFT]
                if one.grams - expected > _GROWN * math.sqrt(variance + error) + step:
                    _begin(belief, one.grams, far)
        belief.observe([1.0, *[0.0] * kinds], one.grams, error)
        before = one
    assert before is not None  # noqa: S101 (there is a weighing)
    amounts = _minus(done(row_now), done(before.row))
    if row_now < before.row:
        back = guess * _WOUND_BACK * sum(amounts)
        belief.covariance[_LEFT][_LEFT] += back * back
    _knit(belief, guess, amounts, uneven, wander)
    return belief


def _begin(belief: Belief, grams: float, far: float) -> None:
    """Begin a stretch: of the yarn that is left nothing is known any more."""
    for row in belief.covariance:
        row[_LEFT] = 0.0
    belief.covariance[_LEFT] = [0.0] * len(belief.mean)
    belief.covariance[_LEFT][_LEFT] = far * far
    belief.mean[_LEFT] = grams


def _knit(belief: Belief, per_row: float, amounts: Amounts, uneven: float, wander: float) -> None:
    """Knit so much work (below nothing: rip it back)."""
    whole = sum(amounts)
    belief.grow(_LEFT, _PER_ROW, -whole)
    for place, amount in enumerate(amounts[1:], start=_PER_ROW + 1):
        belief.grow(_LEFT, place, -amount)
    belief.covariance[_LEFT][_LEFT] += (per_row * uneven) ** 2 * abs(whole)
    # Half of the change of hand in these rows has come about when they are half done.
    step = (per_row * wander) ** 2 * abs(whole)
    belief.covariance[_LEFT][_LEFT] += step * whole * whole / 3
    belief.covariance[_LEFT][_PER_ROW] -= step * whole / 2
    belief.covariance[_PER_ROW][_LEFT] -= step * whole / 2
    _wander(belief, per_row * wander, abs(whole))


def _wander(belief: Belief, deviation: float, rows: float) -> None:
    belief.covariance[_PER_ROW][_PER_ROW] += deviation**2 * rows


class _Mixed:
    """What is believed under all hypotheses together."""

    def __init__(self, hypotheses: Sequence[_Hypothesis]) -> None:
        best = max(one.weight for one in hypotheses)
        weights = [math.exp(one.weight - best) for one in hypotheses]
        total = sum(weights)
        self.parts = [
            (weight / total, one)
            for weight, one in zip(weights, hypotheses, strict=True)
            if weight > 1e-3 * total
        ]

    def of(self, place: int) -> tuple[float, float]:
        """Return mean and standard deviation of one of the numbers."""
        total = sum(weight for weight, _ in self.parts)
        mean = sum(weight * one.belief.mean[place] for weight, one in self.parts) / total
        square = sum(
            weight * (one.belief.covariance[place][place] + (one.belief.mean[place] - mean) ** 2)
            for weight, one in self.parts
        )
        return mean, math.sqrt(square / total)

    def lasts(self, more: Amounts, kept_rows: float, spread_rows: float = 0.0) -> float:
        """Return the chance that the yarn lasts for so much work and what is kept back."""
        total = sum(weight for weight, _ in self.parts)
        chance = sum(
            weight * _chance(one, more, kept_rows, spread_rows) for weight, one in self.parts
        )
        return chance / total


def _chance(one: _Hypothesis, more: Amounts, kept_rows: float, spread_rows: float) -> float:
    rows = sum(more)
    belief = one.belief
    mean, variance = belief.expect([1.0, -(rows + kept_rows), *(-amount for amount in more[1:])])
    per_row = max(belief.mean[_PER_ROW], 0.0)
    off = one.uneven**2 * rows + one.wander**2 * rows**3 / 3
    off += (_KEPT_ERROR * kept_rows) ** 2 + spread_rows**2
    variance += per_row**2 * off
    return 0.5 * math.erfc(-mean / math.sqrt(2 * max(variance, _ZERO)))


def _rows_worth_weighing(resolution_g: float, per_row: float | None) -> int:
    """Return after how many rows the scale can tell: five of its steps, ten rows if unknown."""
    if per_row is None:
        return 10
    return max(1, math.ceil(_STEPS_WORTH_WEIGHING * resolution_g / per_row))


def _last_row(chance: Callable[[int], float], level: float) -> int:
    """Return the most rows from now for which the chance is still at least `level`."""
    low, high = 0, 1
    if chance(0) < level:
        return 0
    while high < 1_000_000 and chance(high) >= level:  # noqa: PLR2004
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if chance(middle) >= level:
            low = middle
        else:
            high = middle
    return low
