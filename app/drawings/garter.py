"""A strip in garter stitch on its needle, as a lesson counts it: ridges, and so many stitches."""

from __future__ import annotations

from typing import Final

from app.drawings.fabric import DrawnFabric, DrawnRow, DrawnStitch, FabricEdge, Seen

MOST: Final = 40
"""More stitches than this could not be counted in a picture."""


def garter(stitches: int, rows: int) -> DrawnFabric:
    """Return a strip of so many rows, every stitch of it on the needle; from 1 of each on."""
    across = min(stitches, MOST)
    edge = DrawnStitch(Seen.PLAIN, edge=FabricEdge.CAST_ON)
    drawn = [DrawnRow(0, (edge,) * across)]
    for number in range(1, rows + 2):
        # Knitted from either side: every other row shows its bumps, and two rows are a ridge.
        seen = Seen.KNIT if number % 2 else Seen.PURL
        stitch = tuple(DrawnStitch(seen, (at,)) for at in range(across))
        drawn.append(DrawnRow(number, stitch, leftwards=number % 2 == 1))
    return DrawnFabric(done=tuple(drawn[:-1]), working=drawn[-1])
