"""Whether a plan can be meant: what no hand knits is doubted, what cannot be is refused.

A doubt is a question, not a refusal: she may be the one who does it. The bounds follow from the
published tables of yarn categories and needles and from the geometry of a loop, as said beside
them; where there is no source, that is said too.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.plan.gauge import FOUR_INCHES
from engine.plan.loops import Relaxed, loop_from_counts, tightness

if TYPE_CHECKING:
    from engine.plan.gauge import Gauge
    from engine.plan.wish import Wish


class About(StrEnum):
    """What is doubted."""

    SWAPPED = "swapped"
    """More stitches than rows, and the other way round it would be usual."""
    SHAPE = "shape"
    """Stitches far too high or too wide."""
    TOO_FINE = "too_fine"
    TOO_COARSE = "too_coarse"
    EDGES = "edges"
    EASE = "ease"
    SIZE = "size"
    BALL = "ball"
    """The ball weighs more than a cone."""
    YARN = "yarn"
    """The yarn is too thick or too thin for the swatch."""
    WEIGHED = "weighed"
    """The weighed swatch has far more or less yarn in a stitch than its loops can hold."""
    BALLS = "balls"


@dataclass(frozen=True, slots=True)
class PlanDoubt:
    """What is doubted; `gauge` if it is one of the gauges."""

    about: About
    gauge: Gauge | None = None


FINEST: Final = 60
"""Stitches to 4 in: category 0 ends at 40 on 1.5 mm, and the thinnest needle of any table has 1 mm
(`shared/tables/yarn_categories.toml`, `needles.toml`): in proportion 60."""
COARSEST: Final = 3
"""Stitches to 4 in: category 7 has 6 and fewer from 12.75 mm on, and the thickest needle of the
table has 25 mm: in proportion 3."""
ROWS_PER_STITCH: Final = (Fraction(1), Fraction(3))
"""Rows over stitches on the same length. Plain fabric has 1.29 to 1.32 (Munden 1959, as quoted in
Spencer, Knitting Technology, p. 282), garter stitch about 2, slipped stitches up to 3 (common
practice, no source)."""
_MOST_EDGES: Final = 8
"""Four on either side of a seam (common practice, no source)."""
EASE: Final = (Fraction(7, 10), Fraction(3, 2))
"""Finished over what it goes around; the tables' tightest and loosest things, and half as much
again (`shared/tables/sizes.toml`; common practice, no source)."""
_LONGEST_CM: Final = 500
"""Twice the longest scarf or blanket of `shared/tables/sizes.toml` and more."""
HEAVIEST_BALL_G: Final = 1000
"""A cone (common practice, no source)."""
HEAVIEST_STITCH_G: Final = 0.5
"""Twice what the thickest yarn has in a stitch: a jumbo yarn of 30 m to 100 g at 6 stitches and 8
rows to 10 cm has a loop of 6.7 cm (`engine.plan.loops`), which weighs 0.22 g."""
TIGHTNESS: Final = (0.3, 2.5)
"""Tightness factor of the yarn in the swatch: plain fabrics are mostly between 1.3 and 1.5 (Spencer
p. 282, second hand); lace on thick needles comes down to half of 1, a board of felt up to 2."""
_YARN_OF_LOOP: Final = (0.4, 3.0)
"""Yarn in a stitch by the scale over that by loop geometry, whose error is a tenth."""
_MOST_BALLS: Final = 100

_IMPOSSIBLE_FINE: Final = 10 * FINEST
_IMPOSSIBLE_COARSE: Final = Fraction(1, 4)
_IMPOSSIBLE_SHAPE: Final = (Fraction(1, 4), Fraction(12))
_IMPOSSIBLE_EASE: Final = (Fraction(1, 5), Fraction(4))
_IMPOSSIBLE_CM: Final = 10_000
_IMPOSSIBLE_FACTOR: Final = 10
"""Ten times beyond what is doubted is no knitting at all."""


def gauges_of(wish: Wish) -> tuple[Gauge, ...]:
    """Return every gauge of a wish, the swatch's first."""
    swatch = wish.swatch
    return tuple(
        gauge for gauge in (swatch.washed, swatch.unwashed, wish.pattern_gauge) if gauge is not None
    )


