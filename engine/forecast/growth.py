"""How a piece grows: length against row, piecewise by stitch, needle and state of the fabric.

The length after some rows, measured in some state, is taken as

    edge + sum over regimes of rows * height * exp(hand + stitch + needle + state) + lapse

where `hand` is how far this knitter is from the height assumed, `stitch`, `needle` and `state` are
how far rib, another needle or the wash are from that, and `lapse` is what uneven rows and a hand
that moves have added up to so far (`engine/forecast/habits.py`). All but the lapse are unknown
numbers with a prior; the swatch and the partner piece are measurements of
`hand + stitch + state + mood`, `mood` being that the maker of a swatch is not quite the maker of
the piece. Everything is (nearly) linear, so one Gaussian belief holds it all, and every regime
borrows from the others: hierarchical shrinkage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from operator import mul
from typing import TYPE_CHECKING, Final

from engine.fabric import Fabric
from engine.forecast.belief import Belief
from engine.forecast.regimes import Regime, regimes

if TYPE_CHECKING:
    from collections.abc import Sequence

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

_EDGE, _HAND_AT = range(2)


@dataclass(frozen=True, slots=True)
class Span:
    """A length as a sum: `constant`, `weights` of the unknowns, and the lapse of some rows.

    `start` and `end` are counted in usual rows (`Growth.usual_rows`), the rest is in cm.
    """

    constant: float
    weights: list[float]
    start: float
    end: float

    @property
    def edge(self) -> float:
        """Return 1 if the span begins at the cast-on edge, else 0."""
        return self.weights[_EDGE]


class Growth:
    """What is unknown about one piece, numbered, and what is known before it is measured.

    Rows are rows done since the cast-on; lengths are cm.
    """

    def __init__(
        self,
        readings: Sequence[LengthReading],
        parts: Sequence[PartSpan],
        priors: Sequence[GaugePrior],
        new: LengthReading | None = None,
    ) -> None:
        """Give each unknown a number, and learn from the swatch and the partner.

        `new` is a reading that is not to be learnt from; its stitch and needle are known.
        """
        self.readings = sorted(readings, key=lambda reading: reading.row)
        self.priors = priors
        self.regimes = regimes(parts, readings if new is None else [*readings, new])
        self._numbers: dict[tuple[str, str], int] = {}
        self._means: list[float] = [_EDGE_CM[0], 0.0]
        self._deviations: list[float] = [_EDGE_CM[1], _HAND]
        self._number_stitches_and_needles()
        self._number(("state", Fabric.ON_NEEDLE), _ON_NEEDLE)
        self._number(("state", Fabric.WASHED), _WASHED)
        for prior in priors:
            if ("mood", prior.source) not in self._numbers:
                self._number(("mood", prior.source), (0.0, prior.spread))
        self.height = self._guess_height()
        self.known = Belief.independent(self._means, self._deviations)
        for prior in priors:
            self._learn_gauge(prior)
        self._look_from(self.known.mean)

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
        return height - height * sum(self.point[place] for place in active), weights

    def span(self, row: int, fabric: Fabric, mark: int = 0) -> Span:
        """Return the length from row `mark` (0: the cast-on) to `row`, in a state of the fabric."""
        key = (row, fabric, mark)
        if key not in self._spans:
            self._spans[key] = self._span(row, fabric, mark)
        return self._spans[key]

    def _span(self, row: int, fabric: Fabric, mark: int) -> Span:
        constant, weights = 0.0, [0.0] * len(self._means)
        weights[_EDGE] = 0.0 if mark else 1.0
        for regime in self.regimes:
            end = row if regime.end is None else min(row, regime.end)
            rows = end - max(mark, regime.start)
            if rows > 0:
                base, parts = self.slope(regime, fabric)
                constant += rows * base
                weights = [old + rows * new for old, new in zip(weights, parts, strict=True)]
        return Span(constant, weights, self.usual_rows(mark), self.usual_rows(row))

    def expected_cm(self, row: int, fabric: Fabric, mark: int = 0) -> float:
        """Return the length from row `mark` to `row` where everything is as it is looked at."""
        span = self.span(row, fabric, mark)
        return float(span.constant + sum(map(mul, span.weights, self.point)))

    def usual_rows(self, row: int) -> float:
        """Return how many rows of the height `row_cm` would be as long as all rows up to `row`."""
        found = 0.0
        for regime, share in zip(self.regimes, self.shares, strict=True):
            end = row if regime.end is None else min(row, regime.end)
            if end > regime.start:
                found += (end - regime.start) * share
        return found

    # --- learning -------------------------------------------------------------------------------

    def _learn_gauge(self, prior: GaugePrior) -> None:
        weights = [0.0] * len(self._means)
        for place in self._active(prior.part, prior.needle, prior.fabric):
            weights[place] = 1.0
        weights[self._numbers["mood", prior.source]] = 1.0
        told = math.log(10 / prior.rows_per_10cm / self.height)
        self.known.observe(weights, told, (_COUNT_ROWS / prior.rows_per_10cm) ** 2)

    def settle(self, spans: Sequence[Span], shares: Sequence[float]) -> None:
        """Move the point of linearisation to where the measured spans, with these shares, pull."""
        pull = [0.0] * len(self._means)
        for span, share in zip(spans, shares, strict=True):
            pull = [old + share * new for old, new in zip(pull, span.weights, strict=True)]
        moved = [sum(map(mul, row, pull)) for row in self.known.covariance]
        # A hand twice as loose as assumed is as far as a straight line can be trusted.
        moved = [max(-_FARTHEST_STEP, min(_FARTHEST_STEP, step)) for step in moved]
        self._look_from([old + new for old, new in zip(self.known.mean, moved, strict=True)])

    def _look_from(self, point: list[float]) -> None:
        self.point = point
        self._spans: dict[tuple[int, Fabric, int], Span] = {}
        heights = [self.slope(regime, Fabric.RESTED)[1][_HAND_AT] for regime in self.regimes]
        self.row_cm = heights[-1]
        self.shares = tuple(height / self.row_cm for height in heights)


_FARTHEST_STEP: Final = 1.5
