"""What the measurements of one piece say, under each guess at tape and hand.

The unknowns of a piece, its uneven rows and the errors of the tape are all Gaussian under one
guess, so the readings have a covariance matrix K, and what is to be foreseen follows from its
inverse (C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning (2006),
equations 2.23 to 2.30). A surprise is one more Gaussian number; it changes K by a matrix of rank
one, for which nothing has to be inverted again (J. Sherman and W. J. Morrison, Ann. Math. Stat. 21
(1950) 124-127). Plain lists: six readings are too few for an array library to be worth it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import accumulate, pairwise
from operator import mul
from typing import TYPE_CHECKING, Final, TypeAlias

from engine.fabric import Fabric
from engine.forecast.habits import (
    CHANGE,
    EDGE,
    HALF_A_METRE,
    HANDS,
    HANG,
    OTHER_HAND,
    SLIP,
    STRETCH,
    TAPES,
    TREND,
    Hand,
    Tape,
    level_part,
    since,
    uneven_part,
    walk_part,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.forecast.growth import Growth, Span

Rows: TypeAlias = list[list[float]]
Parts: TypeAlias = tuple[float, float, float]
"""A covariance in parts: of the unknowns, of uneven rows, of the walk, for a hand of 1 and 1."""
_NEGLIGIBLE: Final = 0.015
"""The least likely guesses that together weigh less than this are left out."""
_ROUNDING: Final = 1e-13
"""So small a share of a variance is what sums of floating numbers leave over."""
_FAINT: Final = 0.0005
"""A guess with less than this part of the likeliest one's weight is not even worked out."""


@dataclass(frozen=True, slots=True)
class Probe:
    """Something to be foreseen that is linear in what is known at `now`.

    `constant` and `weights` as in a span; `lapse` times what the rows of `now` have lapsed so far,
    `level` times how far the hand is now from where it began.
    """

    now: Span
    constant: float
    weights: list[float]
    lapse: float
    level: float


@dataclass(frozen=True, slots=True)
class Surprise:
    """One more number: what 1 of it adds to each reading and probe, its deviation and chance."""

    on_readings: list[float]
    on_probes: list[float]
    deviation: float
    chance: float


@dataclass(frozen=True, slots=True)
class Guess:
    """What the probes are under one guess: means, covariances, and the guess's share."""

    weight: float
    hand: Hand
    means: list[float]
    covariances: Rows


@dataclass(slots=True)
class _Solved:
    """K inverted for one guess at tape and hand."""

    tape: Tape
    hand: Hand
    inverse: Rows
    pull: list[float]
    log_weight: float


