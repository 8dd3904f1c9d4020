"""The outline of a piece on the canvas, filled with its wool; the plan's can be taken hold of."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, Final

from kivy.core.image import Image as ImageCore
from kivy.graphics import Color, Ellipse, Line, Mesh
from kivy.graphics.tesselator import Tesselator
from kivy.graphics.texture import Texture
from kivy.properties import ListProperty, NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from app import resources
from app.drawings.sheet import MARGIN_X, MARGIN_Y, SHEET, TILE, Tile
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.display.theme import Colour
    from app.window.look import Look

_SIDE: Final = 64  # pixels: a power of two, so that it can be repeated everywhere
_LEAST: Final = 1.5  # mm of width of a stitch
_SHADE: Final = 0.55
_LIGHT: Final = 1.15
_GRIP: Final = 3.2
"""mm of radius of what is taken hold of; a finger within a target of it has it."""


@cache
def knitted() -> Texture:
    """Return one knit stitch as a texture that can be laid over any area."""
    data = ImageCore(str(resources.path("assets/drawn/stitches.png")), keep_data=True)
    data = data.image._data[0]  # noqa: SLF001 (the pixels have no other way out)
    left, top = SHEET.corner(Tile.KNIT)
    wide, tall = TILE * (1 - 2 * MARGIN_X), TILE * (1 - 2 * MARGIN_Y)
    pixels = bytearray()
    for row in range(_SIDE):  # the lowest row first, as textures are
        y = round(top + TILE * MARGIN_Y + (_SIDE - 0.5 - row) * tall / _SIDE)
        for column in range(_SIDE):
            x = round(left + TILE * MARGIN_X + (column + 0.5) * wide / _SIDE)
            at = (y * data.width + x) * 4
            pixels += data.data[at : at + 4]
    texture = Texture.create(size=(_SIDE, _SIDE), colorfmt="rgba", mipmap=True)

    def fill(empty: Texture) -> None:
        empty.blit_buffer(bytes(pixels), colorfmt="rgba", bufferfmt="ubyte")

    fill(texture)
    texture.add_reload_observer(fill)  # a graphics card forgets it when the device is put away
    texture.wrap = "repeat"
    texture.min_filter = "linear_mipmap_linear"
    return texture


class OutlineView(Widget):
    """Draws corners in cm, from the lower left, as large as fits."""

    look: Look | None = ObjectProperty(None, allownone=True)
    wool: Colour | None = ObjectProperty(None, allownone=True)
    corners = ListProperty()
    gauge = ListProperty([2.0, 2.8])
    """Stitches and rows to a centimetre, in which it is filled."""
    clear = NumericProperty(0.0)
    """Room that its measures have to leave around it, in mm."""
    drawn_box = ListProperty([0, 0, 0, 0])
    """Left, bottom, right and upper edge of what is drawn, in pixels."""

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        self.per_cm = 0.0
        for name in ("look", "wool", "corners", "gauge", "size", "pos"):
            self.fbind(name, self.redraw)
        if self.look is not None:
            self.look.follow(self)
        self.redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self.redraw()

    def redraw(self, *_: object) -> None:
        """Draw the outline."""
        drawn_or_told(self, self.look, self._draw)

    def extent(self) -> tuple[float, float]:
        """Return width and height in cm for which there has to be room."""
        xs, ys = [x for x, _ in self.corners], [y for _, y in self.corners]
        return max(xs) - min(xs), max(ys) - min(ys)

    def _draw(self) -> None:
        self.canvas.clear()
        look = self.look
        if look is None or len(self.corners) < 3 or min(self.size) <= 2:  # noqa: PLR2004 (an area)
            self.drawn_box = [0, 0, 0, 0]
            return
        wide, tall = self.extent()
        self.per_cm = min(self.width / max(wide, 0.1), self.height / max(tall, 0.1)) * 0.96
        xs, ys = [x for x, _ in self.corners], [y for _, y in self.corners]
        across, up = max(xs) - min(xs), max(ys) - min(ys)
        left = self.center_x - across * self.per_cm / 2
        bottom = self.y
        points = [
            (left + (x - min(xs)) * self.per_cm, bottom + (y - min(ys)) * self.per_cm)
            for x, y in self.corners
        ]
        flat = [value for point in points for value in point]
        shape = Tesselator()
        shape.add_contour(flat)
        with self.canvas:
            if self.wool is not None and shape.tesselate():
                self._fill(look, self.wool, shape, (left, bottom))
            Color(*look.ink)
            Line(points=flat, close=True, width=max(look.mm(0.35), 0.8), joint="round")
        right, upper = left + across * self.per_cm, bottom + up * self.per_cm
        self.drawn_box = [left, bottom, right, upper]

    def _fill(
        self, look: Look, wool: Colour, shape: Tesselator, origin: tuple[float, float]
    ) -> None:
        """Fill it with stitches as large as they are, in its wool."""
        across, up = (float(per) / self.per_cm for per in self.gauge)
        fewest = max(look.mm(_LEAST) * across, 1e-6)
        if fewest < 1:  # so small they are no stitches any more: fewer of them are drawn
            across, up = across * fewest, up * fewest
        red, green, blue, alpha = look.tinted(wool)
        for vertices, indices in shape.meshes:
            Color(red * _SHADE, green * _SHADE, blue * _SHADE, alpha)
            Mesh(vertices=vertices, indices=indices, mode="triangle_fan")
            textured = list(vertices)
            for at in range(0, len(textured), 4):
                textured[at + 2] = (textured[at] - origin[0]) * across
                textured[at + 3] = (textured[at + 1] - origin[1]) * up
            Color(*(min(part * _LIGHT, 1.0) for part in (red, green, blue)), alpha)
            Mesh(vertices=textured, indices=indices, mode="triangle_fan", texture=knitted())


class PlanView(OutlineView):
    """An outline whose right edge is its width and whose upper edge is its length."""

    def __init__(
        self, drag: Callable[[str, float], None], drop: Callable[[], None], **properties: Any
    ) -> None:
        """`drag` gets "width" or "length" and by how many cm it shall be longer, `drop` the end."""
        self._drag, self._drop = drag, drop
        self.held = ""
        self._from = (0.0, 0.0)
        super().__init__(clear=_GRIP, **properties)

    def _draw(self) -> None:
        super()._draw()
        look = self.look
        if look is None or not self.drawn_box[2]:
            return
        radius = look.mm(_GRIP)
        with self.canvas:
            for key, (x, y) in self._grips().items():
                Color(*(look.strong if key != self.held else look.mark))
                Ellipse(pos=(x - radius, y - radius), size=(2 * radius, 2 * radius))
                Color(*look.page)
                Line(circle=(x, y, radius * 0.62), width=max(look.mm(0.3), 0.8))

    def extent(self) -> tuple[float, float]:
        """Return more room than is drawn, so that it can be dragged larger."""
        wide, tall = super().extent()
        if self.held:
            return self._kept
        self._kept = (wide * 1.35, tall * 1.35)
        return self._kept

    _kept = (1.0, 1.0)

    def _grips(self) -> dict[str, tuple[float, float]]:
        left, bottom, right, top = self.drawn_box
        return {"width": (right, (bottom + top) / 2), "length": ((left + right) / 2, top)}

    def grip_at(self, x: float, y: float) -> str:
        """Return which edge is taken hold of at a place; "" for none."""
        if self.look is None:
            return ""
        reach = self.look.mm(self.look.theme.sizes.target / 2)
        near = {
            key: max(abs(x - at_x), abs(y - at_y)) for key, (at_x, at_y) in self._grips().items()
        }
        key = min(near, key=lambda one: near[one])
        return key if near[key] <= reach else ""

    def on_touch_down(self, touch: Any) -> bool:
        """Take hold of an edge."""
        self.held = self.grip_at(*touch.pos)
        if not self.held:
            return bool(super().on_touch_down(touch))
        touch.grab(self)
        self._from = tuple(touch.pos)
        self.redraw()
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Make it larger or smaller with the finger."""
        if touch.grab_current is not self or not self.held or not self.per_cm:
            return bool(super().on_touch_move(touch))
        (x, y), (from_x, from_y) = touch.pos, self._from
        # it grows to both sides of its middle, upwards only from its foot
        by = 2 * (x - from_x) if self.held == "width" else y - from_y
        self._drag(self.held, by / self.per_cm)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Let go."""
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        touch.ungrab(self)
        self.held = ""
        self._drop()
        self.redraw()
        return True
