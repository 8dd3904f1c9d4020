"""Whether the hand knits tighter or looser than the swatch, since when, and what that would make.

A look at the fabric compares the height of the rows knitted since the last look, its width, or
both, with the swatch. Lengths from their start, widths and what felt tight go into one sequential
test (engine.forecast.shift). A word is said when it is sure enough that the hand has changed, by
about 5 % or more, and two looks have seen it (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from engine.forecast.charts import ewma
from engine.forecast.shift import Shift, Sign, shift

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from engine.fabric import Fabric
    from engine.forecast.values import LengthReading

WORTH_A_WORD: Final = 0.041
"""The least estimate that may be a change of 5 %; what is less is no news; no source."""
SURE_ENOUGH: Final = 0.82
"""The chance from which on a change is told, set for at most one false word in 1,500 rows."""
SEEN_BEFORE: Final = 0.02
"""The chance that the look before has to give it: what is seen once is no news."""
OVER_CM: Final = 10.0
TWICE: Final = 2

_LIKELY: Final = 0.5
_A_LITTLE: Final = 0.03  # from so much on it is a little tighter or looser; no source
_RULER_CM: Final = 0.2  # error of one honest measurement; common practice, no source
_RULER_SHARE: Final = 0.005  # ... and so much of the length besides: fabric stretches; no source
_WIDTH_SHARE: Final = 0.01  # ... of a width, which is distrusted more; no source
_COUNT_SHARE: Final = 0.01  # stitches differ from place to place; common practice, no source
_HALF_STITCH: Final = 0.25 / math.sqrt(3)  # counted to half a stitch
_EDGE_CM: Final = 0.4  # an edge flares or rolls in by so much; common practice, no source
_BELOW_NEEDLE_CM: Final = (0.8, 4.5)
"""A width is that of fabric so far below the needle; common practice, no source."""
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
class WidthSeen:
    """After `row` rows, `stitches` stitches were `cm` wide, measured inside the edges.

    `counted`: the stitches were counted over `cm`, else `cm` was measured over the stitches.
    """

    row: int
    cm: float
    fabric: Fabric
    stitches: float
    counted: bool = False


@dataclass(frozen=True, slots=True)
class SwatchGauge:
    """Rows and stitches (None: not counted) to 10 cm of the swatch in one state."""

    fabric: Fabric
    rows_per_10cm: float
    stitches_per_10cm: float | None


@dataclass(frozen=True, slots=True)
class TensionLook:
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

    `hand` is how it knits now, `since_row` where a change began. `deviation` is that of the last
    10 cm from the swatch, `change` by how much the hand has changed, with its `chance`.
    `worth_a_word`: sure enough of 5 % or more, seen by two looks. `looks` make the curve.
    """

    hand: Hand
    since_row: int | None
    deviation: float
    worth_a_word: bool
    causes: tuple[Cause, ...]
    looks: tuple[TensionLook, ...]
    change: float = 0.0
    chance: float = 0.0


def row_look(first: int, row: int, cm: float, rows_per_10cm: float) -> TensionLook:
    """Return the look from rows `first` to `row` measuring `cm` (two rulings, two errors)."""
    rows = row - first + 1
    if rows < 1 or cm <= 0:
        raise ValueError("A look is at one row or more that measure something.")
    expected = rows * 10 / rows_per_10cm
    return TensionLook(first, row, cm / expected - 1, math.sqrt(2) * _RULER_CM / expected, cm)


def width_look(row: int, cm: float, expected_cm: float, row_cm: float) -> TensionLook:
    """Return the look from a width near row `row`; it is about the last 2 cm below the needle."""
    if cm <= 0 or expected_cm <= 0 or row_cm <= 0:
        raise ValueError("A width is more than nothing.")
    about = max(1, round(2 / row_cm))
    return TensionLook(
        max(1, row - about + 1), row, cm / expected_cm - 1, _RULER_CM / expected_cm, 2.0
    )


def combine(looks: Iterable[TensionLook]) -> tuple[TensionLook, ...]:
    """Put looks that end at the same row together, weighted by how sure they are."""
    found: dict[int, list[TensionLook]] = {}
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
        combined.append(
            TensionLook(first, row, mean, error / total, max(look.cm for look in group))
        )
    return tuple(combined)


def looks(
    lengths: Sequence[LengthReading],
    widths: Sequence[WidthSeen],
    swatch: Sequence[SwatchGauge],
) -> tuple[TensionLook, ...]:
    """Return the looks that measurements allow: only states in which the swatch was counted.

    Lengths in one part and state are compared with the one before that lies at least 2.5 cm back.
    """
    gauges = {gauge.fabric: gauge for gauge in swatch}
    found: list[TensionLook] = []
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


