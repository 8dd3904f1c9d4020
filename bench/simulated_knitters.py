"""Knitters made of random numbers, to find out how well a forecast knows what it does not know.

No open series of row counts against measured lengths of hand knitting is known, so pieces are
made up here, row by row, from how knitting behaves: the piece never quite follows its swatch, the
hand wanders, a row is never like the last, rulers are read to the half centimetre and stretch the
fabric, rib is denser than the body, a needle changes the gauge. What the knitter can know
(readings, swatch, row) is kept apart from the truth (how many rows it really took).

The figures are common practice, no source, unless a comment says otherwise. This module was
written before any estimator and imports none, so that it cannot flatter one. Everything follows
from a seed.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from enum import StrEnum

from engine.fabric import Fabric


class Kind(StrEnum):
    """A kind of knitter, or of piece, whose forecasts are scored apart."""

    STEADY = "steady"
    DRIFTING = "drifting"
    CARELESS_RULER = "careless ruler"
    FEW_MEASUREMENTS = "few measurements"
    RIB_THEN_BODY = "rib then body"
    NEEDLE_CHANGE = "needle change"


@dataclass(frozen=True, slots=True)
class Reading:
    """One length that she measured: rows done, what the ruler said, how the piece lay."""

    row: int
    cm: float
    fabric: Fabric


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows `first` to `last` in one stitch on one needle (`last` None: to the end of the piece)."""

    part: str
    needle: str
    first: int
    last: int | None


@dataclass(frozen=True, slots=True)
class Swatch:
    """What the swatch said: rows to 10 cm of the body stitch, before and after the wash."""

    rested: float
    washed: float


@dataclass(frozen=True, slots=True)
class Piece:
    """What a knitter can know when she asks how far it is, and (`rows_left`) how it really went."""

    kind: Kind
    readings: tuple[Reading, ...]
    stretches: tuple[Stretch, ...]
    row_now: int
    target_cm: float
    target_fabric: Fabric
    swatch: Swatch | None
    rows_left: int


@dataclass(frozen=True, slots=True)
class _Hand:
    """One knitter's true habits; heights are relative to the pattern's washed row."""

    height: float
    """Washed height of one body row, cm."""
    on_needle: float
    """Height on the needle over height washed."""
    rested: float
    wander: float
    """Standard deviation of the slow wander of tension, relative."""
    memory: float
    """Correlation of the wander from one row to the next."""
    row_noise: float
    drift: float
    """Whole change of row height from the start of the drift to the end of the piece, relative."""
    drift_from: float
    """Where the drift starts, as a part of the piece."""


def _hand(rng: random.Random, *, drifting: bool) -> _Hand:
    rows_to_10_cm = rng.uniform(22, 36)
    # A wash changes the height of a row by a few per cent either way; on the needle the piece hangs
    # a little. 28 rows unwashed against 26 washed is 7 %.
    rested = math.exp(rng.gauss(-0.01, 0.04))
    return _Hand(
        height=10 / rows_to_10_cm,
        on_needle=rested * math.exp(rng.gauss(0.005, 0.012)),
        rested=rested,
        wander=rng.uniform(0.005, 0.02),
        memory=math.exp(-1 / rng.uniform(8, 40)),
        row_noise=rng.uniform(0.02, 0.06),
        drift=rng.choice((-1, 1)) * rng.uniform(0.04, 0.12) if drifting else 0.0,
        drift_from=rng.uniform(0.0, 0.5),
    )


def _swatch(rng: random.Random, hand: _Hand) -> Swatch:
    """Count a swatch: the knitter of a swatch is not quite the knitter of the piece."""
    mood = math.exp(rng.gauss(0.0, 0.03))
    over_cm = rng.uniform(8, 12)
    counts = []
    for ratio in (hand.rested, 1.0):
        rows = over_cm / (hand.height * mood * ratio) + rng.gauss(0.0, 0.35)
        counts.append(round(2 * rows) / 2 / over_cm * 10)
    return Swatch(rested=counts[0], washed=counts[1])


def _row_heights(
    rng: random.Random, hand: _Hand, rows: int, regimes: list[tuple[int, float]]
) -> list[float]:
    """Return the washed height of each row in cm; `regimes` are (first row, relative height)."""
    heights = []
    wander = rng.gauss(0.0, hand.wander)
    fresh = hand.wander * math.sqrt(1 - hand.memory**2)
    start = hand.drift_from * rows
    for row in range(1, rows + 1):
        wander = hand.memory * wander + rng.gauss(0.0, fresh)
        gone = max(0.0, row - start) / (rows - start)
        relative = next(value for first, value in reversed(regimes) if row >= first)
        deviation = wander + hand.drift * gone + rng.gauss(0.0, hand.row_noise)
        heights.append(hand.height * relative * (1 + deviation))
    return heights


