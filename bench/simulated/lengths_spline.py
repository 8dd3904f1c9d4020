"""Lengths, family "spline": the hand follows a smooth curve over the rows, with other habits.

The logarithm of a row's height is a cubic (Catmull-Rom) through a few random knots, no noise from
row to row. The tape: bursts of lengths within a few rows, mostly read to half a centimetre, a tape
that the weight of the piece stretches away from the truth always the same way, and now and then a
length taken from the needle's other side, so that the edge of the cast-on is forgotten. This family
measures on the needle (the heights of the truth are the same on the needle and rested).

Nothing here has a source but the yarns: habits and figures are common practice, no source.

``KINDS`` names the variants; ``piece(kind, seed)`` makes one; ``kind`` is a name or a ``Variant``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp
from typing import TYPE_CHECKING, Final, Literal

from bench.simulated.chance import (
    a_swatch,
    a_yarn,
    plain_seconds,
    read_length,
    sittings,
    stream,
    times,
)
from bench.simulated.records import Piece, SwatchCounted, Truth, Unit, heights
from bench.simulated.telling import Reading, Story, tell

if TYPE_CHECKING:
    from random import Random

FAMILY: Final = "spline"


@dataclass(frozen=True, slots=True)
class Variant:
    """What makes a kind. None means: drawn anew for each piece."""

    swing_percent: float = 2.0
    """Standard deviation of a knot of the curve, in % of a row's height."""
    knots: tuple[int, int] = (3, 6)
    """Fewest and most knots over the planned rows."""
    burst: tuple[int, int] = (1, 3)
    """Fewest and most lengths taken at one place, within three rows of each other."""
    places: tuple[int, int] = (1, 3)
    """Fewest and most places where the knitter measures."""
    stretch_percent: tuple[float, float] = (0.0, 0.0)
    """How much too long a hanging piece is read at 50 cm; grows with its length, up to 100 cm."""
    forget_share: float = 0.05
    """Share of lengths without the cast-on edge: 0.4 to 1.2 cm short."""
    step: Fraction | None = None
    """What a length is read to (unit spoken): 1/2 by four in five, else 1/10; in inches 1/4."""
    unit: Unit = "cm"
    tape_times: float = 1.0
    """The tape's noise, multiplied."""
    swatch: Literal["none", "honest", "off"] | None = None
    """Honest: within 1.5 % of the hand (standard deviation); off: 3 % away, either way."""
    size: Literal["short", "long"] | None = None
    """Short: 20 to 50 rows; long: 80 to 300."""


KINDS: Final = {
    "smooth": Variant(),
    "smooth short": Variant(size="short"),
    "smooth long": Variant(size="long"),
    "wide swing": Variant(swing_percent=4.0),
    "many knots": Variant(swing_percent=3.0, knots=(8, 14)),
    "bursts": Variant(burst=(3, 4), places=(1, 2)),
    "heavy piece": Variant(stretch_percent=(1.0, 3.0), size="long"),
    "forgets the edge": Variant(forget_share=0.25),
    "half centimetres": Variant(step=Fraction(1, 2)),
    "whole centimetres": Variant(step=Fraction(1)),
    "inches": Variant(unit="in"),
    "no swatch": Variant(swatch="none"),
    "swatch off": Variant(swatch="off"),
    "tape x2": Variant(tape_times=2.0),
    "tape x4": Variant(tape_times=4.0),
}


def piece(kind: str | Variant, seed: int) -> Piece:
    """Return one piece."""
    name, variant = (kind, KINDS[kind]) if isinstance(kind, str) else ("variant", kind)
    size = variant.size or stream(FAMILY, seed, "size").choice(("short", "long"))
    choice = stream(FAMILY, seed, f"choices {size}")
    planned = choice.randint(20, 50) if size == "short" else choice.randint(80, 300)
    yarn = a_yarn(choice, (1, 3, 4, 5))
    stitches = round(choice.uniform(15, 50) * yarn.stitches_per_cm)
    drawn = choice.choices(("none", "honest", "off"), (1, 3, 1))[0]
    swatch = variant.swatch or drawn

    rows = round(planned * 1.6) + 40
    logs = _curve(stream(FAMILY, seed, "hand"), variant, planned, rows)
    clock = stream(FAMILY, seed, "clock")
    seconds = plain_seconds(clock, stitches, rows)
    sitting = sittings(clock, rows, 6, 40)
    truth = Truth(
        heights([exp(log) / yarn.rows_per_cm for log in logs[1:]]),
        (stitches,) * (rows + 1),
        (yarn.grams_per_stitch * stitches,) * (rows + 1),
        seconds,
    )
    step = Fraction(1, 4) if variant.unit == "in" else Fraction(1, 2)
    counted: list[SwatchCounted] = []
    if swatch != "none":
        rng = stream(FAMILY, seed, f"swatch {swatch}")
        away = rng.gauss(0, 0.015) if swatch == "honest" else rng.choice((-0.03, 0.03))
        per_cm = (yarn.stitches_per_cm * exp(away), yarn.rows_per_cm * exp(away))
        counted.append(a_swatch(rng, per_cm, variant.unit, "rested"))
    story = Story(
        FAMILY,
        name,
        seed,
        truth,
        read_length(truth.height_cm_by_row[planned], variant.unit, step),
        "needle",
        counted,
        _readings(stream(FAMILY, seed, f"tape {size}"), variant, truth, planned),
        {},
        times(clock, seconds, sitting),
        sitting,
    )
    return tell(story)


def _curve(rng: Random, variant: Variant, planned: int, rows: int) -> list[float]:
    """Return the log of each row's height against the mean: Catmull-Rom through random knots."""
    apart = max(4.0, planned / rng.randint(*variant.knots))
    count = int(rows / apart) + 4
    knots = [rng.gauss(0, variant.swing_percent / 100) for _ in range(count)]
    logs = []
    for row in range(rows + 1):
        place = 1 + row / apart
        number = min(int(place), count - 3)
        t = place - number
        a, b, c, d = knots[number - 1 : number + 3]
        logs.append(
            b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
        )
    return logs


def _readings(rng: Random, variant: Variant, truth: Truth, planned: int) -> list[Reading]:
    """Choose the places, and read a burst of lengths at each.

    The noise is a normal of 0.2 cm, and three times that in one length of ten (careless).
    """
    step = variant.step or rng.choices((Fraction(1, 2), Fraction(1, 10)), (4, 1))[0]
    if variant.unit == "in" and variant.step is None:
        step = Fraction(1, 4)
    stretch = rng.uniform(*variant.stretch_percent) / 100
    readings = []
    for place in sorted(rng.uniform(0.15, 0.92) for _ in range(rng.randint(*variant.places))):
        for _ in range(rng.randint(*variant.burst)):
            row = max(5, round(planned * place) + rng.randint(0, 3))
            cm = truth.height_cm_by_row[row]
            cm += cm * stretch * min(cm / 50, 2)
            careless = 3 if rng.random() < 0.1 else 1
            cm += variant.tape_times * careless * rng.gauss(0, 0.2)
            short = rng.uniform(0.4, 1.2)
            forgot = rng.random() < variant.forget_share
            seen = max(0.1, cm - short if forgot else cm)
            readings.append(Reading(row, read_length(seen, variant.unit, step), "needle", forgot))
    return readings
