"""Random parts that several families share: streams, yarns, swatches, readings and the clock."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp, sqrt
from random import Random

from bench.simulated.records import CM_PER_INCH, Length, State, SwatchCounted, Unit

# Stitches per 4 in: Craft Yarn Council, Standard Yarn Weight System, categories 1 to 5.
# Metres per 100 g: category 4 as an everyday ball (100 g to 200 m); the others are from memory.
_CATEGORIES = {
    1: (27, 32, 400),
    2: (23, 26, 300),
    3: (21, 24, 240),
    4: (16, 20, 200),
    5: (12, 15, 120),
}
_KW_WET = (
    4.1  # wales per cm x loop length in cm, wet-relaxed: Munden, J. Text. Inst. 50 (1959) T448
)


def stream(family: str, seed: int, what: str) -> Random:
    """Return a generator that depends on these three only.

    The hand, the tape and the choices of a piece draw from streams of their own, so two kinds of
    one seed share their hand, and differ in nothing but what makes the kind.
    """
    return Random(f"{family}/{seed}/{what}")


@dataclass(frozen=True, slots=True)
class Yarn:
    """A yarn and the gauge it gives this hand, before anything drifts."""

    category: int
    stitches_per_cm: float
    rows_per_cm: float
    loop_cm: float
    grams_per_stitch: float


def a_yarn(rng: Random, categories: tuple[int, ...] = (1, 2, 3, 4, 5)) -> Yarn:
    """Draw a yarn.

    Rows per stitch 1.25 to 1.45: Munden's Kc/Kw are 1.29 to 1.32, a measured jersey has 1.48, and
    20 stitches by 28 rows (1.4) is common practice, no source. Loop length: Kw / stitches per cm.
    """
    category = rng.choice(categories)
    low, high, metres = _CATEGORIES[category]
    wales = rng.uniform(low, high) / (4 * CM_PER_INCH)
    loop = _KW_WET / wales
    grams = loop / 100 * (100 / (metres * rng.uniform(0.9, 1.1)))
    return Yarn(category, wales, wales * rng.uniform(1.25, 1.45), loop, grams)


def student(rng: Random, freedom: int) -> float:
    """Draw from Student's t (scale 1): a normal over the root of a mean of squares."""
    squares = sum(rng.gauss(0, 1) ** 2 for _ in range(freedom))
    return rng.gauss(0, 1) / sqrt(max(squares / freedom, 1e-9))


def nearest(value: float, step: Fraction) -> Fraction:
    """Return the multiple of ``step`` that is nearest."""
    return round(value / float(step)) * step


def read_length(cm: float, unit: Unit, step: Fraction) -> Length:
    """Return a true length (cm) read off a tape with marks ``step`` units apart, at least one."""
    value = cm / CM_PER_INCH if unit == "in" else cm
    return Length(max(step, nearest(value, step)), unit)


def a_swatch(
    rng: Random, per_cm: tuple[float, float], unit: Unit, state: State, scatter: float = 0.01
) -> SwatchCounted:
    """Count a swatch over 10 cm or 4 in, to half a stitch and half a row.

    ``per_cm`` is what the swatch has, stitches and rows per cm; ``scatter`` is the relative
    standard deviation of where on the swatch one counts (1 %: common practice, no source).
    """
    over = Length(Fraction(10), "cm") if unit == "cm" else Length(Fraction(4), "in")
    stitches, rows = (
        nearest(density * over.cm * exp(rng.gauss(0, scatter)), Fraction(1, 2))
        for density in per_cm
    )
    return SwatchCounted(0.0, 0, stitches, rows, over, state)


def sittings(rng: Random, rows: int, low: int = 15, high: int = 60) -> list[int]:
    """Return the sitting of each row (entry 0 is the cast-on), each of ``low`` to ``high`` rows.

    15 to 60 rows at a time: common practice, no source.
    """
    numbers: list[int] = []
    while len(numbers) <= rows:
        numbers += [numbers[-1] + 1 if numbers else 0] * rng.randint(low, high)
    return numbers[: rows + 1]


def times(rng: Random, seconds: tuple[float, ...], sitting: list[int]) -> tuple[float, ...]:
    """Return when each row is done (seconds), with 4 to 48 hours between two sittings."""
    now, done = 0.0, [0.0]
    for row in range(1, len(seconds)):
        if sitting[row] != sitting[row - 1]:
            now += rng.uniform(4, 48) * 3600
        now += seconds[row]
        done.append(now)
    return tuple(done)


def plain_seconds(rng: Random, stitches: int, rows: int) -> tuple[float, ...]:
    """Return an ordinary knitter's seconds for each row of a straight piece; entry 0 is 0.

    3 s a stitch (a mug sleeve of 50 x 22 stitches in 55 minutes: common practice, no source),
    give or take a third between knitters and 8 % between rows.
    """
    pace = 3 * exp(rng.gauss(0, 0.3))
    return (0.0, *(pace * stitches * exp(rng.gauss(0, 0.08)) for _ in range(rows)))
