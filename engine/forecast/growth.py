"""How a piece grows: length against row, piecewise by stitch, needle and state of the fabric.

The length after some rows, measured in some state, is taken as

    edge + sum over regimes of rows * height * exp(hand + stitch + needle + state) + lapse

where `hand` is how far this knitter is from the height assumed, `stitch`, `needle` and `state` are
how far rib, another needle or the wash are from that, and `lapse` is what row-by-row unevenness
and a slowly drifting hand have added up to so far. All are unknown numbers with a prior; the
swatch and the partner piece are measurements of `hand + stitch + state + mood`, `mood` being that
the maker of a swatch is not quite the maker of the piece. Everything is (nearly) linear, so one
Gaussian belief holds it all, and every regime borrows from the others: hierarchical shrinkage.

How good the ruler is and how much the hand drifts are not known either: a few settings of both
(`Habits`) are run side by side and weighted by how well they foresaw the measurements so far.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.fabric import Fabric
from engine.forecast.belief import Belief
from engine.forecast.regimes import Regime, regimes

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from engine.forecast.values import GaugePrior, LengthReading, PartSpan

# Priors: common practice, no source, unless said otherwise. Relative figures are of a row height.
# Within what is common they were chosen so that the 90 % interval holds nine in ten simulated
# pieces (bench/forecast_bench.py).
_EDGE_CM: Final = (0.15, 0.12)  # the cast-on edge adds up to a quarter of a centimetre
_USUAL_HEIGHT_CM: Final = 0.36  # 28 rows to 10 cm
_HAND: Final = 1.0  # nothing is known before the swatch or the first measurement
# The other stitches of a piece, ribs and garter, mostly have shorter rows than the stitch that was
# swatched, or that is worked to length: rib of 32 rows to 10 cm against a body of 28 is 12.5 %.
_OTHER_STITCH: Final = (-0.07, 0.08)
_NEEDLE: Final = 0.04  # a quarter to half a millimetre is 2 to 7 %
_ON_NEEDLE: Final = (0.005, 0.012)  # it hangs a little
_WASHED: Final = (0.01, 0.04)  # 28 rows before and 26 after the wash is 7 %
_COUNT_ROWS: Final = 0.3  # a swatch is counted to the half row
_UNEVEN: Final = 0.05  # standard deviation of n rows is this times the root of n, in rows
_STRETCH: Final = 0.005  # a ruler on soft fabric, relative to the length


@dataclass(frozen=True, slots=True)
class Habits:
    """One guess about knitter and ruler: both are standard deviations.

    `ruler_cm` of one measurement; `drift` of the change of the relative row height per root row.
    """

    ruler_cm: float
    drift: float
    weight: float


HABITS: Final = tuple(
    Habits(ruler, drift, chance * share)
    for ruler, chance in ((0.15, 0.35), (0.25, 0.3), (0.55, 0.35))
    for drift, share in ((0.0005, 0.77), (0.002, 0.17), (0.006, 0.06))
)

_EDGE, _HAND_AT, _LAPSE, _DRIFT = range(4)


class Growth:
    """What is unknown about one piece, numbered, and what has been learnt about it.

    Rows are rows done since the cast-on; lengths are cm. Use `learn` once per setting of habits.
    """

    def __init__(
        self,
        readings: Sequence[LengthReading],
        parts: Sequence[PartSpan],
        priors: Sequence[GaugePrior],
        marks: Iterable[int] = (),
    ) -> None:
        """Give each unknown a number; `marks` are rows, beside row 0, that are measured from."""
        self.readings = sorted(readings, key=lambda reading: reading.row)
        self.priors = priors
        self.regimes = regimes(parts, readings)
        self._numbers: dict[tuple[str, str], int] = {}
        self._means: list[float] = [_EDGE_CM[0], 0.0, 0.0, 0.0]
        self._deviations: list[float] = [_EDGE_CM[1], _HAND, 0.0, 0.0]
        self._number_stitches_and_needles()
        self._number(("state", Fabric.ON_NEEDLE), _ON_NEEDLE)
        self._number(("state", Fabric.WASHED), _WASHED)
        for prior in priors:
            if ("mood", prior.source) not in self._numbers:
                self._number(("mood", prior.source), (0.0, prior.spread))
        for mark in sorted(set(marks) - {0}):
            self._number(("mark", str(mark)), (0.0, 0.0))
        self.marks = {
            int(name): place for (kind, name), place in self._numbers.items() if kind == "mark"
        }
        self.height = self._guess_height()
        self.point = list(self._means)
        self._lengths: dict[tuple[int, Fabric, int], tuple[float, list[float]]] = {}
        self._row_heights: tuple[float, ...] = ()
        self._look_from(self.point)

    def _number_stitches_and_needles(self) -> None:
        """Give all but the first a number: the swatch's (else the last) stitch and first needle."""
        swatched = [prior.part for prior in self.priors if prior.part]
        main = swatched[0] if swatched else self.regimes[-1].part
        stitches = {regime.part for regime in self.regimes} | set(swatched)
        for part in sorted(stitches - {main}):
            self._number(("stitch", part), _OTHER_STITCH)
        in_order = [regime.needle for regime in self.regimes if regime.needle]
        in_order += [prior.needle for prior in self.priors if prior.needle]
        for needle in list(dict.fromkeys(in_order))[1:]:
            self._number(("needle", needle), (0.0, _NEEDLE))

    def _number(self, key: tuple[str, str], prior: tuple[float, float]) -> None:
        self._numbers[key] = len(self._means)
        self._means.append(prior[0])
        self._deviations.append(prior[1])

    def _guess_height(self) -> float:
        """Return a row height in cm near which everything is nearly linear."""
        if self.priors:
            counts = [math.log(prior.rows_per_10cm) for prior in self.priors]
            return 10 / math.exp(sum(counts) / len(counts))
        for reading in reversed(self.readings):
            rows = reading.row - reading.from_row
            if rows > 0 and reading.cm > _EDGE_CM[0]:
                return (reading.cm - _EDGE_CM[0]) / rows
        return _USUAL_HEIGHT_CM

    # --- heights and lengths as weighted sums of the unknowns ----------------------------------

    def _active(self, part: str, needle: str, fabric: Fabric) -> list[int]:
        keys = (("stitch", part), ("needle", needle), ("state", fabric))
        return [_HAND_AT, *(self._numbers[key] for key in keys if key in self._numbers)]

    def slope(self, regime: Regime, fabric: Fabric) -> tuple[float, list[float]]:
        """Return constant and weights of the height of one row, in cm, around the point."""
        active = self._active(regime.part, regime.needle, fabric)
        height = self.height * math.exp(sum(self.point[place] for place in active))
        weights = [0.0] * len(self._means)
        for place in active:
            weights[place] = height
        weights[_DRIFT] = height
        return height - height * sum(self.point[place] for place in active), weights

    def length(self, row: int, fabric: Fabric, mark: int = 0) -> tuple[float, list[float]]:
        """Return constant and weights of the length from `mark` (0: the cast-on) to `row`, cm."""
        key = (row, fabric, mark)
        if key not in self._lengths:
            self._lengths[key] = self._length(row, fabric, mark)
        return self._lengths[key]

    def _length(self, row: int, fabric: Fabric, mark: int) -> tuple[float, list[float]]:
        constant, weights = 0.0, [0.0] * len(self._means)
        for regime in self.regimes:
            end = row if regime.end is None else min(row, regime.end)
            rows = end - max(mark, regime.start)
            if rows > 0:
                base, parts = self.slope(regime, fabric)
                constant += rows * base
                parts[_DRIFT] = 0.0
                weights = [old + rows * new for old, new in zip(weights, parts, strict=True)]
        weights[_LAPSE] = 1.0
        if mark:
            weights[self.marks[mark]] = -1.0
        else:
            weights[_EDGE] = 1.0
        return constant, weights

    # --- learning -------------------------------------------------------------------------------

    def learn(self, habits: Habits, row_now: int) -> Belief:
        """Return what is believed at `row_now` after swatch, partner and all measurements."""
        belief = Belief.independent(self._means, self._deviations)
        for prior in self.priors:
            self._learn_gauge(belief, prior)
        at = 0
        marks = sorted(mark for mark in self.marks if mark <= row_now)
        for reading in self.readings:
            while marks and marks[0] <= reading.row:
                at = self.advance(belief, habits, at, marks[0])
                belief.remember(self.marks[marks.pop(0)], _LAPSE)
            at = self.advance(belief, habits, at, reading.row)
            constant, weights = self.length(reading.row, reading.fabric, reading.from_row)
            belief.observe(weights, reading.cm - constant, self.error(habits, reading.cm))
        for mark in marks:
            at = self.advance(belief, habits, at, mark)
            belief.remember(self.marks[mark], _LAPSE)
        self.advance(belief, habits, at, row_now)
        return belief

    @staticmethod
    def error(habits: Habits, cm: float) -> float:
        """Return the variance of one measured length, in cm squared."""
        return habits.ruler_cm**2 + (_STRETCH * cm) ** 2

    def _learn_gauge(self, belief: Belief, prior: GaugePrior) -> None:
        weights = [0.0] * len(self._means)
        for place in self._active(prior.part, prior.needle, prior.fabric):
            weights[place] = 1.0
        weights[self._numbers["mood", prior.source]] = 1.0
        told = math.log(10 / prior.rows_per_10cm / self.height)
        belief.observe(weights, told, (_COUNT_ROWS / prior.rows_per_10cm) ** 2)

    def advance(self, belief: Belief, habits: Habits, at: int, row: int) -> int:
        """Let the unevenness of the rows from `at` to `row` add up; return the later row."""
        for regime, height in zip(self.regimes, self._row_heights, strict=True):
            end = row if regime.end is None else min(row, regime.end)
            rows = end - max(at, regime.start)
            if rows > 0:
                belief.grow(_LAPSE, _DRIFT, height * rows)
                cov = belief.covariance
                square = habits.drift**2
                cov[_LAPSE][_LAPSE] += height**2 * lapse_variance(habits, rows)
                cov[_LAPSE][_DRIFT] += height * square * rows**2 / 2
                cov[_DRIFT][_LAPSE] += height * square * rows**2 / 2
                cov[_DRIFT][_DRIFT] += square * rows
        return max(at, row)

    def settle(self, row_now: int) -> None:
        """Move the point of linearisation to what the measurements say."""
        middle = HABITS[len(HABITS) // 2]
        self._look_from(self.learn(middle, row_now).mean)

    def _look_from(self, point: list[float]) -> None:
        self.point = point
        self._lengths = {}
        self._row_heights = tuple(
            self.slope(regime, Fabric.RESTED)[1][_HAND_AT] for regime in self.regimes
        )


def lapse_variance(habits: Habits, rows: float) -> float:
    """Return the variance, in row heights squared, that `rows` rows add to the length."""
    return _UNEVEN**2 * rows + habits.drift**2 * rows**3 / 3