def refuse_impossible(wish: Wish) -> None:
    """Raise ValueError, with a sentence, if a number of the wish cannot be."""
    for gauge in gauges_of(wish):
        refuse_gauge(gauge)
    for name, length in (("width", wish.width), ("length", wish.length)):
        if length.cm > _IMPOSSIBLE_CM:
            raise ValueError(f"A {name} of {length} is longer than anything that is knitted.")
    if wish.edge_stitches and wish.edge_stitches >= wish.swatch.finished.stitches.number_in(
        wish.width
    ):
        raise ValueError(
            f"{wish.edge_stitches} edge stitches are more than all the stitches between them."
        )
    share = _ease(wish)
    if share is not None and not _within(share, _IMPOSSIBLE_EASE):
        raise ValueError(f"{wish.width} around {wish.around} cannot be meant; say the ease anew.")
    for said, (low, high) in ((_tightness(wish), TIGHTNESS), (_yarn_of_loop(wish), _YARN_OF_LOOP)):
        bounds = (low / _IMPOSSIBLE_FACTOR, high * _IMPOSSIBLE_FACTOR)
        if said is not None and not _within(said, bounds):
            raise ValueError(
                "No yarn of that weight and length makes this swatch; look at the band again."
            )


def refuse_gauge(gauge: Gauge) -> None:
    """Raise ValueError, with a sentence, if no fabric can have this gauge."""
    for count, name in ((gauge.stitches, "stitches"), (gauge.rows, "rows")):
        number = count.per(FOUR_INCHES)
        if not _IMPOSSIBLE_COARSE <= number <= _IMPOSSIBLE_FINE:
            raise ValueError(
                f"{float(count.number):.10g} {name} to {count.over} cannot be; count them anew."
            )
    if not _within(_rows_per_stitch(gauge), _IMPOSSIBLE_SHAPE):
        raise ValueError(
            f"{float(gauge.stitches.number):.10g} stitches and {float(gauge.rows.number):.10g} "
            "rows cannot be of one swatch; count them anew."
        )


def doubts(wish: Wish) -> tuple[PlanDoubt, ...]:
    """Return what of a wish no hand knits, so that it is asked; () if all of it can be meant."""
    found = [doubt for gauge in gauges_of(wish) for doubt in gauge_doubts(gauge)]
    if wish.edge_stitches > _MOST_EDGES:
        found.append(PlanDoubt(About.EDGES))
    share = _ease(wish)
    if share is not None and not _within(share, EASE):
        found.append(PlanDoubt(About.EASE))
    if max(wish.width.cm, wish.length.cm) > _LONGEST_CM:
        found.append(PlanDoubt(About.SIZE))
    if wish.ball is not None and wish.ball.mass.grams > HEAVIEST_BALL_G:
        found.append(PlanDoubt(About.BALL))
    factor = _tightness(wish)
    if factor is not None and not _within(factor, TIGHTNESS):
        found.append(PlanDoubt(About.YARN))
    loop = _yarn_of_loop(wish)
    if loop is not None and not _within(loop, _YARN_OF_LOOP):
        found.append(PlanDoubt(About.WEIGHED))
    if wish.have > _MOST_BALLS:
        found.append(PlanDoubt(About.BALLS))
    return tuple(found)


def gauge_doubts(gauge: Gauge) -> list[PlanDoubt]:
    """Return what of a gauge no hand knits."""
    found = []
    stitches, shape = gauge.stitches.per(FOUR_INCHES), _rows_per_stitch(gauge)
    if stitches > FINEST:
        found.append(PlanDoubt(About.TOO_FINE, gauge))
    if stitches < COARSEST:
        found.append(PlanDoubt(About.TOO_COARSE, gauge))
    if not _within(shape, ROWS_PER_STITCH):
        about = About.SWAPPED if _within(1 / shape, ROWS_PER_STITCH) else About.SHAPE
        found.append(PlanDoubt(about, gauge))
    return found


def _rows_per_stitch(gauge: Gauge) -> Fraction:
    return gauge.rows.per_cm / gauge.stitches.per_cm


def _ease(wish: Wish) -> Fraction | None:
    """Return the finished width over what it goes around; None if that was not said."""
    if wish.around is None:
        return None
    return wish.width.value / wish.around.to(wish.width.unit).value


def _loop_mm(wish: Wish) -> float:
    finished = wish.swatch.finished
    return 10 * loop_from_counts(
        float(finished.stitches.per_cm), float(finished.rows.per_cm), Relaxed.WET
    )


def _tightness(wish: Wish) -> float | None:
    """Return the tightness factor of the ball's yarn in the swatch; None without a ball."""
    if wish.ball is None:
        return None
    return tightness(1000 * wish.ball.grams_per_metre, _loop_mm(wish))


def _yarn_of_loop(wish: Wish) -> float | None:
    """Return the yarn in a stitch by the scale over that by geometry; None if not weighed."""
    if wish.weighed is None or wish.ball is None:
        return None
    metres = wish.weighed.mass.grams / wish.ball.grams_per_metre
    return 1000 * metres / wish.weighed.stitches / _loop_mm(wish)


def _within(value: Fraction | float, bounds: tuple[Fraction | float, Fraction | float]) -> bool:
    return bounds[0] <= value <= bounds[1]
