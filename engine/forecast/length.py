"""How many rows to the target length, and whether a measured length can be true.

Inverse prediction ("at which row shall I reach the length?") from few and rough measurements, the
swatch and the partner piece. The interval is calibrated over simulated knitters; where its upper
end does not exist (E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175-185: g >= 1) nothing is said.
"""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING, Final, Protocol, TypeAlias, TypeVar

from engine.fabric import Fabric
from engine.forecast.evidence import Evidence
from engine.forecast.growth import Growth
from engine.forecast.next_measurement import measure_again_at
from engine.forecast.outlook import Outlook
from engine.forecast.values import (
    CannotSay,
    Doubtful,
    GaugePrior,
    LengthReading,
    PartSpan,
    Remedy,
    RowsForecast,
    RowsLeft,
    WhyNot,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


__all__ = [
    "CannotSay",
    "Doubtful",
    "GaugePrior",
    "LengthReading",
    "PartSpan",
    "Prior",
    "Remedy",
    "RowsForecast",
    "RowsLeft",
    "WhyNot",
    "doubtful",
    "rows_left",
]

LEVEL: Final = 0.9
Prior: TypeAlias = "GaugePrior | Sequence[GaugePrior] | None"

_EXACT_ROWS: Final = 2
"""An interval of so many rows needs no further measurement."""
_LAST_READINGS: Final = 7
_FARTHEST: Final = 4.0
"""An interval that ends farther than this many times its middle tells a knitter nothing."""


def rows_left(
    readings: Sequence[LengthReading],
    parts: Sequence[PartSpan],
    row_now: int,
    target_cm: float,
    prior: Prior = None,
    *,
    target_fabric: Fabric | None = None,
    target_from_row: int = 0,
    level: float = LEVEL,
) -> RowsForecast:
    """Return how many more rows bring the piece to `target_cm`, with an interval, or why not.

    `row_now` is the number of rows done. The target is meant in `target_fabric` (default: the
    state of the last reading, else of the prior) and measured from `target_from_row` (0: the
    cast-on). Readings beyond `row_now` belong to rows that were ripped back and are set aside.
    Raises ValueError if the rows, `target_cm` or `level` make no sense.
    """
    if not 0 <= target_from_row <= row_now or target_cm <= 0 or not 0 < level < 1:
        raise ValueError("Rows done, target and level have to be sensible numbers.")
    priors = _priors(prior)
    kept = thinned([reading for reading in readings if reading.row <= row_now])
    if not priors and not any(reading.row > reading.from_row for reading in kept):
        return CannotSay(WhyNot.NOTHING_KNOWN, Remedy.MEASURE_NOW, row_now)
    fabric = target_fabric or _usual_fabric(kept, priors)
    evidence = _evidence(kept, parts, priors)
    outlook = Outlook(evidence, row_now, fabric, target_from_row, target_cm)
    tail = (1 - level) / 2
    soonest, best, latest = _interval(outlook, target_cm, tail)
    if latest is None or outlook.slope_g(NormalDist().inv_cdf(1 - tail)) >= 1:
        further = Remedy.MEASURE_NOW if not _measured_at(kept, row_now) else None
        return CannotSay(
            WhyNot.TOO_UNCERTAIN,
            further or Remedy.MEASURE_FURTHER_ON,
            row_now if further else row_now + max(4, soonest // 2),
        )
    again = None
    if latest - soonest > _EXACT_ROWS:
        usual = _usual_fabric(kept, priors) if kept else Fabric.ON_NEEDLE
        again = measure_again_at(evidence, row_now, best, usual, fabric, target_from_row)
    return RowsLeft(soonest, latest, best, level, again)


def doubtful(
    readings: Sequence[LengthReading],
    new: LengthReading,
    prior: Prior = None,
    parts: Sequence[PartSpan] = (),
    heights_cm: tuple[float, float] | None = None,
) -> Doubtful | None:
    """Return what would have been plausible if `new` can hardly be, else None.

    Held against the earlier readings, the swatch and the partner; when nothing is known, against
    the lowest and the highest row in cm that the yarn allows, else that any hand knits.
    """
    kept = thinned([reading for reading in readings if reading.row <= new.row])
    priors = _priors(prior)
    if not priors and not any(reading.row > reading.from_row for reading in kept):
        rows = new.row - new.from_row
        low, high = heights_cm or (_LOWEST_ROW_CM, _HIGHEST_ROW_CM)
        low, high = rows * low - _SLACK_CM, rows * high + _SLACK_CM
        low = max(0.0, low)
        return None if low <= new.cm <= high else Doubtful(low, high, (low + high) / 2)
    evidence = _evidence(kept, parts, priors, new)
    outlook = Outlook(evidence, new.row, new.fabric, new.from_row)
    mean, deviation = outlook.moments(0)
    slack = _DOUBT * (deviation**2 + _USUAL_RULER_CM**2) ** 0.5
    low, high = max(0.0, mean - slack), mean + slack
    return None if low <= new.cm <= high else Doubtful(low, high, mean)


_DOUBT: Final = 4.0
_USUAL_RULER_CM: Final = 0.45
"""A hem and a slack tape come to 1.8 cm, 4 times this: so little is never asked about."""
_SLACK_CM: Final = 1.0  # what edge and tape may come to; common practice, no source
_LOWEST_ROW_CM: Final = 0.12  # 80 rows to 10 cm, fine lace; common practice, no source
_HIGHEST_ROW_CM: Final = 2.5  # 4 rows to 10 cm, arm-thick yarn; common practice, no source


def _priors(prior: Prior) -> tuple[GaugePrior, ...]:
    if prior is None:
        return ()
    return (prior,) if isinstance(prior, GaugePrior) else tuple(prior)


def _usual_fabric(readings: Sequence[LengthReading], priors: Sequence[GaugePrior]) -> Fabric:
    if readings:
        return max(readings, key=lambda reading: reading.row).fabric
    return priors[0].fabric


def _evidence(
    readings: Sequence[LengthReading],
    parts: Sequence[PartSpan],
    priors: Sequence[GaugePrior],
    new: LengthReading | None = None,
) -> Evidence:
    """Weigh the readings; `new` is one that is not believed yet, but whose part and needle are."""
    growth = Growth(readings, parts, priors, new)

    first = Evidence(growth)
    if not readings:
        return first
    growth.settle(first.spans, first.settled())
    return Evidence(growth)


class _OfRow(Protocol):
    @property
    def row(self) -> int: ...


_Reading = TypeVar("_Reading", bound=_OfRow)


def thinned(readings: Sequence[_Reading]) -> list[_Reading]:
    """Return at most 14 readings by rows: the last seven, and seven spread over the rest."""
    ordered = sorted(readings, key=lambda reading: reading.row)
    early = ordered[:-_LAST_READINGS]
    if len(early) <= _LAST_READINGS:
        return ordered
    step = (len(early) - 1) / (_LAST_READINGS - 1)
    chosen = [early[round(place * step)] for place in range(_LAST_READINGS)]
    return [*chosen, *ordered[-_LAST_READINGS:]]


def _measured_at(readings: Sequence[LengthReading], row: int) -> bool:
    return any(reading.row == row for reading in readings)


def _interval(outlook: Outlook, target_cm: float, tail: float) -> tuple[int, int, int | None]:
    """Return soonest, middle and latest count of rows; latest None if there is none.

    The chance of fewer rows than the soonest, and of more than the latest, is as near to `tail`
    as whole rows allow.
    """
    known: dict[int, float] = {}

    def chance(rows: int) -> float:
        if rows not in known:
            known[rows] = outlook.chance_reached(target_cm, rows)
        return known[rows]

    rows, spread = outlook.about(target_cm)
    best = _first(chance, 0.5, 1_000_000, rows, spread / 8)
    if best is None:
        return 0, 0, None
    low = _first(chance, tail, best, best - 1.6 * spread, spread / 4) or 0
    # `low` is the first count that reaches the tail; one fewer or one more may be nearer to it.
    soonest = _nearest(low, tail, lambda rows: chance(rows - 1) if rows > 0 else 0.0)
    farthest = round(_FARTHEST * best) + 20
    high = _first(chance, 1 - tail, farthest, best + 1.6 * spread, spread / 4)
    if high is None:
        return min(soonest, best), best, None
    latest = _nearest(high, tail, lambda rows: 1 - chance(rows))
    return min(soonest, best), best, max(latest, best)


def _first(
    chance: Callable[[int], float], wanted: float, most: int, guess: float, step: float
) -> int | None:
    """Return the first count of rows whose chance is at least `wanted`, at most `most`.

    Looked for from `guess` on in steps that double, beginning with `step`.
    """
    at = min(most, max(0, round(guess)))
    stride = max(1, min(most, round(step)))
    if chance(at) >= wanted:
        above, below = at, at
        while below > 0 and chance(below) >= wanted:
            above = below
            below = max(0, below - stride)
            stride *= 2
        if chance(below) >= wanted:
            return below
    else:
        above, below = at, at
        while chance(above) < wanted:
            if above >= most:
                return None
            below = above
            above = min(most, above + stride)
            stride *= 2
    while above - below > 1:
        middle = (below + above) // 2
        if chance(middle) < wanted:
            below = middle
        else:
            above = middle
    return above


def _nearest(rows: int, wanted: float, chance: Callable[[int], float]) -> int:
    return min(
        (max(0, rows + step) for step in (0, -1, 1)),
        key=lambda candidate: abs(chance(candidate) - wanted),
    )