def simulate(kind: Kind, seed: int) -> Piece:
    """Knit one piece of the kind; the same kind and seed give the same piece."""
    rng = random.Random(f"{kind}-{seed}")
    hand = _hand(rng, drifting=kind is Kind.DRIFTING)
    swatch = _swatch(rng, hand)
    nominal_rows = rng.randint(40, 220)
    stretches, regimes = _layout(rng, kind, nominal_rows)
    target_fabric = rng.choice((Fabric.WASHED, Fabric.ON_NEEDLE, Fabric.RESTED))
    to_target = {
        Fabric.WASHED: 1.0,
        Fabric.ON_NEEDLE: hand.on_needle,
        Fabric.RESTED: hand.rested,
    }
    # She plans by the pattern: the target is a length, not the rows that it will take.
    planned = nominal_rows * hand.height * math.exp(rng.gauss(0.0, 0.05))
    target_cm = round(planned * to_target[target_fabric] * 2) / 2
    heights = _row_heights(rng, hand, 2 * nominal_rows + 40, regimes)
    edge_cm = rng.uniform(0.0, 0.3)
    lengths = [edge_cm]
    for height in heights:
        lengths.append(lengths[-1] + height)
    whole = next(
        row for row, cm in enumerate(lengths) if cm * to_target[target_fabric] >= target_cm
    )
    row_now = round(whole * rng.uniform(0.15, 0.95))
    readings = _measure(rng, kind, lengths, row_now, hand)
    return Piece(
        kind=kind,
        readings=readings,
        stretches=stretches,
        row_now=row_now,
        target_cm=target_cm,
        target_fabric=target_fabric,
        swatch=swatch if rng.random() < 0.8 or target_fabric is Fabric.WASHED else None,
        rows_left=whole - row_now,
    )


