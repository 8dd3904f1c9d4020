"""Lengths, family "ar": the hand wanders from row to row as an AR(1) process.

The logarithm of a row's height is its mean, plus AR(1), plus an offset for each sitting, plus what
makes the kind. One to six lengths are spread over the piece and read off a tape with heavy tails;
now and then one is a mistake. The unwashed heights are the same on the needle and rested; this
family measures rested. No open series of rows against measured lengths exists, so what is marked
"no source" below is common practice, no source.

``KINDS`` names the variants; ``piece(kind, seed)`` makes one; ``kind`` is a name or a ``Variant``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp, hypot, sqrt
from typing import TYPE_CHECKING, Final, Literal

from bench.simulated.chance import (
    a_swatch,
    a_yarn,
    plain_seconds,
    read_length,
    sittings,
    stream,
    student,
    times,
)
from bench.simulated.records import Piece, State, SwatchCounted, Truth, Unit, heights
from bench.simulated.telling import Reading, Story, tell

if TYPE_CHECKING:
    from random import Random

FAMILY: Final = "ar"
Swatch = Literal["none", "honest", "off"]


@dataclass(frozen=True, slots=True)
class Variant:
    """What makes a kind. None means: drawn anew for each piece."""

    change: Literal["none", "told", "untold"] = "none"
    """Told: by a needle change of a quarter to half a millimetre, or one size (common practice)."""
    change_percent: tuple[float, float] = (3.0, 8.0)
    """Size of a change of gauge, either way; drift is worth a word from 5 % (common practice)."""
    trend_percent: float = 0.0
    """Change of row height over 100 rows, either way."""
    walk_percent: float = 0.0
    """Standard deviation of a random walk's step (a row); 0.3 is 3 % over 100 rows (no source)."""
    edge_cm: tuple[float, float] | None = None
    """Size of what an edge or hem adds or removes once (cm)."""
    sitting_percent: float = 1.0
    """Standard deviation of a sitting's offset (no source)."""
    unit: Unit = "cm"
    washed: Literal["no", "both", "washed"] = "no"
    """Target unwashed; or washed, the swatch counted both before and after, or after only."""
    tape_times: float = 1.0
    """The tape's noise, multiplied."""
    slip_share: float = 0.03
    """Share of lengths that are mistakes of 1 to 3 cm (no source)."""
    swatch: Swatch | None = None
    """Honest: within 1 % of the hand (standard deviation); off: 3 % away, either way."""
    measurements: int | None = None
    """1 to 6: three to six are expected in a piece (common practice), fewer in a short one."""
    size: Literal["short", "long"] | None = None
    """Short: 20 to 50 rows (a mug sleeve has 22, a bottle sleeve 50); long: 100 to 400."""


KINDS: Final = {
    "steady": Variant(),
    "steady short": Variant(size="short"),
    "steady long": Variant(size="long"),
    "no swatch": Variant(swatch="none"),
    "swatch off": Variant(swatch="off"),
    "needle told": Variant(change="told"),
    "untold change": Variant(change="untold"),
    "trend": Variant(trend_percent=4.0),
    "walk": Variant(walk_percent=0.3),
    "sittings": Variant(sitting_percent=3.0),
    "edge": Variant(edge_cm=(0.5, 1.5)),
    "inches": Variant(unit="in"),
    "washed, both known": Variant(washed="both", swatch="honest"),
    "washed, one known": Variant(washed="washed", swatch="honest"),
    "tape x2": Variant(tape_times=2.0),
    "tape x4": Variant(tape_times=4.0),
}


