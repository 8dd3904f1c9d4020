"""Yarn: what each row takes, what the scale says, and whether the ball lasts.

A row takes its stitches times the yarn of one stitch times its kind, with a hand that wanders by a
few per cent. Cast-on, bind-off and tails are in the truth. What is weighed is the ball in work; at
row 0 the cast-on is already in the piece. When a ball is nearly used up and another is waiting, its
end is set aside and the other is joined. Ripping back winds the yarn back onto the ball in work,
whole; the same rows knitted again take the same again. If the yarn runs out the story ends there.

Throughout, grams in the piece + grams of the ball in work + grams set aside = all balls begun.

``KINDS`` names the variants; ``piece(kind, seed)`` makes one; ``kind`` is a name or a ``Variant``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from math import exp, sqrt
from typing import TYPE_CHECKING, Final, Literal

from bench.simulated.chance import Yarn, a_yarn, nearest, plain_seconds, stream
from bench.simulated.records import (
    BallJoined,
    Deed,
    Piece,
    RippedBack,
    RowsDone,
    SessionBegan,
    SwatchWeighed,
    Truth,
    Weighed,
    YarnToEnd,
    heights,
)
from bench.simulated.yarn_shapes import SHAPES

if TYPE_CHECKING:
    from random import Random

FAMILY: Final = "yarn"


@dataclass(frozen=True, slots=True)
class Variant:
    """What makes a kind. None means: drawn anew for each piece."""

    shape: str = "straight"
    """A name in ``SHAPES``."""
    scale: Fraction = Fraction(1)
    """What the scale can tell apart (g): 1/10, 1, 2, 5 or 10; common practice."""
    joined: Literal["no", "weighed", "unweighed"] = "no"
    """Whether the yarn is in two balls, of different weights, and the second weighed on joining."""
    ripped: bool = False
    """Whether one to three times 2 to 12 rows are ripped back."""
    swatch: bool = False
    """Whether a swatch of every kind of stitch is weighed first."""
    weighings: int | None = None
    """2 to 6, the first at row 0 seven times in ten; fewer where the yarn runs out before."""
    enough: tuple[float, float] = (0.8, 1.3)
    """Yarn given, divided by what the piece needs."""


KINDS: Final = {
    "straight": Variant(),
    "short": Variant("short"),
    "short, 0.1 g": Variant("short", Fraction(1, 10)),
    "shawl": Variant("shawl"),
    "cap": Variant("cap"),
    "yoke": Variant("yoke"),
    "ribbed": Variant("ribbed"),
    "ribbed, swatches": Variant("ribbed", Fraction(1, 10), swatch=True),
    "lace": Variant("lace"),
    "lace, swatches": Variant("lace", Fraction(1, 10), swatch=True),
    "straight, 0.1 g": Variant(scale=Fraction(1, 10)),
    "straight, 2 g": Variant(scale=Fraction(2)),
    "straight, 5 g": Variant(scale=Fraction(5)),
    "straight, 10 g": Variant(scale=Fraction(10)),
    "shawl, 5 g": Variant("shawl", Fraction(5)),
    "shawl, swatch": Variant("shawl", swatch=True),
    "joined, weighed": Variant(joined="weighed"),
    "joined, unweighed": Variant(joined="unweighed"),
    "shawl, joined, weighed": Variant("shawl", joined="weighed"),
    "shawl, joined, unweighed": Variant("shawl", joined="unweighed"),
    "ripped": Variant(ripped=True),
    "shawl, ripped, joined": Variant("shawl", joined="weighed", ripped=True),
}


def piece(kind: str | Variant, seed: int) -> Piece:
    """Return one piece; a question follows each weighing."""
    name, variant = (kind, KINDS[kind]) if isinstance(kind, str) else ("variant", kind)
    choice = stream(FAMILY, seed, f"choices {variant.shape}")
    stitches, kinds = SHAPES[variant.shape](choice)
    rows = len(stitches) - 1
    yarn = a_yarn(choice)
    # Rib and cables take more (published, no figure); a model of acrylic yarn has garter at 0.94 of
    # stockinette a stitch. The ranges themselves: no source.
    ratios = {
        "stockinette": 1.0,
        "rib": choice.uniform(1.0, 1.25),
        "lace": choice.uniform(0.8, 1.2),
    }
    truth = _truth(stream(FAMILY, seed, "hand"), yarn, stitches, [ratios[kind] for kind in kinds])
    total = truth.grams_used(rows) + truth.bind_off_grams + truth.tail_grams
    balls = _balls(choice, variant, total)
    happening = _Happening(variant, truth, balls, rows, stream(FAMILY, seed, "scale"))
    if variant.swatch:
        happening.weigh_swatches(yarn, {kind: ratios[kind] for kind in kinds})
    happening.knit(stream(FAMILY, seed, f"plan {variant.shape}"))
    return Piece(
        FAMILY,
        name,
        seed,
        rows,
        truth.stitches_by_row,
        tuple(kinds),
        truth,
        tuple(happening.did),
        tuple(happening.asked),
    )


def _truth(rng: Random, yarn: Yarn, stitches: list[int], ratios: list[float]) -> Truth:
    """Return what each row takes.

    Cast-on: 3 times the width and a tail of 15 cm (common practice; a count of 27 stitches used
    1.06 cm each). Bind-off: 3.5 to 4.7 times the width of the last row (3 to 4 in print, one
    measured 4.67, 4 common practice). End: 30 cm (common practice). Yarn a stitch: the wandering is
    AR(1) of 1.5 % remembered for ten rows, with 2 % between rows (no source).
    """
    grams_per_cm = yarn.grams_per_stitch / yarn.loop_cm
    wander, grams = rng.gauss(0, 0.015), []
    for count, ratio in zip(stitches[1:], ratios[1:], strict=True):
        wander = 0.9 * wander + rng.gauss(0, 0.015 * sqrt(1 - 0.81))
        grams.append(count * yarn.grams_per_stitch * ratio * exp(wander + rng.gauss(0, 0.02)))
    cast_on = grams_per_cm * (3 * stitches[0] / yarn.stitches_per_cm + 15)
    widths = rng.uniform(3.5, 4.7)
    pace = plain_seconds(rng, 1, len(grams))
    return Truth(
        heights([1 / yarn.rows_per_cm] * len(grams)),
        tuple(stitches),
        (cast_on, *grams),
        tuple(second * count for second, count in zip(pace, stitches, strict=True)),
        bind_off_grams=grams_per_cm * widths * stitches[-1] / yarn.stitches_per_cm,
        tail_grams=grams_per_cm * 30,
    )


def _balls(rng: Random, variant: Variant, total: float) -> list[tuple[int, float]]:
    """Return the balls: what the label says (whole grams) and what is there.

    A ball differs from its label by 2 % (standard deviation, from memory).
    """
    given = total * rng.uniform(*variant.enough)
    first = rng.uniform(0.3, 0.65) * min(given, total)
    weights = [given] if variant.joined == "no" else [first, given - first]
    return [(max(1, round(grams * exp(rng.gauss(0, 0.02)))), grams) for grams in weights]


@dataclass(slots=True)
class _Happening:
    """The story as it unfolds: the ball in work, what was said, what is asked."""

    variant: Variant
    truth: Truth
    balls: list[tuple[int, float]]
    rows: int
    scale: Random
    did: list[Deed] = field(default_factory=lambda: [SessionBegan(0.0, 0)])
    asked: list[YarnToEnd] = field(default_factory=list)
    now: float = 0.0
    row: int = 0
    left: float = 0.0
    given: float = 0.0
    set_aside: float = 0.0
    joined_at: int = 0

    def weigh_swatches(self, yarn: Yarn, ratios: dict[str, float]) -> None:
        """Weigh a swatch of each kind, about 12 cm square, its cast-on and bind-off in it.

        Edges: 3 and 4 times the width. The swatch takes 2 % more or less than the piece will (no
        source).
        """
        across, along = round(12 * yarn.stitches_per_cm), round(12 * yarn.rows_per_cm)
        for kind, ratio in ratios.items():
            fabric = across * along * yarn.grams_per_stitch * ratio * exp(self.scale.gauss(0, 0.02))
            edges = 7 * across / yarn.stitches_per_cm * yarn.grams_per_stitch / yarn.loop_cm
            grams = self._read(fabric + edges)
            self.did.append(SwatchWeighed(self.now, 0, kind, across, along, grams))

    def knit(self, plan: Random) -> None:
        """Knit from the cast-on to the last row, or until the yarn runs out."""
        drawn, at_start = plan.randint(2, 6), plan.random() < 0.7
        count = self.variant.weighings or drawn
        spots = [(number + plan.random()) / count for number in range(count)]
        weigh_at = {max(1, round(self.rows * (0.05 + 0.9 * spot))) for spot in spots}
        if at_start:
            weigh_at = {0, *sorted(weigh_at)[1:]}
        rip_at = {
            max(8, round(self.rows * plan.uniform(0.15, 0.9))): plan.randint(2, 12)
            for _ in range(plan.randint(1, 3) if self.variant.ripped else 0)
        }
        self.given = self.left = self.balls.pop(0)[1]
        self.left -= self.truth.grams_by_row[0]
        while True:
            if self.row in weigh_at:
                weigh_at.remove(self.row)
                self._weigh()
            if self.row in rip_at:
                self._rip(rip_at.pop(self.row), weigh=plan.random() < 0.5)
            if self.row == self.rows or not self._knit_row():
                return

    def _knit_row(self) -> bool:
        """Knit the next row if the yarn lasts, joining a ball before one that would not do."""
        grams = self.truth.grams_by_row[self.row + 1]
        if self.left < 1.2 * grams and self.balls:
            self._join()
        if self.left < grams:
            return False
        self.row += 1
        self.left -= grams
        self.now += self.truth.seconds_by_row[self.row]
        self.did.append(RowsDone(self.now, self.row))
        return True

    def _join(self) -> None:
        label, grams = self.balls.pop(0)
        self.set_aside += self.left
        self.left = grams
        self.given += grams
        self.joined_at = self.row
        said = self._read(grams) if self.variant.joined == "weighed" else None
        self.did.append(BallJoined(self.now, self.row, said, label))

    def _rip(self, count: int, *, weigh: bool) -> None:
        """Rip back, not beyond the last join; a row ripped takes a tenth of its time."""
        count = min(count, self.row - self.joined_at)
        if count < 1:
            return
        ripped = range(self.row - count + 1, self.row + 1)
        self.left += sum(self.truth.grams_by_row[row] for row in ripped)
        self.now += sum(self.truth.seconds_by_row[row] for row in ripped) / 10
        self.row -= count
        self.did.append(RippedBack(self.now, self.row, count))
        if weigh:
            self._weigh()

    def _read(self, grams: float) -> Fraction:
        """Read the scale: 15 % of a division of noise (from memory), then its nearest division."""
        noisy = grams + self.scale.gauss(0, 0.15) * float(self.variant.scale)
        return max(Fraction(0), nearest(noisy, self.variant.scale))

    def _weigh(self) -> None:
        self.did.append(Weighed(self.now, self.row, self._read(self.left)))
        ahead = self.truth.grams_by_row[self.row + 1 : self.rows + 1]
        needed = sum(ahead) + self.truth.bind_off_grams + self.truth.tail_grams
        whole, rest = 0, self.left
        for grams in ahead:
            rest -= grams
            if rest < 0:
                break
            whole += 1
        self.asked.append(
            YarnToEnd(
                len(self.did),
                self.row,
                len(self.asked) + 1,
                self.given,
                self.truth.grams_used(self.row),
                self.left,
                self.set_aside,
                needed,
                self.left >= needed,
                whole,
            )
        )
