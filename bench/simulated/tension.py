"""Tension: hands that stay as they are, and hands that change at a known row.

By Munden's relations (courses and wales per cm are Kc and Kw over the loop length) a hand that
pulls tighter makes stitches narrower and rows lower by the same share; so a change shows in
lengths, widths, stitch counts over 10 cm, and now and then in a remark. Swatch and hand differ by
up to 3 % all along, which is no change. ``Piece.asked`` is empty: the question after every entry of
``Piece.did`` is whether ``truth.change_row`` has passed, and ``truth.change_ratio`` is by how much.

Figures without a source named are common practice, no source.

``KINDS`` names the variants; ``piece(kind, seed)`` makes one; ``kind`` is a name or a ``Variant``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp, hypot, sqrt
from statistics import fmean
from typing import TYPE_CHECKING, Final, Literal

from bench.simulated.chance import (
    Yarn,
    a_swatch,
    a_yarn,
    nearest,
    plain_seconds,
    read_length,
    sittings,
    stream,
    student,
    times,
)
from bench.simulated.records import (
    Deed,
    Felt,
    Length,
    Measured,
    Piece,
    RowsDone,
    SessionBegan,
    StitchesCounted,
    Truth,
    WidthMeasured,
    heights,
)

if TYPE_CHECKING:
    from random import Random

FAMILY: Final = "tension"
_TAPE: Final = Fraction(1, 10)


@dataclass(frozen=True, slots=True)
class Variant:
    """What makes a kind."""

    change_percent: float = 0.0
    """Size of the change, tighter or looser; 0 is an honest hand."""
    offset_percent: tuple[float, float] = (0.0, 3.0)
    """How far hand and swatch differ all along, either way."""
    every: tuple[int, int] = (10, 20)
    """Rows between two looks (counting "every 10 to 20 rows" is common practice)."""
    looks: tuple[float, float, float] = (0.7, 0.4, 0.4)
    """Chance that a look takes the length, the width, a stitch count; a length if none."""
    remarks: bool = True
    """Whether the knitter ever says that it felt tight or loose."""
    rows: tuple[int, int] = (100, 300)
    """Fewest and most rows."""
    change_share: tuple[float, float] = (0.2, 0.6)
    """Where in the piece the change comes, as a share of its rows."""
    tape_times: float = 1.0
    """The tape's noise, multiplied."""


_EAGER: Final = (4, 8)
_SHORT: Final = (22, 50)

KINDS: Final = {
    "honest": Variant(),
    "honest, swatch agrees": Variant(offset_percent=(0.0, 0.0)),
    "honest, swatch 3 % off": Variant(offset_percent=(3.0, 3.0)),
    "honest, looks often": Variant(every=_EAGER),
    "honest, lengths only": Variant(looks=(1.0, 0.0, 0.0), remarks=False),
    "honest, short": Variant(rows=_SHORT, every=_EAGER),
    "change 3 %": Variant(3.0),
    "change 5 %": Variant(5.0),
    "change 8 %": Variant(8.0),
    "change 5 %, looks often": Variant(5.0, every=_EAGER),
    "change 8 %, looks often": Variant(8.0, every=_EAGER),
    "change 8 %, lengths only": Variant(8.0, looks=(1.0, 0.0, 0.0), remarks=False),
    "change 8 %, swatch 3 % off": Variant(8.0, offset_percent=(3.0, 3.0)),
    "change 8 %, short": Variant(8.0, rows=_SHORT, every=_EAGER),
}


