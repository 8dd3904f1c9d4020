"""A small picture on the canvas: strokes and areas of `app.drawings.emblems`, as large as fits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.graphics import Color, Line, Mesh
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from app.drawings.emblems import EMBLEMS, Emblem
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from app.display.theme import Colour
    from app.window.look import Look

_WOOLS = {"other": 1, "third": 2}


class EmblemView(Widget):
    """Draws the picture with a name; `ink` is the role of its lines."""

    name = StringProperty("")
    look: Look | None = ObjectProperty(None, allownone=True)
    wool: Colour | None = ObjectProperty(None, allownone=True)
    ink = StringProperty("control_ink")

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("name", "look", "wool", "ink", "size", "pos"):
            self.fbind(name, self._redraw)
        self.fbind("look", self._followed)
        self._followed()
        self._redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._redraw()

    def _followed(self, *_: object) -> None:
        if self.look is not None:
            self.look.follow(self)

    def _redraw(self, *_: object) -> None:
        drawn_or_told(self, self.look, self._draw_anew)

    def _draw_anew(self) -> None:
        self.canvas.clear()
        if self.look is None or self.name not in EMBLEMS or min(self.size) <= 1:
            return
        self._draw(self.look, EMBLEMS[self.name])

    def _draw(self, look: Look, emblem: Emblem) -> None:
        side = min(self.size)
        left, bottom = self.center_x - side / 2, self.center_y - side / 2
        first = self.wool or look.wool or next(iter(look.theme.wools.values()))
        wools = look.theme.wools_with(first, 3)
        with self.canvas:
            for stroke in emblem:
                Color(*self._ink(look, stroke.ink, wools))
                points = [(left + x * side, bottom + y * side) for x, y in stroke.points]
                if stroke.fills:
                    Mesh(
                        vertices=[value for x, y in points for value in (x, y, 0, 0)],
                        indices=list(range(len(points))),
                        mode="triangle_fan",
                    )
                else:
                    flat = [value for point in points for value in point]
                    Line(points=flat, width=max(stroke.width * side / 2, 0.6), cap="round",
                         joint="round")  # fmt: skip

    def _ink(
        self, look: Look, ink: str, wools: tuple[Colour, ...]
    ) -> tuple[float, float, float, float]:
        if ink == "edge":
            return tuple(getattr(look, self.ink))
        if ink == "shade":
            return (0.0, 0.0, 0.0, 0.35)
        if ink == "wool" or ink in _WOOLS:
            return look.tinted(wools[_WOOLS.get(ink, 0)])
        return tuple(getattr(look, ink))
