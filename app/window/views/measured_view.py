"""A drawing with its measures: an arrow below it for its width and one beside it for its height."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Line, Rectangle
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from app.window.screens.text import picture_of, width_of
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from app.window.look import Look

_TIP: Final = 1.6  # mm
_LINE: Final = 0.45
_MOST_BESIDE: Final = 0.4
"""Share of the width that the words beside a drawing may take from it."""


class MeasuredView(Widget):
    """Holds a view that tells where its drawing lies (`drawn_box`), and measures it."""

    look: Look | None = ObjectProperty(None, allownone=True)
    across = StringProperty("")
    """What is written at the width; "" for no arrow."""
    upward = StringProperty("")
    """What is written at the height; "" for no arrow."""

    def __init__(self, look: Look, view: Any, **properties: Any) -> None:
        """Put the measures around `view`."""
        self.view = view
        super().__init__(look=look, **properties)
        self.add_widget(view)
        for name in ("look", "across", "upward", "size", "pos"):
            self.fbind(name, self._lay)
        view.bind(drawn_box=self._measure)
        look.follow(self)
        self._lay()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._lay()

    @property
    def _letters(self) -> int:
        look = self.look
        if look is None:
            return 0
        size = round(look.letters(look.theme.sizes.words))
        beside = width_of(self.upward, size, True) if self.upward else 0.0
        below = width_of(self.across, size, True) if self.across else 0.0
        room = float(max(self.width, 1))
        most = min(room * _MOST_BESIDE / max(beside, 1), room / max(below, 1), 1.0)
        return max(int(size * most + 0.5), 1)

    def _lay(self, *_: object) -> None:
        look = self.look
        if look is None:
            return
        gap = look.mm(_TIP * 2)
        below = self._letters * 1.3 + gap if self.across else 0.0
        beside = width_of(self.upward, self._letters, True) + gap + look.mm(1) if self.upward else 0
        beside += look.mm(getattr(self.view, "clear", 0.0))
        self.view.size = (max(self.width - beside, 1), max(self.height - below, 1))
        self.view.pos = (self.x, self.y + below)
        self._measure()

    def _measure(self, *_: object) -> None:
        drawn_or_told(self, self.look, self._draw)

    def _draw(self) -> None:
        self.canvas.after.clear()
        look, (left, bottom, right, top) = self.look, self.view.drawn_box
        if look is None or right <= left:
            return
        tip, wide = look.mm(_TIP), max(look.mm(_LINE) / 2, 0.8)
        with self.canvas.after:
            Color(*look.ink)
            clear = look.mm(getattr(self.view, "clear", 0.0))
            if self.across:
                y = bottom - look.mm(_TIP) * 1.1
                self._arrow((left, y), (right, y), tip, wide)
                self._write(look, self.across, ((left + right) / 2, y - self._letters * 0.8))
            if self.upward:
                x = right + look.mm(_TIP) * 1.3 + clear
                self._arrow((x, bottom), (x, top), tip, wide)
                half = width_of(self.upward, self._letters, True) / 2
                self._write(look, self.upward, (x + look.mm(1) + half, (bottom + top) / 2))

    @staticmethod
    def _arrow(
        start: tuple[float, float], end: tuple[float, float], tip: float, wide: float
    ) -> None:
        Line(points=[*start, *end], width=wide)
        flat = start[1] == end[1]
        for (x, y), sign in ((start, 1), (end, -1)):
            ahead = sign * tip
            if flat:
                points = [x + ahead, y + tip * 0.6, x, y, x + ahead, y - tip * 0.6]
            else:
                points = [x - tip * 0.6, y + ahead, x, y, x + tip * 0.6, y + ahead]
            Line(points=points, width=wide, joint="round", cap="round")

    def _write(self, look: Look, words: str, middle: tuple[float, float]) -> None:
        picture = picture_of(words, self._letters, True)
        x, y = middle
        Color(*look.ink)
        Rectangle(
            texture=picture,
            pos=(round(x - picture.width / 2), round(y - picture.height / 2)),
            size=picture.size,
        )
