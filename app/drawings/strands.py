"""The strands of yarn that a stitch is drawn with, the same for the screen and for print.

Places are x from left to right and y from bottom to top, 0..1 across the stitch itself; strands
reach into their neighbours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeAlias

from app.drawings.sheet import Tile

Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Strand:
    """A strand of yarn along a curve: control points of a Bezier curve, and its half thickness.

    `thin` is the half thickness at both ends relative to the middle; `shade` darkens a strand that
    lies behind.
    """

    points: tuple[Point, ...]
    half: float = 0.19
    thin: float = 0.75
    shade: float = 1.0


STRANDS: Final[dict[Tile, tuple[Strand, ...]]] = {
    # Two legs that lean together at the bottom, as a plain stitch shows on the right side.
    Tile.KNIT: (
        Strand(((0.50, -0.30), (0.37, 0.02), (0.16, 0.48), (0.235, 1.02)), 0.235, 0.60),
        Strand(((0.50, -0.30), (0.63, 0.02), (0.84, 0.48), (0.765, 1.02)), 0.235, 0.60),
    ),
    # The head of the loop below bulges forward; the feet of the next one pass behind it.
    Tile.PURL: (
        Strand(((-0.04, 0.98), (0.06, 0.60), (0.14, 0.55), (0.30, 0.80)), 0.15, 0.8, 0.66),
        Strand(((1.04, 0.98), (0.94, 0.60), (0.86, 0.55), (0.70, 0.80)), 0.15, 0.8, 0.66),
        Strand(((0.00, 0.10), (0.14, 0.90), (0.86, 0.90), (1.00, 0.10)), 0.275, 0.66),
    ),
    # A loop hanging on the needle: it comes up in front and goes over the top.
    Tile.LOOP: (
        Strand(((0.40, -0.24), (0.24, 0.30), (0.22, 0.98), (0.50, 1.06)), 0.20, 0.85),
        Strand(((0.46, 1.07), (0.70, 1.04), (0.76, 0.80), (0.72, 0.52)), 0.18, 0.7, 0.72),
    ),
    # The same yarn thrown over: an open loop with a hole under it.
    Tile.OVER: (Strand(((0.06, 0.02), (0.10, 1.02), (0.90, 1.02), (0.94, 0.02)), 0.14, 0.8),),
    # An edge: the strands of a cast-on or bind-off lie like a cord.
    Tile.EDGE: (
        Strand(((-0.10, 0.30), (0.20, 0.90), (0.62, 0.92), (1.00, 0.40)), 0.22, 0.66),
        Strand(((0.00, 0.60), (0.38, 0.08), (0.80, 0.10), (1.10, 0.70)), 0.22, 0.66, 0.9),
    ),
    # Something the drawing does not know: a plain strand across.
    Tile.PLAIN: (Strand(((-0.10, 0.50), (0.30, 0.58), (0.70, 0.42), (1.10, 0.50)), 0.26, 1.0),),
}