def piece(kind: str | Variant, seed: int) -> Piece:
    """Return one piece."""
    name, variant = (kind, KINDS[kind]) if isinstance(kind, str) else ("variant", kind)
    choice = stream(FAMILY, seed, "choices")
    rows = choice.randint(*variant.rows)
    yarn = a_yarn(choice, (2, 3, 4, 5))
    stitches = round(choice.uniform(15, 45) * yarn.stitches_per_cm)
    share, way = choice.uniform(*variant.change_share), choice.choice((-1, 1))
    change = way * variant.change_percent / 100
    change_row = max(8, round(rows * share)) if change else None
    offset = choice.choice((-1, 1)) * choice.uniform(*variant.offset_percent) / 100

    sitting = sittings(stream(FAMILY, seed, "sittings"), rows)
    shift = [
        change if change_row is not None and row >= change_row else 0.0 for row in range(rows + 1)
    ]
    own = _wander(stream(FAMILY, seed, "hand"), sitting)
    size = [exp(moved + wandered) for moved, wandered in zip(shift, own, strict=True)]
    clock = stream(FAMILY, seed, "clock")
    seconds = plain_seconds(clock, stitches, rows)
    truth = Truth(
        heights([share / yarn.rows_per_cm for share in size[1:]]),
        (stitches,) * (rows + 1),
        tuple(stitches * yarn.grams_per_stitch * share for share in size),
        seconds,
        change_row=change_row,
        change_ratio=exp(change),
    )
    swatch = stream(FAMILY, seed, "swatch")
    per_cm = (yarn.stitches_per_cm * exp(offset), yarn.rows_per_cm * exp(offset))
    # Two swatches of one hand scatter by about 1.5 %; half a stitch in 20 is 2.5 %.
    did: list[Deed] = [SessionBegan(0.0, 0), a_swatch(swatch, per_cm, "cm", "rested", 0.015)]
    looks = _Looks(stream(FAMILY, seed, "tape"), variant, yarn, stitches, size, truth)
    felt = stream(FAMILY, seed, "remarks")
    done_at = times(clock, seconds, sitting)
    due = looks.next_after(0)
    for row in range(1, rows + 1):
        now = done_at[row]
        if sitting[row] != sitting[row - 1]:
            did.append(SessionBegan(now - seconds[row], row - 1))
        did.append(RowsDone(now, row))
        remark = _remark(felt, shift[row])
        if remark and variant.remarks:
            did.append(Felt(now, row, remark))
        if row == due:
            did += looks.look(row, now)
            due = looks.next_after(row)
    kinds = ("stockinette",) * (rows + 1)
    return Piece(
        FAMILY, name, seed, rows, truth.stitches_by_row, kinds, truth, tuple(did), asked=()
    )


def _wander(rng: Random, sitting: list[int]) -> list[float]:
    """Return the honest wandering of the log of a stitch's size.

    AR(1) of 1.5 % remembered for five rows, and 1 % from sitting to sitting.
    """
    offsets = [rng.gauss(0, 0.01) for _ in range(sitting[-1] + 1)]
    wander, logs = rng.gauss(0, 0.015), []
    for number in sitting:
        logs.append(wander + offsets[number])
        wander = 0.8 * wander + rng.gauss(0, 0.015 * sqrt(1 - 0.64))
    return logs


def _remark(rng: Random, change: float) -> Literal["tight", "loose"] | None:
    """Return what the knitter says of a row, if anything.

    False remarks once in 500 rows either way; true ones beside them, at 8 % once in 60 rows, at 5 %
    in 100, at 3 % in 170 (assumed, no source).
    """
    draw = rng.random()
    tight, loose = 0.002 + 0.2 * max(0.0, -change), 0.002 + 0.2 * max(0.0, change)
    if draw < tight:
        return "tight"
    return "loose" if draw < tight + loose else None


@dataclass(frozen=True, slots=True)
class _Looks:
    """Looks at the fabric with a tape."""

    rng: Random
    variant: Variant
    yarn: Yarn
    stitches: int
    size: list[float]
    truth: Truth

    def next_after(self, row: int) -> int:
        """Return the row of the next look."""
        return row + self.rng.randint(*self.variant.every)

    def look(self, row: int, at: float) -> list[Deed]:
        """Return what is measured: length, width, stitch count.

        A length has Student's t of 4 degrees, scale 0.2 cm and 0.5 % of it (honest rulers differ by
        0.5 cm). Widths and counts are taken below the needle, over the rows 3 to 12 below it; a
        width has 1.2 % and 0.2 cm of noise, a count is off by 1 % from place to place and said to
        half a stitch (width is distrusted more than length, common practice).
        """
        rng, noise = self.rng, self.variant.tape_times
        chosen = [rng.random() < chance for chance in self.variant.looks]
        cm = self.truth.height_cm_by_row[row]
        cm += noise * hypot(0.2, 0.005 * cm) * student(rng, 4)
        stitch_cm = fmean(self.size[max(1, row - 12) : max(2, row - 2)]) / self.yarn.stitches_per_cm
        width = self.stitches * stitch_cm
        width += noise * hypot(0.012 * width, 0.2) * rng.gauss(0, 1)
        counted = 10 / stitch_cm * exp(noise * rng.gauss(0, 0.01))
        ten = Length(Fraction(10), "cm")
        seen: list[Deed] = [
            Measured(at, row, read_length(cm, "cm", _TAPE), "rested"),
            WidthMeasured(at, row, self.stitches, read_length(width, "cm", _TAPE), "rested"),
            StitchesCounted(at, row, nearest(counted, Fraction(1, 2)), ten, "rested"),
        ]
        taken = [deed for deed, wanted in zip(seen, chosen, strict=True) if wanted]
        return taken or seen[:1]