def signs(
    lengths: Sequence[LengthReading],
    widths: Sequence[WidthSeen],
    swatch: Sequence[SwatchGauge],
) -> tuple[Sign, ...]:
    """Return the looks as the sequential test takes them: lengths from their start, and widths.

    The first length in a part is the start of the others; nothing after no rows is one too, with
    the edge's doubt.
    """
    gauges = {gauge.fabric: gauge for gauge in swatch}
    found: list[Sign] = []
    for fabric, gauge in gauges.items():
        row_cm = 10 / gauge.rows_per_10cm
        mine = sorted(
            (r for r in lengths if r.fabric is fabric and r.from_row == 0), key=lambda r: r.row
        )
        start: LengthReading | None = None
        for reading in mine:
            if start is None or (reading.part, reading.needle) != (start.part, start.needle):
                start = reading
                continue
            expected = (reading.row - start.row) * row_cm
            if reading.cm - start.cm >= _SHORTEST_CM and reading.row > start.row:
                error = math.hypot(_RULER_CM, _RULER_SHARE * reading.cm) / expected
                shared = (_RULER_CM if start.row else _EDGE_CM) / expected
                deviation = (reading.cm - start.cm) / expected - 1
                first = start.row + 1
                found.append(Sign(first, reading.row, deviation, error, start_error=shared))
        if gauge.stitches_per_10cm is not None:
            of_fabric = (width for width in widths if width.fabric is fabric)
            found += [_width_sign(one, gauge.stitches_per_10cm, row_cm) for one in of_fabric]
    return tuple(sorted(found, key=lambda sign: sign.seen))


def _width_sign(width: WidthSeen, stitches_per_10cm: float, row_cm: float) -> Sign:
    expected = width.stitches * 10 / stitches_per_10cm
    error = math.hypot(_RULER_CM / expected, _WIDTH_SHARE)
    if width.counted:
        error = math.hypot(_COUNT_SHARE, _HALF_STITCH / width.stitches)
    last, first = (max(1, width.row - round(cm / row_cm)) for cm in _BELOW_NEEDLE_CM)
    return Sign(first, last, width.cm / expected - 1, error, across=True, at=width.row)


def tension(
    all_looks: Sequence[TensionLook],
    evidence: Sequence[Sign] | None = None,
    felt: Sequence[tuple[int, int]] = (),
) -> Tension | None:
    """Return how the hand compares with the swatch; None before anything can be compared.

    `evidence` are the same looks as the test takes them (default: each look for itself); `felt`
    are rows that felt tight (-1), loose (+1) or even (0).
    """
    if not all_looks:
        return None
    ordered = sorted(all_looks, key=lambda look: look.row)
    if evidence is None:
        evidence = [Sign(one.first, one.row, one.deviation, one.error) for one in ordered]
    recent, error = _over_ten_cm(ordered)
    found = shift(evidence, felt) or Shift(0.0, 0.0, 1)
    sign = 1 if found.size > 0 else -1
    hand = Hand.LOOSER if found.size > 0 else Hand.TIGHTER
    since: int | None = min((look.first for look in ordered), key=lambda n: abs(n - found.since))
    if found.chance < _LIKELY:
        since = None
        little = abs(recent) >= max(_A_LITTLE, TWICE * error)
        hand = Hand.EVEN if not little else Hand.LOOSER if recent > 0 else Hand.TIGHTER
    spoken = worth_a_word(found)
    causes = (Cause.NEEDLE, Cause.YARN_FEED, Cause.REST) if spoken else ()
    return Tension(
        hand, since, recent, spoken, causes, tuple(ordered), sign * abs(found.size), found.chance
    )


def worth_a_word(found: Shift) -> bool:
    """Tell whether a change is sure and large enough to be told, and was seen twice."""
    sure = found.chance >= SURE_ENOUGH and found.before >= SEEN_BEFORE
    return sure and abs(found.size) >= WORTH_A_WORD


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


def _over_ten_cm(ordered: Sequence[TensionLook]) -> tuple[float, float]:
    """Return the mean deviation of the looks at the last 10 cm or so, and its error."""
    weight = total = 0.0
    cm = 0.0
    for look in reversed(ordered):
        share = 1 / (look.error**2 + _WANDER**2)
        weight += share
        total += share * look.deviation
        cm += look.cm
        if cm >= OVER_CM:
            break
    return total / weight, 1 / math.sqrt(weight)


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A point of the tension curve: a look, the smoothed curve with its limits, and the notes.

    `smooth` is the exponentially weighted moving average of the deviations (weight 0.3); an even
    hand stays between `low` and `high` (three standard deviations).
    """

    look: TensionLook
    smooth: float
    low: float
    high: float
    notes: tuple[str, ...]


def curve(
    all_looks: Sequence[TensionLook], notes: Iterable[tuple[int, str]] = ()
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
