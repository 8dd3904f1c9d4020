"""A row of knit stitches as an edge: under the title of a page, on the card of a piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Mesh
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

if TYPE_CHECKING:
    from app.display.theme import Colour
    from app.window.look import Look

_SHAPE: Final = 0.92
"""Width of a stitch by the height of its row; stitches are wider than they are high, and lean."""
_THICK: Final = 0.34
"""Thickness of the yarn by the height of a row."""
_MOST: Final = 2400
"""Stitches that one mesh holds: an index has sixteen bits."""


class Selvedge(Widget):
    """Draws rows of stitches in a wool, edge to edge."""

    wool: Colour | None = ObjectProperty(None, allownone=True)
    look: Look | None = ObjectProperty(None, allownone=True)
    rows = NumericProperty(1)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("wool", "look", "size", "pos", "rows"):
            self.fbind(name, self._redraw)
        if self.look is not None:
            self.look.follow(self)
        self._redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._redraw()

    def _redraw(self, *_: object) -> None:
        self.canvas.clear()
        if self.look is None or self.wool is None or min(self.size) <= 1:
            return
        tall = self.height / self.rows
        across = max(round(self.width / (tall * _SHAPE)), 1)
        wide = self.width / across
        with self.canvas:
            for strength, grow in ((0.45, 1.0), (1.0, 0.72)):
                Color(*self.look.tinted(self.wool, strength))
                for row in range(int(self.rows)):
                    self._row(self.y + row * tall, wide, tall, min(across, _MOST), grow)

    def _row(self, y: float, wide: float, tall: float, across: int, grow: float) -> None:
        """Draw one row: of each stitch two legs that meet below."""
        half = _THICK * tall * grow / 2
        corners: list[float] = []
        indices: list[int] = []
        for at in range(across):
            x = self.x + at * wide
            middle = x + wide / 2
            for top, foot in ((x + half, middle - half / 2), (x + wide - half, middle + half / 2)):
                first = len(corners) // 4
                for px, py in (
                    (top - half, y + tall),
                    (top + half, y + tall),
                    (foot + half, y + tall * 0.12),
                    (foot - half, y + tall * 0.12),
                ):
                    corners += [px, py, 0, 0]
                indices += [first, first + 1, first + 2, first, first + 2, first + 3]
        Mesh(vertices=corners, indices=indices, mode="triangles")
