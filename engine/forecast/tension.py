"""Whether the hand knits tighter or looser than the swatch, since when, and what that would make.

A look at the fabric compares the height of the rows knitted since the last look, its width, or
both, with the swatch. The looks feed a tabular CUSUM (engine.forecast.charts) whose decision value
is set for one false alarm in 500 rows; a word is said only when, besides, the last 10 cm are 5 %
off at two looks in a row (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from engine.forecast.charts import cusum_run_length, ewma, tabular_cusum

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from engine.fabric import Fabric
    from engine.forecast.values import LengthReading

WORTH_A_WORD: Final = 0.05
OVER_CM: Final = 10.0
TWICE: Final = 2
ROWS_PER_FALSE_ALARM: Final = 500
_ALLOWANCE: Final = WORTH_A_WORD / 2
"""Allowance k of the CUSUM: half the shift that is worth a word."""

_RULER_CM: Final = 0.2  # error of one honest measurement; common practice, no source
_WANDER: Final = 0.01  # how much an even hand wanders anyway, relative; common practice, no source
_SMOOTHING: Final = 0.3
_SHORTEST_CM: Final = 2.5  # a shorter stretch says nothing of its row height


class Hand(StrEnum):
    """What the fabric says of the hand (British "tension" is gauge; this is not)."""

    EVEN = "even"
    TIGHTER = "tighter"
    LOOSER = "looser"


class Cause(StrEnum):
    """What to look at when the hand has changed."""

    NEEDLE = "needle"
    YARN_FEED = "yarn_feed"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class WidthReading:
    """After `row` rows, `stitches` stitches were `cm` wide, measured inside the edges."""

    row: int
    cm: float
    fabric: Fabric
    stitches: int


@dataclass(frozen=True, slots=True)
class SwatchGauge:
    """Rows and stitches (None: not counted) to 10 cm of the swatch in one state."""

    fabric: Fabric
    rows_per_10cm: float
    stitches_per_10cm: float | None


@dataclass(frozen=True, slots=True)
class Look:
    """One look at the fabric of rows `first` to `row`.

    `deviation` is relative to the swatch, positive when larger (looser), `error` its standard
    deviation; `cm` is how much fabric it is about.
    """

    first: int
    row: int
    deviation: float
    error: float
    cm: float


@dataclass(frozen=True, slots=True)
class Tension:
    """How the hand compares with the swatch.

    `hand` is what the chart says, `since_row` where that began. `deviation` is that of the last
    10 cm. `worth_a_word`: 5 % over 10 cm, twice in a row, and the chart agrees. `looks` make the
    curve.
    """

    hand: Hand
    since_row: int | None
    deviation: float
    worth_a_word: bool
    causes: tuple[Cause, ...]
    looks: tuple[Look, ...]


def row_look(first: int, row: int, cm: float, rows_per_10cm: float) -> Look:
    """Return the look from rows `first` to `row` measuring `cm` (two rulings, two errors)."""
    rows = row - first + 1
    if rows < 1 or cm <= 0:
        raise ValueError("A look is at one row or more that measure something.")
    expected = rows * 10 / rows_per_10cm
    return Look(first, row, cm / expected - 1, math.sqrt(2) * _RULER_CM / expected, cm)


def width_look(row: int, cm: float, expected_cm: float, row_cm: float) -> Look:
    """Return the look from a width near row `row`; it is about the last 2 cm below the needle."""
    if cm <= 0 or expected_cm <= 0 or row_cm <= 0:
        raise ValueError("A width is more than nothing.")
    about = max(1, round(2 / row_cm))
    return Look(max(1, row - about + 1), row, cm / expected_cm - 1, _RULER_CM / expected_cm, 2.0)


def combine(looks: Iterable[Look]) -> tuple[Look, ...]:
    """Put looks that end at the same row together, weighted by how sure they are."""
    found: dict[int, list[Look]] = {}
    for look in looks:
        found.setdefault(look.row, []).append(look)
    combined = []
    for row, group in sorted(found.items()):
        weights = [1 / (look.error**2 + _WANDER**2) for look in group]
        total = sum(weights)
        mean = sum(w * look.deviation for w, look in zip(weights, group, strict=True)) / total
        error = math.sqrt(
            sum((w * look.error) ** 2 for w, look in zip(weights, group, strict=True))
        )
        first = min(look.first for look in group)
        combined.append(Look(first, row, mean, error / total, max(look.cm for look in group)))
    return tuple(combined)


def looks(
    lengths: Sequence[LengthReading],
    widths: Sequence[WidthReading],
    swatch: Sequence[SwatchGauge],
) -> tuple[Look, ...]:
    """Return the looks that measurements allow: only states in which the swatch was counted.

    Lengths in one part and state are compared with the one before that lies at least 2.5 cm back.
    """
    gauges = {gauge.fabric: gauge for gauge in swatch}
    found: list[Look] = []
    for fabric, gauge in gauges.items():
        mine = sorted(
            (r for r in lengths if r.fabric is fabric and r.from_row == 0), key=lambda r: r.row
        )
        start = None
        for reading in mine:
            if start is None or reading.part != start.part or reading.needle != start.needle:
                start = reading
            elif reading.cm - start.cm >= _SHORTEST_CM and reading.row > start.row:
                found.append(
                    row_look(start.row + 1, reading.row, reading.cm - start.cm, gauge.rows_per_10cm)
                )
                start = reading
        if gauge.stitches_per_10cm is None:
            continue
        found += [
            width_look(
                width.row, width.cm, width.stitches * 10 / gauge.stitches_per_10cm,
                10 / gauge.rows_per_10cm,
            )
            for width in widths
            if width.fabric is fabric
        ]  # fmt: skip
    return combine(found)


def tension(all_looks: Sequence[Look]) -> Tension | None:
    """Return how the hand compares with the swatch; None before anything can be compared."""
    if not all_looks:
        return None
    ordered = sorted(all_looks, key=lambda look: look.row)
    every = _usual_rows(ordered)
    errors = [math.hypot(look.error, _WANDER) for look in ordered]
    # Each look in units of its own error, so that a rough one counts less.
    usual = sorted(errors)[len(errors) // 2]
    h = decision_value(round(usual, 3), every)
    scaled = [look.deviation * usual / error for look, error in zip(ordered, errors, strict=True)]
    steps = tabular_cusum(scaled, 0.0, _ALLOWANCE, h)
    last = steps[-1]
    hand = {1: Hand.LOOSER, -1: Hand.TIGHTER, 0: Hand.EVEN}[last.signal]
    since = None
    if last.signal:
        back = last.since_high if last.signal > 0 else last.since_low
        since = ordered[len(ordered) - back].first
    recent = _over_ten_cm(ordered)
    spoken = hand is not Hand.EVEN and _twice(ordered, 1 if hand is Hand.LOOSER else -1)
    causes = (Cause.NEEDLE, Cause.YARN_FEED, Cause.REST) if spoken else ()
    return Tension(hand, since, recent, spoken, causes, tuple(ordered))


def finished_size(
    deviation: float, planned_cm: float, done_share: float, done_cm: float | None = None
) -> float:
    """Return what a planned width or length would measure if nothing changes, in cm.

    `done_share` of it is knitted (and measures `done_cm`, if known); the rest follows the
    deviation of the last 10 cm.
    """
    if not 0 <= done_share <= 1:
        raise ValueError("The share that is done lies between 0 and 1.")
    done = planned_cm * done_share if done_cm is None else done_cm
    return done + planned_cm * (1 - done_share) * (1 + deviation)


@lru_cache(maxsize=128)
def decision_value(error: float, rows_between_looks: float) -> float:
    """Return the CUSUM's decision value for one false alarm in 500 rows, relative.

    `error` is the standard deviation of a look; the looks are taken as independent.
    """
    wanted = max(2.0, ROWS_PER_FALSE_ALARM / rows_between_looks)
    low, high = 0.05, 12.0
    while high - low > 0.01:  # noqa: PLR2004 (a hundredth of a standard deviation)
        middle = (low + high) / 2
        if cusum_run_length(_ALLOWANCE / error, middle) < wanted:
            low = middle
        else:
            high = middle
    return high * error


def _usual_rows(ordered: Sequence[Look]) -> float:
    gaps = sorted(b.row - a.row for a, b in pairwise(ordered)) or [10]
    return float(max(1, gaps[len(gaps) // 2]))


def _over_ten_cm(ordered: Sequence[Look]) -> float:
    """Return the mean deviation of the looks at the last 10 cm or so."""
    weight = total = 0.0
    cm = 0.0
    for look in reversed(ordered):
        share = 1 / (look.error**2 + _WANDER**2)
        weight += share
        total += share * look.deviation
        cm += look.cm
        if cm >= OVER_CM:
            break
    return total / weight


def _twice(ordered: Sequence[Look], sign: int) -> bool:
    """Tell whether at the last two looks the last 10 cm were off by what is worth a word."""
    if len(ordered) < TWICE:
        return False
    ends = [ordered[: len(ordered) - back] for back in range(TWICE)]
    return all(sign * _over_ten_cm(looked) >= WORTH_A_WORD for looked in ends)


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A point of the tension curve: a look, the smoothed curve with its limits, and the notes.

    `smooth` is the exponentially weighted moving average of the deviations (weight 0.3); an even
    hand stays between `low` and `high` (three standard deviations).
    """

    look: Look
    smooth: float
    low: float
    high: float
    notes: tuple[str, ...]


def curve(
    all_looks: Sequence[Look], notes: Iterable[tuple[int, str]] = ()
) -> tuple[CurvePoint, ...]:
    """Return the tension curve with notes (row, words: "that felt tight") beside it.

    A note belongs to the first look whose last row is not before it; later notes to the last look.
    """
    ordered = sorted(all_looks, key=lambda look: look.row)
    kept: list[list[str]] = [[] for _ in ordered]
    for row, words in sorted(notes):
        at = next((place for place, look in enumerate(ordered) if look.row >= row), len(kept) - 1)
        if kept:
            kept[at].append(words)
    if not ordered:
        return ()
    errors = sorted(math.hypot(look.error, _WANDER) for look in ordered)
    smooth = ewma((look.deviation for look in ordered), _SMOOTHING, 0.0, errors[len(errors) // 2])
    return tuple(
        CurvePoint(look, step.value, step.low, step.high, tuple(words))
        for look, step, words in zip(ordered, smooth, kept, strict=True)
    )
