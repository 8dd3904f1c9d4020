"""A printed chart on the canvas, in the inks of the screen, with the row that is worked marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Ellipse, Line, Mesh, Rectangle
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from app.printing.shapes import INK, SOFT, Anchor, Area, Dot, LineShape, Words
from app.window.screens.text import picture_of
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from app.printing.chart_now import ChartNow
    from app.printing.shapes import Shape
    from app.window.look import Look

_LARGEST: Final = 1.9
"""A small chart is drawn so much larger than it is printed, and no more."""
_ALIGN: Final = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}


class ChartView(Widget):
    """A chart as large as there is room for."""

    look: Look = ObjectProperty(None)
    chart: ChartNow | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("chart", "look", "size", "pos"):
            self.fbind(name, self.redraw)
        self.look.follow(self)
        self.redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self.redraw()

    def redraw(self, *_: object) -> None:
        """Draw everything."""
        drawn_or_told(self, self.look, self._draw)

    def _draw(self) -> None:
        self.canvas.clear()
        chart = self.chart
        if chart is None or min(self.size) <= 1:
            return
        drawing, look = chart.drawing, self.look
        scale = min(self.width / drawing.width, self.height / drawing.height, look.mm(_LARGEST))
        self.scale = scale
        with self.canvas:
            if chart.band is not None:
                top, foot = chart.band
                Color(*look.mark)
                Rectangle(
                    pos=(self.x, self.top - foot * scale),
                    size=(drawing.width * scale, (foot - top) * scale),
                )
            for shape in drawing.shapes:
                self._shape(shape, scale, look)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        return self.x + x * self.scale, self.top - y * self.scale

    def _shape(self, shape: Shape, scale: float, look: Look) -> None:
        match shape:
            case LineShape():
                self._ink(shape.ink, look)
                points = [*self._at(shape.x1, shape.y1), *self._at(shape.x2, shape.y2)]
                Line(points=points, width=max(shape.width * scale / 2, 1))
            case Area():
                corners = [self._at(*point) for point in shape.points]
                if shape.fill:
                    Color(*look.line[:3], 0.3)
                    vertices = [value for x, y in corners for value in (x, y, 0, 0)]
                    Mesh(vertices=vertices, indices=list(range(len(corners))), mode="triangle_fan")
                if shape.ink and shape.width:
                    self._ink(shape.ink, look)
                    flat = [value for corner in corners for value in corner]
                    Line(points=flat, close=True, width=max(shape.width * scale / 2, 1))
            case Dot():
                self._ink(shape.ink, look)
                x, y = self._at(shape.x, shape.y)
                radius = shape.radius * scale
                if shape.fill:
                    Ellipse(pos=(x - radius, y - radius), size=(2 * radius, 2 * radius))
                else:
                    Line(circle=(x, y, radius), width=max(shape.width * scale / 2, 1))
            case Words():
                self._words(shape, scale, look)
            case _:
                pass  # a chart has no other shapes

    def _words(self, shape: Words, scale: float, look: Look) -> None:
        picture = picture_of(shape.text, max(round(shape.size * scale), 1), shape.bold)
        x, y = self._at(shape.x, shape.y)
        self._ink(shape.ink, look)
        Rectangle(
            texture=picture,
            pos=(
                round(x - _ALIGN[shape.anchor] * picture.width),
                round(y - look.theme.fonts.descent * shape.size * scale),
            ),
            size=picture.size,
        )

    @staticmethod
    def _ink(ink: str, look: Look) -> None:
        Color(*(look.soft if ink == SOFT else look.ink if ink in {INK, ""} else look.line))
