"""Knitters whose hand, tape and edge are not what they seem: what a forecast is tuned against.

The knitters of `simulated_knitters` behave as announced. These do not: a hand that changes and says
nothing, one that is another every evening, a slow walk, a trend, a hem, a tape that slips now and
then. Each can be measured with a given number of measurements and a noisier tape. The figures are
common practice, no source. Everything follows from a seed.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate

from bench.simulated_knitters import Reading, Stretch, Swatch
from engine.fabric import Fabric


class Surprise(StrEnum):
    """What nobody has announced."""

    NONE = "steady"
    TREND = "trend"
    CHANGE = "untold change"
    SESSIONS = "sessions"
    WALK = "slow walk"
    HEM = "hem or flare"
    SLIPS = "tape slips"
    HANGS = "heavy piece"


@dataclass(frozen=True, slots=True)
class Piece:
    """What a knitter can know when she asks how far it is, and (`rows_left`) how it really went."""

    kind: Surprise
    readings: tuple[Reading, ...]
    stretches: tuple[Stretch, ...]
    row_now: int
    target_cm: float
    target_fabric: Fabric
    swatch: Swatch | None
    rows_left: int


def simulate(kind: Surprise, seed: int, measurements: int | None = None, noise: float = 1) -> Piece:
    """Knit one piece; `noise` times the usual error of the tape, 1 to 6 measurements."""
    rng = random.Random(f"hands-{kind}-{seed}")
    height = 10 / rng.uniform(18, 38)
    rested = math.exp(rng.gauss(-0.01, 0.035))
    ratios = {
        Fabric.RESTED: rested,
        Fabric.ON_NEEDLE: rested * math.exp(rng.gauss(0.005, 0.012)),
        Fabric.WASHED: 1.0,
    }
    planned = round(math.exp(rng.uniform(math.log(30), math.log(360))))
    hem = rng.choice((1, 1, 1, -1)) * rng.uniform(0.4, 1.6) if kind is Surprise.HEM else 0.0
    edge = rng.uniform(0.0, 0.3) + hem
    rows = [height * (1 + one) for one in _deviations(rng, kind, planned)]
    lengths = list(accumulate(rows, initial=edge))
    target_fabric = rng.choice(list(ratios))
    wanted = planned * height * math.exp(rng.gauss(0.0, 0.05)) * ratios[target_fabric]
    target_cm = round(2 * wanted) / 2
    whole = next(row for row, cm in enumerate(lengths) if cm * ratios[target_fabric] >= target_cm)
    row_now = max(4, round(whole * rng.uniform(0.15, 0.95)))
    count = measurements or rng.randint(1, 6)
    usual = rng.choice((Fabric.ON_NEEDLE, Fabric.RESTED))
    first = max(3, row_now // 6)
    at = sorted(rng.randint(first, row_now) for _ in range(count))
    tape = noise * rng.uniform(0.1, 0.3)
    heavy = rng.uniform(0.005, 0.03) if kind is Surprise.HANGS else 0.0
    marks = rng.choice((0.1, 0.5, 0.5, 1.0))
    readings = []
    for row in at:
        true = lengths[row] * ratios[usual]
        hung = true * (1 + heavy * true / 50) if usual is Fabric.ON_NEEDLE else true
        readings.append(Reading(row, _read(rng, kind, hung, tape, marks), usual))
    mood = math.exp(rng.gauss(0.0, 0.03))
    counts = [_count(rng, height * mood * ratio) for ratio in (rested, 1.0)]
    known = target_fabric is Fabric.WASHED or rng.random() < 0.75
    return Piece(
        kind,
        tuple(readings),
        (Stretch("body", "4 mm", 1, None),),
        row_now,
        target_cm,
        target_fabric,
        Swatch(*counts) if known else None,
        max(0, whole - row_now),
    )


def _deviations(rng: random.Random, kind: Surprise, planned: int) -> list[float]:
    """Return how far each row is from the knitter's first row, relative."""
    wander, memory = rng.uniform(0.005, 0.02), math.exp(-1 / rng.uniform(6, 40))
    uneven = rng.uniform(0.02, 0.06)
    sign = rng.choice((-1, 1))
    trend = sign * rng.uniform(0.02, 0.06) / 100 if kind is Surprise.TREND else 0.0
    change = sign * rng.uniform(0.03, 0.08) if kind is Surprise.CHANGE else 0.0
    change_at = planned * rng.uniform(0.1, 0.9)
    evenings = rng.uniform(0.015, 0.04) if kind is Surprise.SESSIONS else 0.0
    step = rng.uniform(0.001, 0.003) if kind is Surprise.WALK else 0.0
    state, tonight, walk, evening_ends = rng.gauss(0.0, wander), 0.0, 0.0, 0
    found = []
    for row in range(2 * planned + 60):
        state = memory * state + rng.gauss(0.0, wander * math.sqrt(1 - memory**2))
        if row >= evening_ends:
            tonight, evening_ends = rng.gauss(0.0, evenings), row + rng.randint(8, 40)
        walk += rng.gauss(0.0, step)
        jump = change if row >= change_at else 0.0
        moved = max(-0.3, trend * row) + walk + tonight + jump
        found.append(state + moved + rng.gauss(0.0, uneven))
    return found


def _read(rng: random.Random, kind: Surprise, true: float, tape: float, marks: float) -> float:
    """Return what is read off a tape with an error of `tape` cm, to the next of its `marks`."""
    slip = rng.gauss(0.0, 1.5) if kind is Surprise.SLIPS and rng.random() < 0.15 else 0.0
    read = true * (1 + rng.gauss(0.0, 0.006)) + rng.gauss(0.0, tape) + slip
    return max(marks, round(read / marks) * marks)


def _count(rng: random.Random, height: float) -> float:
    over = rng.uniform(8, 12)
    return round(2 * (over / height + rng.gauss(0.0, 0.35))) / 2 / over * 10
