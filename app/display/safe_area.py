"""
How far the edges of a device's screen have to be kept free: bars, cut-outs, rounded corners.

Plain sums over what the system tells; nothing here knows a window. All lengths are pixels, edges
are in the order left, top, right, bottom.
"""

from __future__ import annotations

from math import hypot, sqrt
from typing import Final, NamedTuple

_DIAGONAL: Final = 1 - 1 / sqrt(2)
"""Of a corner's radius: so far from both edges its arc crosses the diagonal."""


class Edges(NamedTuple):
    """A length for each edge."""

    left: float = 0.0
    top: float = 0.0
    right: float = 0.0
    bottom: float = 0.0


class Surroundings(NamedTuple):
    """What the system tells of the screen and of where our part of it lies."""

    window: tuple[float, float] = (0.0, 0.0)
    """Width and height of the whole window."""
    content: Edges = Edges()
    """Where our part begins and ends: left, top, right and bottom edge, from the top left."""
    covered: Edges = Edges()
    """How much of the window the system's bars and the cut-outs cover at each edge."""
    corners: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    """Radius of the corners: top left, top right, bottom right, bottom left."""


def kept_free(of: Surroundings) -> Edges:
    """Return how much of our part has to stay free at each edge."""
    wide, high = of.window
    # What already lies between the window's edge and ours need not be kept free again.
    beside = Edges(
        of.content.left, of.content.top, wide - of.content.right, high - of.content.bottom
    )
    free = [max(covered - gap, 0.0) for covered, gap in zip(of.covered, beside, strict=True)]
    for radius, (across, down) in zip(of.corners, ((0, 1), (2, 1), (2, 3), (0, 3)), strict=True):
        x, y = beside[across] + free[across], beside[down] + free[down]
        if x < radius and y < radius and hypot(radius - x, radius - y) > radius:
            needed = radius * _DIAGONAL
            free[across] += max(needed - x, 0.0)
            free[down] += max(needed - y, 0.0)
    return Edges(*free)
