"""The fabric on the canvas: stitches in wool, loops on the needles, the bit that is worked now."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import hypot
from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock
from kivy.core.image import Image as ImageCore
from kivy.graphics import (
    Canvas,
    Color,
    Mesh,
    PopMatrix,
    PushMatrix,
    Rectangle,
    RoundedRectangle,
    Scale,
    ScissorPop,
    ScissorPush,
    Translate,
)
from kivy.graphics.texture import Texture
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from app import resources
from app.drawings.fabric import DrawnFabric, mirrored
from app.drawings.lay_out import NEEDLE, ROW_HEIGHT, height_above, lay_out, seldom
from app.drawings.picture import Ink, Picture, mesh
from app.drawings.sheet import MARGIN_X, MARGIN_Y, NEEDLE_SHARE, PLACES, Tile
from app.window.motion import LASTS_S, eased
from app.window.screens.text import picture_of, width_of
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from collections.abc import Iterable

    from app.display.theme import Colour
    from app.drawings.fabric import DrawnRow
    from app.drawings.picture import DrawnNeedle, Quad, RowMark, Strip
    from app.window.look import Look

_LEAST_STITCH: Final = 2.3  # mm: narrower than that a V is no V any more
_MOST_STITCH: Final = 8.0
_MOST_ZOOMED: Final = 12.0
_MARK_ROOM: Final = 1.2  # room for the numbers of the rows, beside their width, in mm
_ZOOMS: Final = 2.1
"""So much larger than would fit its width a piece of a few rows is drawn at most."""
_NEAR_STITCH: Final = 1.6  # mm
_FROM_AFAR: Final = 1.35
_FEET: Final = 0.3
"""Room below the lowest row of a picture, in stitch widths."""
_WORTH: Final = 1.15
"""A little larger is not worth that the sides are not seen."""
_KEPT: Final = 8
"""So many rows below the lowest one are remembered: now and then one more of them is seen."""
_GLOW: Final = 0.5
"""How strong the light is that lies for a moment on a repeat that has closed."""
_NEEDLE_ENDS: Final = 2.2  # how far the needles stand out, in stitch widths
_STRENGTH: Final = {
    Ink.WOOL: 1.0, Ink.IDLE: 0.35, Ink.FRESH: 1.0, Ink.NOW: 1.0, Ink.PLANNED: 0.45, Ink.HINT: 0.55,
}  # fmt: skip


@cache
def sheet() -> Texture:
    """Return the sheet of drawn stitches as a texture."""
    picture = ImageCore(str(resources.path("assets/drawn/stitches.png")), mipmap=True)
    texture = picture.texture
    texture.min_filter = "linear_mipmap_linear"
    return texture


@cache
def fading() -> Texture:
    """Return a strip that fades from left (opaque) to right (clear)."""
    texture = Texture.create(size=(32, 1), colorfmt="rgba")
    alpha = bytes(value for at in range(32) for value in (255, 255, 255, 255 - at * 8))

    def fill(empty: Texture) -> None:
        empty.blit_buffer(alpha, colorfmt="rgba", bufferfmt="ubyte")

    fill(texture)
    texture.add_reload_observer(fill)  # a graphics card forgets it when the device is put away
    texture.mag_filter = "linear"
    return texture


class FabricView(Widget):
    """Draws a `Fabric` as large as fits, around the place where the work is."""

    fabric: DrawnFabric | None = ObjectProperty(None, allownone=True)
    wool: Colour | None = ObjectProperty(None, allownone=True)
    look: Look | None = ObjectProperty(None, allownone=True)
    hangs = BooleanProperty(False)
    """Whether it hangs from the upper edge, so that the needle stays where it is as rows grow."""
    whole = BooleanProperty(False)
    """Whether all of it is shown, however small, and never only a part around the work."""
    rows = NumericProperty(0)
    """So many rows the height stands for, if they are more than there are."""
    numbered = BooleanProperty(True)
    """Whether the numbers of the rows stand beside it."""
    drawn_box = ListProperty([0, 0, 0, 0])
    """Left, bottom, right and upper edge of the rows done, in pixels."""
    stitch = NumericProperty(0.0)
    """Width of a stitch as drawn, in pixels."""

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        self.picture: Picture | None = None
        self.open_sides = self.zoomed = False
        self.wools: dict[str, Colour] = {}
        """The wool of every yarn, by its letter."""
        self._laid: dict[int, tuple[DrawnRow, tuple[float, ...]]] = {}
        """The rows done as they were drawn last, by their number, and where their stitches lie."""
        self._meshes: dict[int, tuple[Strip, Mesh]] = {}
        """What was drawn last and can be drawn again, by the identity of its strip."""
        self._spent_s = LASTS_S
        """For how long the newest row has been growing."""
        self._closed = 0
        """So many rows are a repeat that has just closed."""
        self._lift: Translate | None = None
        self._glow: Color | None = None
        # However much changes at once, it is drawn once, before the next frame.
        self._redraw_soon = Clock.create_trigger(self._redraw, -1)
        for name in ("fabric", "wool", "look", "size", "pos", "hangs", "numbered", "whole", "rows"):
            self.fbind(name, self._redraw_soon)
        self.fbind("look", self._followed)
        self._followed()
        self._redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._redraw_soon()

    # --- growing --------------------------------------------------------------------------------

    def grow(self, closed: int = 0) -> None:
        """Let the newest row be seen to grow, and a repeat of so many rows to close."""
        self._spent_s, self._closed = 0.0, closed
        Clock.unschedule(self._move)
        Clock.schedule_interval(self._move, 0)

    def _move(self, seconds: float) -> bool:
        """Go on growing for so many seconds; False, and no more frames, when it is at its end."""
        self._spent_s += seconds
        if self._lift is not None:
            self._lift.y = self._lifted
        if self._glow is not None:
            self._glow.a = _GLOW * (1.0 - eased(self._spent_s))
        return self._spent_s < LASTS_S

    @property
    def _lifted(self) -> float:
        """How much higher than at its end the fabric hangs, in stitch widths."""
        return ROW_HEIGHT * (1.0 - eased(self._spent_s))

    def _followed(self, *_: object) -> None:
        if self.look is not None:
            self.look.follow(self)

    def _redraw(self, *_: object) -> None:
        drawn_or_told(self, self.look, self._draw_anew)

    def _draw_anew(self) -> None:
        look = self.look
        self.canvas.clear()
        self._lift = self._glow = None
        fabric = self.fabric
        if look is None or fabric is None or self.wool is None or min(self.size) <= 1:
            return
        if look.left_handed:
            fabric = mirrored(fabric)
        marks = self._mark_width(fabric, look)
        stitch = self._stitch(fabric, look, marks)
        above = height_above(fabric)
        rows = max(int((self.height / stitch - above - 0.3) / ROW_HEIGHT), 1)
        cut = len(fabric.done) > rows
        shown = fabric.done[-rows:]
        picture = lay_out(replace(fabric, done=shown), self._stands_on(shown))
        lowest = shown[0].number if shown else 0
        self._laid = {
            **{at: laid for at, laid in self._laid.items() if lowest - _KEPT <= at < lowest},
            **{row.number: (row, xs) for row, xs in zip(shown, picture.columns, strict=True)},
        }
        self.picture, self.stitch, self.open_sides = picture, stitch, fabric.open_sides
        colours = fabric.colours
        wools = look.theme.wools_with(self.wool, len(colours))
        self.wools = {"": self.wool, **dict(zip(colours, wools, strict=True))}
        self._draw(look, picture, stitch, marks, cut=cut)

    def _stands_on(self, rows: tuple[DrawnRow, ...]) -> tuple[float, ...] | None:
        """
        Return where the stitches below the lowest row lie, as it was drawn last.

        So every row stays where it is while the picture moves up with the work, and is not laid
        out anew.
        """
        if not rows:
            return None
        last, under = self._laid.get(rows[0].number), self._laid.get(rows[0].number - 1)
        if last is None or under is None or last[0] is not rows[0]:
            return None
        return under[1]

    def _mark_width(self, fabric: DrawnFabric, look: Look) -> float:
        if not self.numbered:
            return look.mm(_MARK_ROOM)
        rows = [*fabric.done, *(row for row in (fabric.working, fabric.hint) if row)]
        size = look.letters(look.theme.sizes.small)
        # The number grows with the rows, but the letters of the yarns come and go.
        texts = {row.text for row in rows if " " in row.text or row.number > rows[-1].number - 2}
        widest = max((width_of(text, size, True) for text in texts), default=0.0)
        return widest + look.mm(_MARK_ROOM)

    def _stitch(self, fabric: DrawnFabric, look: Look, marks: float) -> float:
        room = max(self.width - 2 * marks, look.mm(_LEAST_STITCH))
        ends = 0.4 if fabric.off else _NEEDLE_ENDS
        wanted = room / (fabric.widest + 2 * ends)
        above = height_above(fabric) + 0.3
        if self.whole:
            rows = max(len(fabric.done), int(self.rows), 1)
            return float(min(wanted, self.height / (above + rows * ROW_HEIGHT)))
        tall = self.height / (above + 3 * ROW_HEIGHT)  # at least three rows done are seen
        most = min(look.mm(_MOST_STITCH), max(tall, look.mm(_LEAST_STITCH)))
        filled = self.height / (above + seldom(len(fabric.done)) * ROW_HEIGHT)
        fits = float(min(max(wanted, look.mm(_LEAST_STITCH)), most))
        zoomed = min(filled, wanted * _ZOOMS, look.mm(_MOST_ZOOMED), tall)
        return zoomed if zoomed > fits * _WORTH else fits  # on the needle while it is small

    # --- on the canvas ------------------------------------------------------------------------

    def _draw(
        self, look: Look, picture: Picture, stitch: float, marks: float, *, cut: bool
    ) -> None:
        room = self.width - 2 * marks
        needed = (picture.right - picture.left + 2 * _NEEDLE_ENDS) * stitch
        middle = (picture.left + picture.right) / 2
        self.zoomed = cropped = needed > room + 1 and not self.whole
        shift = self._focus(picture, room / stitch) if cropped else middle
        height = (picture.top - picture.bottom) * stitch
        spare = self.height - height
        base = self.y + (spare if self.hangs else spare / 2) - picture.bottom * stitch
        if cut:  # the fabric goes on below the edge of the picture
            base = self.y - picture.bottom * stitch
        to_x = self.center_x - shift * stitch
        left, right = self.x + marks, self.right - marks

        def place(x: float, y: float) -> tuple[float, float]:
            return to_x + x * stitch, base + y * stitch

        self.drawn_box = [
            *place(picture.left, picture.bottom + _FEET),
            *place(picture.right, 0.0),
        ]
        seen = _Inside((left - to_x) / stitch, (right - to_x) / stitch)
        # Within a page that scrolls nothing can be cut at the edges of a box on the screen.
        at_edges = cropped and self.hangs
        filtered = cropped and not at_edges
        with self.canvas:
            if picture.bit is not None:
                self._mark_bit(look, picture, place, seen)
            if at_edges:
                self._cut_at(left - stitch / 2, right + stitch / 2, stitch)
            PushMatrix()
            Translate(to_x, base)
            Scale(stitch, stitch, 1)
            self._rows(look, picture, seen if filtered else None)
            self._needles(look, picture.needles, seen)
            for colour in self.wools:
                loops = [quad for quad in picture.loops if quad.colour == colour]
                drawn = _mesh_of(mesh(seen.quads(loops) if filtered else loops))
                self._mesh(look, Ink.FRESH, colour, drawn, 0.0)
            PopMatrix()
            if at_edges:
                ScissorPop()
            self._fade(look, picture, place, cut=cut, narrow=cropped or self.open_sides)
            lowest = {True: float("inf"), False: float("inf")}
            for mark in reversed(picture.marks if self.numbered else ()):
                _, y = place(mark.x, mark.y)
                if mark.ink is Ink.WOOL and y > lowest[mark.at_right]:
                    continue  # it would lie on the number above it
                lowest[mark.at_right] = y - self._number(look, mark, place, (left, right))

    def _cut_at(self, left: float, right: float, more: float) -> None:
        """Draw nothing beyond two edges from now on, nor farther above or below than `more`."""
        ScissorPush(
            x=round(left),
            y=round(self.y - more),
            width=max(round(right - left), 1),
            height=round(self.height + 2 * more),
        )

    def _rows(self, look: Look, picture: Picture, seen: _Inside | None) -> None:
        """Draw the rows, those done as high as they have sunk; only what is `seen`, if given."""
        kept, self._meshes = self._meshes, {}
        PushMatrix()
        self._lift = Translate(0, self._lifted)
        lifted = True
        for strip, y in picture.strips:
            if lifted and y >= 0:  # what is on the needle, and to come, stays where it is
                PopMatrix()
                lifted = False
            if seen is None:
                drawn = self._mesh_again(strip, kept)
            else:
                drawn = _mesh_of(mesh(seen.quads(strip.quads)))
            self._mesh(look, strip.ink, strip.colour, drawn, y)
        if self._closed and self._spent_s < LASTS_S:
            self._glow = Color(*look.mark[:3], _GLOW)
            tall = self._closed * ROW_HEIGHT
            Rectangle(pos=(picture.left, -tall), size=(picture.right - picture.left, tall))
        if lifted:
            PopMatrix()

    def _focus(self, picture: Picture, room: float) -> float:
        """Return the middle of what is shown of a fabric too wide for its box."""
        wanted = sum(picture.bit) / 2 if picture.bit else picture.work_x
        low = picture.left - _NEEDLE_ENDS + room / 2
        high = picture.right + _NEEDLE_ENDS - room / 2
        return float(min(max(wanted, low), max(high, low)))

    def _mesh_again(self, strip: Strip, kept: dict[int, tuple[Strip, Mesh]]) -> Mesh:
        """Return the mesh of a strip: that of the last time, where it was drawn then."""
        again = self._meshes.get(id(strip))  # the same row may lie there twice
        found = kept.get(id(strip)) if again is None else None
        drawn = found[1] if found is not None else _mesh_of(strip.vertices)
        self._meshes[id(strip)] = (strip, drawn)
        return drawn

    def _mesh(self, look: Look, ink: Ink, colour: str, drawn: Mesh, y: float) -> None:
        if not drawn.indices:
            return
        Color(*self._wool(look, self.wools[colour], _STRENGTH[ink]))
        PushMatrix()
        Translate(0, y)
        self.canvas.add(drawn)
        PopMatrix()

    def _wool(self, look: Look, wool: Colour, strength: float) -> tuple[float, float, float, float]:
        """Return wool as it is drawn; from afar the shadows in it make it darker than it is."""
        red, green, blue, alpha = look.tinted(wool, strength)
        much = 1.0 if self.stitch >= look.mm(_NEAR_STITCH) else _FROM_AFAR
        return min(red * much, 1), min(green * much, 1), min(blue * much, 1), alpha

    def _mark_bit(self, look: Look, picture: Picture, place: Any, seen: _Inside) -> None:
        if picture.bit is None:
            return
        low, high = seen.clip(*picture.bit)
        if high <= low:
            return
        mark = next(mark for mark in picture.marks if mark.ink is Ink.NOW)
        x, y = place(low - 0.1, mark.y - ROW_HEIGHT * 0.82)
        far_x, far_y = place(high + 0.1, mark.y + ROW_HEIGHT * 0.82)
        Color(*look.mark)
        RoundedRectangle(pos=(x, y), size=(far_x - x, far_y - y), radius=[look.mm(1.2)])

    def _needles(self, look: Look, needles: tuple[DrawnNeedle, ...], seen: _Inside) -> None:
        Color(*look.needle)
        for needle in needles:
            length = hypot(needle.tip_x - needle.end_x, needle.tip_y - needle.end_y)
            if not length:
                continue
            along = ((needle.tip_x - needle.end_x) / length, (needle.tip_y - needle.end_y) / length)
            tip = min(1.5, length)
            end_x, _ = seen.clip(needle.end_x, needle.end_x, by=0.0 if self.zoomed else 1.5)
            start = max(0.0, (end_x - needle.end_x) / along[0]) if along[0] else 0.0
            joint = max(length - tip, start)
            self._stick(Tile.SHAFT, needle, along, (start, joint))
            self._stick(Tile.TIP, needle, along, (joint, length))

    def _stick(
        self,
        tile: Tile,
        needle: DrawnNeedle,
        along: tuple[float, float],
        reach: tuple[float, float],
    ) -> None:
        left, right, top, bottom = PLACES[tile]
        width = right - left
        inner = (left + width * MARGIN_X, right - width * MARGIN_X)
        if tile is Tile.SHAFT:
            inner = ((left + right) / 2, (left + right) / 2)
        half = NEEDLE / NEEDLE_SHARE / (1 - 2 * MARGIN_Y) / 2
        across = (-along[1], along[0]) if along[0] >= 0 else (along[1], -along[0])
        vertices: list[float] = []
        for distance, side, u, v in (
            (reach[0], -half, inner[0], bottom),
            (reach[1], -half, inner[1], bottom),
            (reach[1], half, inner[1], top),
            (reach[0], half, inner[0], top),
        ):
            x = needle.end_x + along[0] * distance + across[0] * side
            y = needle.end_y + along[1] * distance + across[1] * side
            vertices += (x, y, u, v)
        Mesh(
            vertices=vertices,
            indices=[0, 1, 2, 0, 2, 3],
            mode="triangles",
            texture=sheet(),
        )

    def _fade(self, look: Look, picture: Picture, place: Any, *, cut: bool, narrow: bool) -> None:
        """Let the fabric fade where it goes on beyond the picture."""
        strip = fading()
        Color(*look.page)
        if narrow:
            wide = self.width * 0.16 if self.open_sides else look.mm(6)
            Rectangle(texture=strip, pos=self.pos, size=(wide, self.height))
            Rectangle(
                texture=strip,
                pos=(self.right - wide, self.y),
                size=(wide, self.height),
                tex_coords=(1, 0, 0, 0, 0, 1, 1, 1),
            )
        if cut:
            tall = self.stitch * ROW_HEIGHT * 2.2
            left, _ = place(picture.left - 1, 0)
            right, _ = place(picture.right + 1, 0)
            Mesh(
                vertices=[
                    *(max(left, self.x), self.y, 0.0, 0.5),
                    *(min(right, self.right), self.y, 0.0, 0.5),
                    *(min(right, self.right), self.y + tall, 1.0, 0.5),
                    *(max(left, self.x), self.y + tall, 1.0, 0.5),
                ],
                indices=[0, 1, 2, 0, 2, 3],
                mode="triangles",
                texture=strip,
            )
            below = self.stitch * 0.5  # the tips of the lowest stitches
            near, far = max(left, self.x), min(right, self.right)
            Rectangle(pos=(near, self.y - below), size=(max(far - near, 0), below))

    def _number(self, look: Look, mark: RowMark, place: Any, edges: tuple[float, float]) -> float:
        """Write the number of a row where the row begins, as charts do; return its height."""
        now = mark.ink in {Ink.NOW, Ink.HINT}
        size = round(look.letters(look.theme.sizes.small))
        size = min(size, round(self.stitch * ROW_HEIGHT / look.theme.fonts.capital * 1.25))
        picture = picture_of(mark.text, size, now)
        x, y = place(mark.x, mark.y)
        gap = look.mm(0.8)
        if mark.ink in {Ink.WOOL, Ink.HINT}:
            x = min(max(x, edges[0]), edges[1])
        else:
            x = min(max(x, edges[0]), edges[1])
        left = x + gap if mark.at_right else x - gap - picture.width
        baseline = y - look.theme.fonts.capital * size / 2
        Color(*(look.ink if now else look.soft))
        Rectangle(
            texture=picture,
            pos=(round(left), round(baseline - look.theme.fonts.descent * size)),
            size=picture.size,
        )
        return float(size * 0.98)


def _mesh_of(whole: tuple[list[float], list[int]]) -> Mesh:
    """Return a mesh of the sheet of stitches, on no canvas yet."""
    vertices, indices = whole
    aside = Canvas()  # a new instruction goes to the canvas that is open
    with aside:
        drawn = Mesh(vertices=vertices, indices=indices, mode="triangles", texture=sheet())
    aside.remove(drawn)
    return drawn


class _Inside:
    """What lies between two edges, in stitch widths."""

    def __init__(self, left: float, right: float) -> None:
        self.left, self.right = left, right

    def quads(self, quads: Iterable[Quad]) -> list[Quad]:
        return [
            quad
            for quad in quads
            if quad.corners[0] > self.left - 0.8 and quad.corners[2] < self.right + 0.8
        ]

    def clip(self, low: float, high: float, by: float = 0.0) -> tuple[float, float]:
        low_edge, high_edge = self.left - by, self.right + by
        return (
            min(max(low, low_edge), high_edge),
            min(max(high, low_edge), high_edge),
        )
