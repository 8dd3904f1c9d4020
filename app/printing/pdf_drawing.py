"""A drawing on the page of a PDF: the same shapes as in SVG, stamps as forms drawn many times."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, assert_never

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from app.printing.shapes import (
    Anchor,
    Area,
    CurveShape,
    Dot,
    LineShape,
    PathShape,
    Shape,
    Stamped,
    Words,
)

if TYPE_CHECKING:
    from app.printing.shapes import Drawing


class DrawingFlowable(Flowable):
    """A drawing in the flow of a page, made smaller where it is larger than the space for it.

    `space` is that space, width and height in points; `magnify` enlarges it if there is room.
    """

    def __init__(
        self,
        drawing: Drawing,
        space: tuple[float, float],
        fonts: tuple[str, str],
        *,
        magnify: float = 1.0,
    ) -> None:
        """Keep the drawing; the fonts are names of registered ones, upright and bold."""
        super().__init__()
        self.drawing = drawing
        wide, high = space
        self.scale = min(magnify, wide / (drawing.width * mm), high / (drawing.height * mm))
        self.fonts = fonts
        self.width = drawing.width * mm * self.scale
        self.height = drawing.height * mm * self.scale
        self.hAlign = "LEFT"

    def wrap(self, _wide: float, _high: float) -> tuple[float, float]:
        """Return the room it takes, in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it; millimetres from the upper left become points from the lower left."""
        canvas = self.canv
        canvas.saveState()
        canvas.translate(0, self.height)
        canvas.scale(mm * self.scale, -mm * self.scale)
        names = self._stamps(canvas)
        for shape in self.drawing.shapes:
            _draw(canvas, shape, self.fonts, names)
        canvas.restoreState()

    def _stamps(self, canvas: Any) -> dict[str, str]:
        """Define the stamps of the drawing as forms, each with a name of its own in the file."""
        names = {}
        for stamp, shapes in self.drawing.stamps.items():
            name = f"stamp-{_serial(canvas)}"
            canvas.beginForm(name, -20, -20, 40, 40)
            for shape in shapes:
                _draw(canvas, shape, self.fonts, {})
            canvas.endForm()
            names[stamp] = name
        return names


def _serial(canvas: Any) -> int:
    number = getattr(canvas, "walesong_stamps", 0) + 1
    canvas.walesong_stamps = number
    return int(number)


def _draw(canvas: Any, shape: Shape, fonts: tuple[str, str], stamps: dict[str, str]) -> None:
    match shape:
        case LineShape():
            canvas.setStrokeColor(HexColor(shape.ink))
            canvas.setLineWidth(shape.width)
            canvas.setDash([shape.dash] if shape.dash else [])
            canvas.line(shape.x1, shape.y1, shape.x2, shape.y2)
            canvas.setDash([])
        case Area():
            path = canvas.beginPath()
            path.moveTo(*shape.points[0])
            for point in shape.points[1:]:
                path.lineTo(*point)
            path.close()
            _colours(canvas, shape.fill, shape.ink, shape.width)
            canvas.drawPath(path, stroke=int(bool(shape.ink)), fill=int(bool(shape.fill)))
        case CurveShape():
            (x0, y0), (x1, y1), (x2, y2), (x3, y3) = shape.points
            canvas.setStrokeColor(HexColor(shape.ink))
            canvas.setLineWidth(shape.width)
            canvas.setLineCap(1)
            canvas.bezier(x0, y0, x1, y1, x2, y2, x3, y3)
        case PathShape():
            path = canvas.beginPath()
            path.moveTo(*shape.points[0])
            for point in shape.points[1:]:
                path.lineTo(*point)
            canvas.setStrokeColor(HexColor(shape.ink))
            canvas.setLineWidth(shape.width)
            canvas.setLineCap(int(shape.round_ends))
            canvas.setLineJoin(1)
            canvas.drawPath(path, stroke=1, fill=0)
        case Dot():
            _colours(canvas, shape.fill, shape.ink, shape.width)
            stroke, fill = int(bool(shape.ink)), int(bool(shape.fill))
            canvas.circle(shape.x, shape.y, shape.radius, stroke=stroke, fill=fill)
        case Words():
            _words(canvas, shape, fonts)
        case Stamped():
            canvas.saveState()
            canvas.transform(*shape.matrix)
            canvas.doForm(stamps[shape.stamp])
            canvas.restoreState()
        case _:
            assert_never(shape)


def _colours(canvas: Any, fill: str, ink: str, width: float) -> None:
    if fill:
        canvas.setFillColor(HexColor(fill))
    if ink:
        canvas.setStrokeColor(HexColor(ink))
        canvas.setLineWidth(width)


def _words(canvas: Any, words: Words, fonts: tuple[str, str]) -> None:
    """Write words upright: the drawing's y runs downwards, the letters' upwards."""
    canvas.saveState()
    canvas.translate(words.x, words.y)
    canvas.scale(1, -1)
    canvas.setFillColor(HexColor(words.ink))
    canvas.setFont(fonts[words.bold], words.size)
    match words.anchor:
        case Anchor.START:
            canvas.drawString(0, 0, words.text)
        case Anchor.MIDDLE:
            canvas.drawCentredString(0, 0, words.text)
        case Anchor.END:
            canvas.drawRightString(0, 0, words.text)
        case _:
            assert_never(words.anchor)
    canvas.restoreState()
