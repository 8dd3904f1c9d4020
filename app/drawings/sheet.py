"""Where each stitch lies on the sheet of drawn stitches (`assets/drawn/stitches.png`)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Tile(StrEnum):
    """One drawn thing on the sheet."""

    GROUND = "ground"  # the shadow behind the strands
    KNIT = "knit"  # two legs like a V
    PURL = "purl"  # a bump
    LOOP = "loop"  # a live stitch over the needle
    OVER = "over"  # a yarn-over: a loop with a hole under it
    EDGE = "edge"  # cast-on or bind-off
    PLAIN = "plain"  # a stitch of which only the count is known
    SHAFT = "shaft"  # a piece of a knitting needle, the same all along
    TIP = "tip"  # its tip, pointing right


TILE: Final = 128
"""Side of a tile, in pixels."""
MARGIN_X: Final = 0.15
"""Share of a tile's width that lies beside the stitch itself, on each side."""
MARGIN_Y: Final = 0.25
"""Share of a tile's height that lies below and above the stitch itself."""
NEEDLE_SHARE: Final = 0.6
"""Share of the height of a stitch that the drawn needle fills on its tiles."""

_IN_A_ROW: Final = 8


@dataclass(frozen=True, slots=True)
class _StitchSheet:
    """The measures of the sheet, in pixels: powers of two, so that it can be drawn small finely."""

    width: int
    height: int

    @staticmethod
    def corner(tile: Tile) -> tuple[int, int]:
        """Return left and top of a tile, in pixels from the upper left."""
        row, column = divmod(list(Tile).index(tile), _IN_A_ROW)
        return column * TILE, row * TILE

    def across(self, tile: Tile) -> tuple[float, float]:
        """Return where a tile begins and ends across the sheet, in 0..1 from the left."""
        left, _ = self.corner(tile)
        return left / self.width, (left + TILE) / self.width

    def down(self, tile: Tile) -> tuple[float, float]:
        """Return where a tile begins and ends down the sheet, in 0..1 from the top."""
        _, top = self.corner(tile)
        return top / self.height, (top + TILE) / self.height


SHEET: Final = _StitchSheet(_IN_A_ROW * TILE, 2 * TILE)
PLACES: Final = {tile: (*SHEET.across(tile), *SHEET.down(tile)) for tile in Tile}
"""Left, right, top and bottom of every tile on the sheet, in 0..1."""