def _layout(
    rng: random.Random, kind: Kind, rows: int
) -> tuple[tuple[Stretch, ...], list[tuple[int, float]]]:
    """Return the stretches of the piece and the (first row, relative height) of each."""
    if kind is Kind.RIB_THEN_BODY:
        rib = rng.randint(6, max(7, rows // 3))
        # Rib of 32 rows to 10 cm against a body of 28 is 12.5 % shorter.
        height = 1 / rng.uniform(1.03, 1.22)
        return (
            Stretch("rib", "4.5 mm", 1, rib),
            Stretch("body", "4.5 mm", rib + 1, None),
        ), [(1, height), (rib + 1, 1.0)]
    if kind is Kind.NEEDLE_CHANGE:
        at = rng.randint(rows // 5, 4 * rows // 5)
        # A quarter to half a millimetre is 2 to 7 % of the gauge.
        change = 1 + rng.choice((-1, 1)) * rng.uniform(0.02, 0.07)
        return (
            Stretch("body", "4.5 mm", 1, at),
            Stretch("body", "4 mm" if change < 1 else "5 mm", at + 1, None),
        ), [(1, 1.0), (at + 1, change)]
    return (Stretch("body", "4.5 mm", 1, None),), [(1, 1.0)]


def _measure(
    rng: random.Random, kind: Kind, lengths: list[float], row_now: int, hand: _Hand
) -> tuple[Reading, ...]:
    """Lay a ruler on the piece now and then, up to the row where the question is asked."""
    count = rng.randint(0, 2) if kind is Kind.FEW_MEASUREMENTS else rng.randint(3, 6)
    # Honest rulers differ by half a centimetre; that is about two standard deviations.
    ruler = 0.5 if kind is Kind.CARELESS_RULER else rng.uniform(0.1, 0.3)
    stretched = 0.012 if kind is Kind.CARELESS_RULER else 0.006
    usual = rng.choice((Fabric.ON_NEEDLE, Fabric.RESTED))
    readings = []
    first = min(max(4, row_now // 6), row_now)
    for row in sorted(rng.randint(first, row_now) for _ in range(count)):
        other = Fabric.RESTED if usual is Fabric.ON_NEEDLE else Fabric.ON_NEEDLE
        fabric = usual if rng.random() < 0.9 else other
        ratio = hand.on_needle if fabric is Fabric.ON_NEEDLE else hand.rested
        true = lengths[row] * ratio
        read = true * (1 + rng.gauss(0.0, stretched)) + rng.gauss(0.0, ruler)
        readings.append(Reading(row, max(0.5, round(read * 2) / 2), fabric))
    return tuple(readings)


@dataclass(frozen=True, slots=True)
class Weighing:
    """Rows done, and what the scale said of the yarn that is left, in grams."""

    row: int
    grams: float


@dataclass(frozen=True, slots=True)
class YarnPiece:
    """A piece near the end of its yarn: what she can know, and (`lasts`) whether it was enough."""

    weighings: tuple[Weighing, ...]
    resolution_g: float
    row_now: int
    rows_whole: int
    bind_off_rows: float
    """The yarn of bind-off and end, counted in rows of yarn (known to her from the width)."""
    lasts: bool


def simulate_yarn(seed: int) -> YarnPiece:
    """Knit with a weighed ball; short and ample balls are equally common."""
    rng = random.Random(f"yarn-{seed}")
    rows = rng.randint(30, 200)
    per_row = rng.uniform(0.3, 3.0)
    resolution = rng.choice((1.0, 1.0, 0.1))
    row_noise = rng.uniform(0.02, 0.06)
    wander, memory = rng.uniform(0.005, 0.02), math.exp(-1 / rng.uniform(8, 40))
    bind_off_rows = rng.uniform(1.2, 3.0)
    state = rng.gauss(0.0, wander)
    used = [0.0]
    for _ in range(rows):
        state = memory * state + rng.gauss(0.0, wander * math.sqrt(1 - memory**2))
        used.append(used[-1] + per_row * (1 + state + rng.gauss(0.0, row_noise)))
    kept_back = bind_off_rows * per_row * math.exp(rng.gauss(0.0, 0.05))
    ball = (used[-1] + kept_back) * math.exp(rng.gauss(0.0, 0.06))
    row_now = round(rows * rng.uniform(0.2, 0.95))
    at = sorted({0, row_now, *(rng.randint(1, row_now) for _ in range(rng.randint(0, 4)))})
    weighings = []
    for row in at:
        true = ball - used[row] + rng.gauss(0.0, 0.2 * resolution)
        weighings.append(Weighing(row, max(0.0, round(true / resolution) * resolution)))
    return YarnPiece(
        weighings=tuple(weighings),
        resolution_g=resolution,
        row_now=row_now,
        rows_whole=rows,
        bind_off_rows=bind_off_rows,
        lasts=used[-1] + kept_back <= ball,
    )


@dataclass(frozen=True, slots=True)
class TensionCheck:
    """One look at the tension: rows and rested length since the last look, and the width."""

    row: int
    rows_since: int
    cm_since: float
    width_cm: float


@dataclass(frozen=True, slots=True)
class TensionPiece:
    """A long strip checked every few rows; from `drift_from_row` (None: never) the hand changes."""

    checks: tuple[TensionCheck, ...]
    rows_to_10_cm: float
    stitches_to_10_cm: float
    stitches: int
    drift_from_row: int | None
    drift: float


def simulate_tension(
    seed: int, *, rows: int, drift: float, drift_from_row: int | None, every: int = 10
) -> TensionPiece:
    """Knit a strip of `rows` rows and check it every `every` rows; `drift` > 0 is looser."""
    rng = random.Random(f"tension-{seed}")
    rows_to_10_cm, stitches_to_10_cm = rng.uniform(24, 32), rng.uniform(17, 23)
    stitches = rng.randint(40, 90)
    wander, memory = rng.uniform(0.005, 0.015), math.exp(-1 / rng.uniform(8, 40))
    row_noise = rng.uniform(0.02, 0.05)
    ruler = rng.uniform(0.1, 0.25)
    state = rng.gauss(0.0, wander)
    checks, cm = [], 0.0
    for row in range(1, rows + 1):
        state = memory * state + rng.gauss(0.0, wander * math.sqrt(1 - memory**2))
        shift = drift if drift_from_row is not None and row > drift_from_row else 0.0
        cm += 10 / rows_to_10_cm * (1 + state + shift + rng.gauss(0.0, row_noise))
        if row % every == 0:
            width = stitches / stitches_to_10_cm * 10 * (1 + state + shift)
            checks.append(
                TensionCheck(
                    row=row,
                    rows_since=every,
                    cm_since=round((cm + rng.gauss(0.0, ruler)) * 4) / 4,
                    width_cm=round((width + rng.gauss(0.0, ruler)) * 4) / 4,
                )
            )
            cm = 0.0
    return TensionPiece(
        tuple(checks), rows_to_10_cm, stitches_to_10_cm, stitches, drift_from_row, drift
    )