class Evidence:
    """The readings of a piece, ready to be weighed under any guess."""

    def __init__(self, growth: Growth) -> None:
        """Take the readings of a piece."""
        readings = growth.readings
        spans = [growth.span(one.row, one.fabric, one.from_row) for one in readings]
        cm = [one.cm for one in readings]
        self._hanging = [
            one.cm**2 / HALF_A_METRE if one.fabric is Fabric.ON_NEEDLE else 0.0 for one in readings
        ]
        self.growth = growth
        self.spans = list(spans)
        known = growth.known
        self._cm = list(cm)
        self._spread = [_times(known.covariance, span.weights) for span in self.spans]
        self._surprise = [
            length - span.constant - _dot(span.weights, known.mean)
            for length, span in zip(cm, self.spans, strict=True)
        ]
        unit = growth.row_cm**2
        self._parts = [
            [
                (
                    _dot(spread, other.weights),
                    unit * uneven_part(span, other),
                    unit * walk_part(span, other),
                )
                for other in self.spans
            ]
            for span, spread in zip(self.spans, self._spread, strict=True)
        ]
        self.solved = [self._solve(tape, hand) for hand in HANDS for tape in TAPES]
        self.likeliest = max(self.solved, key=lambda one: one.log_weight)

    def _solve(self, tape: Tape, hand: Hand) -> _Solved:
        matrix = _summed(hand, self._parts)
        for place, cm in enumerate(self._cm):
            matrix[place][place] += tape_variance(tape, cm)
        log_determinant = invert(matrix)
        pull = _times(matrix, self._surprise)
        fit = _dot(pull, self._surprise)
        chance = math.log(tape.chance * hand.chance)
        return _Solved(tape, hand, matrix, pull, chance - 0.5 * (log_determinant + fit))

    def settled(self) -> list[float]:
        """Return how much each reading pulls the unknowns, under the likeliest guess."""
        return self.likeliest.pull

    def foresee(self, probes: Sequence[Probe], mark_edge: float, ahead: float) -> list[Guess]:
        """Return the probes under every guess that counts; the weights add up to 1.

        `mark_edge`: 1 if they begin at the cast-on edge, else 0. `ahead`: for how many usual rows
        to come the probes have to be right, roughly.
        """
        growth = self.growth
        crossed = [self._cross(probe) for probe in probes]
        among = [[_among(growth, one, other) for other in probes] for one in probes]
        means = [probe.constant + _dot(probe.weights, growth.known.mean) for probe in probes]
        surprises = self._surprises(probes, mark_edge, ahead)
        top = self.likeliest.log_weight
        found = []
        for solved in self.solved:
            if solved.log_weight < top + math.log(_FAINT):
                continue
            found += _guesses(solved, means, crossed, among, surprises, top)
        found.sort(key=lambda guess: guess.weight)
        total = sum(guess.weight for guess in found)
        faint = sum(part <= _NEGLIGIBLE * total for part in accumulate(one.weight for one in found))
        kept = found[faint:][::-1]
        total = sum(guess.weight for guess in kept)
        return [
            Guess(guess.weight / total, guess.hand, guess.means, guess.covariances)
            for guess in kept
        ]

    def ahead(self, spans: Sequence[Span]) -> tuple[list[float], list[float], list[float]]:
        """Return the variance of spans to come, their covariance with the first, and the tape's.

        Under the likeliest guess; the spans may end after the row of now. In cm squared.
        """
        guess, growth = self.likeliest, self.growth
        first = spans[0]
        crossed = [[self._shared(guess.hand, span, old) for old in self.spans] for span in spans]
        gain = _times(guess.inverse, crossed[0])
        variances, with_first, errors = [], [], []
        for span, cross in zip(spans, crossed, strict=True):
            own = self._shared(guess.hand, span, span)
            variances.append(max(0.0, own - _dot(cross, _times(guess.inverse, cross))))
            with_first.append(self._shared(guess.hand, first, span) - _dot(gain, cross))
            length = span.constant + _dot(span.weights, growth.known.mean)
            errors.append(tape_variance(guess.tape, length + _dot(cross, guess.pull)))
        return variances, with_first, errors

    def _shared(self, hand: Hand, one: Span, other: Span) -> float:
        """Return the covariance of two spans before anything was measured."""
        moved = hand.uneven**2 * uneven_part(one, other) + hand.walk**2 * walk_part(one, other)
        spread = _times(self.growth.known.covariance, one.weights)
        return _dot(spread, other.weights) + self.growth.row_cm**2 * moved

    def _cross(self, probe: Probe) -> list[Parts]:
        """Return the parts of the covariances of a probe with each reading."""
        unit = self.growth.row_cm**2
        return [
            (
                _dot(spread, probe.weights),
                unit * probe.lapse * uneven_part(span, probe.now),
                unit * (probe.lapse * walk_part(span, probe.now) + probe.level * level_part(span)),
            )
            for span, spread in zip(self.spans, self._spread, strict=True)
        ]

    def _surprises(self, probes: Sequence[Probe], mark_edge: float, ahead: float) -> list[Surprise]:
        row_cm = self.growth.row_cm
        size, now = len(self.spans), probes[0].now
        found = []
        for place in range(size):
            alone = [0.0] * size
            alone[place] = 1.0
            found.append(Surprise(alone, [0.0] * len(probes), *SLIP))
        if any(span.edge for span in self.spans) or mark_edge:
            edges = [probe.lapse * mark_edge for probe in probes]
            found.append(Surprise([span.edge for span in self.spans], edges, *EDGE))

        def changed(row: float, deviation: float, chance: float) -> None:
            on_probes = [row_cm * (one.lapse * since(now, row) + one.level) for one in probes]
            on_readings = [row_cm * since(span, row) for span in self.spans]
            found.append(Surprise(on_readings, on_probes, deviation, chance))

        if self.growth.priors:
            changed(0.0, *OTHER_HAND)
        # A trend goes on: over the rows ahead the hand is where it will be half-way, on average.
        reach = now.end + ahead / 2
        on_probes = [row_cm * (one.lapse * level_part(now) + one.level * reach) for one in probes]
        found.append(
            Surprise([row_cm * level_part(span) for span in self.spans], on_probes, *TREND)
        )
        if any(self._hanging):
            found.append(Surprise(self._hanging, [0.0] * len(probes), *HANG))
        ends = sorted({0.0, *(span.end for span in self.spans), now.end})
        for begin, end in pairwise(ends):
            changed((begin + end) / 2, CHANGE[0], CHANGE[1] * (end - begin))
        return found