def piece(kind: str | Variant, seed: int) -> Piece:
    """Return one piece."""
    name, variant = (kind, KINDS[kind]) if isinstance(kind, str) else ("variant", kind)
    size = variant.size or stream(FAMILY, seed, "size").choice(("short", "long"))
    choice = stream(FAMILY, seed, f"choices {size}")
    planned = choice.randint(20, 50) if size == "short" else choice.randint(100, 400)
    yarn = a_yarn(choice, (2, 3, 4, 5))
    stitches = round(choice.uniform(12, 60) * yarn.stitches_per_cm)
    swatch_kinds: tuple[Swatch, ...] = ("none", "honest", "off")
    drawn = choice.choices(swatch_kinds, (1, 2, 1))[0]
    swatch = variant.swatch or drawn
    change_row = round(planned * choice.uniform(0.1, 0.9))
    change = choice.choice((-1, 1)) * choice.uniform(*variant.change_percent) / 100
    trend = choice.choice((-1, 1)) * variant.trend_percent / 100 / 100
    # 28 rows unwashed are 26 washed to 10 cm: 1.08; Munden's Kc dry over fully relaxed: 5.0/5.5.
    washed_ratio = choice.uniform(0.91, 1.08)
    edge = choice.choice((-1, 1)) * choice.uniform(*variant.edge_cm) if variant.edge_cm else 0.0

    rows = round(planned * 1.6) + 40
    sitting = sittings(stream(FAMILY, seed, "sittings"), rows)
    if variant.change == "none":
        change_row, change = rows + 1, 0.0
    logs = _hand(stream(FAMILY, seed, "hand"), variant, sitting)
    row_cm = [
        exp(logs[row] + trend * row + (change if row >= change_row else 0.0)) / yarn.rows_per_cm
        for row in range(1, rows + 1)
    ]
    clock = stream(FAMILY, seed, "clock")
    seconds = plain_seconds(clock, stitches, rows)
    truth = Truth(
        heights(row_cm, edge),
        (stitches,) * (rows + 1),
        (yarn.grams_per_stitch * stitches,) * (rows + 1),
        seconds,
        washed_ratio,
        change_row if change else None,
        exp(change),
    )
    state: State = "rested" if variant.washed == "no" else "washed"
    wanted = truth.height_cm_by_row[planned] * (washed_ratio if state == "washed" else 1.0)
    step = Fraction(1, 4) if variant.unit == "in" else Fraction(1, 2)
    story = Story(
        FAMILY,
        name,
        seed,
        truth,
        read_length(wanted, variant.unit, step),
        state,
        _swatches(
            stream(FAMILY, seed, "swatch"),
            variant,
            swatch,
            (yarn.stitches_per_cm, yarn.rows_per_cm),
            washed_ratio,
        ),
        _readings(stream(FAMILY, seed, f"tape {size}"), variant, truth, planned),
        _needles(change_row, change) if variant.change == "told" else {},
        times(clock, seconds, sitting),
        sitting,
    )
    return tell(story)


def _hand(rng: Random, variant: Variant, sitting: list[int]) -> list[float]:
    """Return the log of each row's height against the mean.

    AR(1) with 0.9 from row to row (remembered for about ten rows) and a standard deviation of 1 to
    3 % between rows: no source; a tolerance of one row in 10 cm (3.6 %) is common practice.
    """
    spread, memory = rng.uniform(0.01, 0.03), 0.9
    wander, walk = rng.gauss(0, spread), 0.0
    offsets = [rng.gauss(0, 1) * variant.sitting_percent / 100 for _ in range(sitting[-1] + 1)]
    logs = []
    for number in sitting:
        logs.append(wander + walk + offsets[number])
        wander = memory * wander + rng.gauss(0, spread * sqrt(1 - memory**2))
        walk += rng.gauss(0, 1) * variant.walk_percent / 100
    return logs


def _swatches(
    rng: Random,
    variant: Variant,
    swatch: Swatch,
    per_cm: tuple[float, float],
    washed_ratio: float,
) -> list[SwatchCounted]:
    """Return the swatch's counts, unwashed first."""
    away = {"none": 0.0, "honest": rng.gauss(0, 0.01), "off": rng.choice((-0.03, 0.03))}[swatch]
    across, along = (density * exp(away) for density in per_cm)
    if swatch == "none":
        return []
    counted = []
    if variant.washed != "washed":
        counted.append(a_swatch(rng, (across, along), variant.unit, "rested"))
    if variant.washed != "no":
        washed = (across, along / washed_ratio)
        counted.append(a_swatch(rng, washed, variant.unit, "washed"))
    return counted


def _readings(rng: Random, variant: Variant, truth: Truth, planned: int) -> list[Reading]:
    """Spread the lengths over the piece, and read each off the tape.

    Student's t with 4 degrees of freedom and a scale of 0.2 cm, beside 0.5 % of the length: honest
    rulers differ by 0.5 cm (common practice). Read to a millimetre, a half centimetre by three
    knitters in ten; in inches to a quarter or an eighth.
    """
    drawn = rng.randint(1, 6)
    count = variant.measurements or drawn
    step = rng.choices((Fraction(1, 10), Fraction(1, 2)), (7, 3))[0]
    if variant.unit == "in":
        step = rng.choice((Fraction(1, 4), Fraction(1, 8)))
    first, last = 0.15, 0.9
    readings = []
    for number in range(count):
        place = first + (last - first) * (number + rng.random()) / count
        row = max(5, round(planned * place))
        cm = truth.height_cm_by_row[row]
        cm += variant.tape_times * hypot(0.2, 0.005 * cm) * student(rng, 4)
        off = rng.choice((-1, 1)) * rng.uniform(1, 3)
        slip = rng.random() < variant.slip_share
        seen = max(0.1, cm + off) if slip else max(0.1, cm)
        readings.append(Reading(row, read_length(seen, variant.unit, step), "rested", slip))
    return readings


def _needles(change_row: int, change: float) -> dict[int, tuple[float, float]]:
    """Return the needle change before ``change_row``: thicker for taller rows.

    Half a millimetre for a change of more than 5 %, a quarter below (common practice: "a quarter to
    half a millimetre, then swatch again").
    """
    thicker = (0.5 if abs(change) > 0.05 else 0.25) * (1 if change > 0 else -1)
    return {change_row - 1: (4.0, 4.0 + thicker)}
