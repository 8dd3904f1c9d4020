"""Shapes of the yarn family: how many stitches each row has, and of which kind they are.

Every function returns the stitches of each row and the kind of each row; entry 0 is the cast-on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

Shape = tuple[list[int], list[str]]


def _plain(stitches: list[int]) -> Shape:
    return stitches, ["stockinette"] * len(stitches)


def straight(rng: Random) -> Shape:
    """Return 30 to 120 stitches for 40 to 250 rows (a scarf, a front)."""
    return _plain([rng.randint(30, 120)] * (rng.randint(40, 250) + 1))


def short(rng: Random) -> Shape:
    """Return a sleeve for a mug, a lantern or a bottle: 50 to 66 stitches, 22 to 50 rows."""
    return _plain([rng.choice((50, 54, 66))] * (rng.randint(22, 50) + 1))


def shawl(rng: Random) -> Shape:
    """Return a triangle: cast on 5, two increases every right-side row, 60 to 250 rows.

    Row 1 is a right-side row and leaves 7 stitches, row 2 works those 7, row 3 leaves 9.
    """
    return _plain([5 + 2 * ((row + 1) // 2) for row in range(rng.randint(60, 250) + 1)])


def cap(rng: Random) -> Shape:
    """Return a cap in the round: 88, 96 or 104 stitches, plain, then 8 fewer every second round.

    Its decreases run to 8 stitches; 36 to 45 plain rounds are 13 to 16 cm at 28 rows to 10 cm. The
    last round is drawn together, but its bind-off is reckoned like any other.
    """
    around = rng.choice((88, 96, 104))
    stitches = [around] * (rng.randint(36, 45) + 1)
    while stitches[-1] > 8:
        stitches += [stitches[-1] - 8] * 2
    return _plain(stitches)


def yoke(rng: Random) -> Shape:
    """Return a circular yoke: 160 to 260 stitches, three or four decrease rounds to about 40 %.

    The proportions are common practice, no source.
    """
    stitches = [rng.randint(160, 260)] * rng.randint(8, 16)
    for _ in range(rng.choice((3, 4))):
        left = round(stitches[-1] * rng.uniform(0.7, 0.85))
        stitches += [left] * rng.randint(6, 16)
    return _plain(stitches)


def ribbed(rng: Random) -> Shape:
    """Return a straight piece with rib at both ends, each 5 to 20 % of 40 to 200 rows."""
    rows = rng.randint(40, 200)
    hem = round(rows * rng.uniform(0.05, 0.2))
    kinds = ["rib"] * (hem + 1) + ["stockinette"] * (rows - 2 * hem) + ["rib"] * hem
    return [rng.randint(40, 120)] * (rows + 1), kinds


def lace(rng: Random) -> Shape:
    """Return a straight piece: stockinette, then lace from 20 to 60 % of 60 to 200 rows on."""
    rows = rng.randint(60, 200)
    plain = round(rows * rng.uniform(0.2, 0.6))
    kinds = ["stockinette"] * (plain + 1) + ["lace"] * (rows - plain)
    return [rng.randint(40, 120)] * (rows + 1), kinds


SHAPES: Final[dict[str, Callable[[Random], Shape]]] = {
    "straight": straight,
    "short": short,
    "shawl": shawl,
    "cap": cap,
    "yoke": yoke,
    "ribbed": ribbed,
    "lace": lace,
}