def tape_variance(tape: Tape, cm: float) -> float:
    """Return the variance of one measured length, in cm squared."""
    return tape.error_cm**2 + (STRETCH * cm) ** 2


def _guesses(
    solved: _Solved,
    means: list[float],
    crossed: list[list[Parts]],
    among: list[list[Parts]],
    surprises: list[Surprise],
    top: float,
) -> list[Guess]:
    """Return the probes without and with each surprise, weighted against `top`."""
    hand = solved.hand
    cross, inner = _summed(hand, crossed), _summed(hand, among)
    gains = [_times(solved.inverse, row) for row in cross]
    means = [mean + _dot(row, solved.pull) for mean, row in zip(means, cross, strict=True)]
    covariances = [
        [own - _dot(row, gain) for own, gain in zip(inside, gains, strict=True)]
        for inside, row in zip(inner, cross, strict=True)
    ]
    plain = math.exp(solved.log_weight - top)
    found = [Guess(plain, hand, means, covariances)]
    for surprise in surprises:
        on = surprise.on_readings
        moved = _times(solved.inverse, on)
        pull = _dot(on, solved.pull)
        variance = 1 / (1 / surprise.deviation**2 + _dot(on, moved))
        weight = plain * surprise.chance * math.sqrt(variance) / surprise.deviation
        weight *= math.exp(min(600.0, 0.5 * pull * pull * variance))
        if weight < _FAINT:
            continue
        left = [own - _dot(row, moved) for own, row in zip(surprise.on_probes, cross, strict=True)]
        found.append(
            Guess(
                weight,
                hand,
                [old + pull * variance * one for old, one in zip(means, left, strict=True)],
                [
                    [old + variance * one * other for old, other in zip(row, left, strict=True)]
                    for row, one in zip(covariances, left, strict=True)
                ],
            )
        )
    return found


def _among(growth: Growth, one: Probe, other: Probe) -> Parts:
    """Return the parts of the covariance of two probes of the same row."""
    unit, now = growth.row_cm**2, one.now
    walk = one.lapse * other.lapse * walk_part(now, now) + one.level * other.level * now.end
    walk += (one.lapse * other.level + one.level * other.lapse) * level_part(now)
    return (
        _dot(_times(growth.known.covariance, one.weights), other.weights),
        unit * one.lapse * other.lapse * uneven_part(now, now),
        unit * walk,
    )


def _summed(hand: Hand, parts: list[list[Parts]]) -> Rows:
    """Return covariances under one guess at the hand."""
    uneven, walk = hand.uneven**2, hand.walk**2
    return [[known + uneven * a + walk * b for known, a, b in row] for row in parts]


def invert(matrix: Rows) -> float:
    """Invert a symmetric positive definite matrix in place; return the log of its determinant.

    Gauss and Jordan's elimination without exchange of rows, which such a matrix does not need.
    What rounding has brought down to nothing is taken as the least that it could be.
    """
    log_determinant = 0.0
    least = [_ROUNDING * row[at] for at, row in enumerate(matrix)]
    for at, pivot_row in enumerate(matrix):
        pivot = max(pivot_row[at], least[at])
        log_determinant += math.log(pivot)
        pivot_row[at] = 1.0
        share = 1.0 / pivot
        pivot_row[:] = [value * share for value in pivot_row]
        for place, row in enumerate(matrix):
            if place != at:
                factor = row[at]
                row[at] = 0.0
                row[:] = [old - factor * new for old, new in zip(row, pivot_row, strict=True)]
    return log_determinant


def _times(matrix: Rows, vector: Sequence[float]) -> list[float]:
    return [sum(map(mul, row, vector)) for row in matrix]


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return float(sum(map(mul, one, other)))
