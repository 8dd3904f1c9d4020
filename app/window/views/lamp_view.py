"""The lamp that shows what the listening does: its shape as well as its colour, and the level."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Ellipse, Line, Rectangle, RoundedRectangle
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from app.session.situation import Ear

if TYPE_CHECKING:
    from app.window.look import Look

_BARS: Final = 5
_FLICKER: Final = 0.75  # bars; every change draws the window anew


class LampView(Widget):
    """A full disc listens, half of one for a word, a ring hears, a square waits to be held."""

    ear: Ear = ObjectProperty(Ear.DEAF)
    level = NumericProperty(0.0)
    look: Look | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("ear", "look", "size", "pos"):
            self.fbind(name, self._redraw)
        self.fbind("level", self._levelled)
        self.fbind("look", self._followed)
        self._shown_bars = -1
        self._followed()
        self._redraw()

    def _bars(self) -> int:
        """Return how many bars the level fills; a flicker between two of them changes nothing."""
        filled = min(max(float(self.level), 0.0), 1.0) * _BARS
        return self._shown_bars if abs(filled - self._shown_bars) < _FLICKER else round(filled)

    def _levelled(self, *_: object) -> None:
        if self._bars() != self._shown_bars:  # the level comes ten times a second
            self._redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._redraw()

    def _followed(self, *_: object) -> None:
        if self.look is not None:
            self.look.follow(self)

    def _redraw(self, *_: object) -> None:
        look = self.look
        self.canvas.clear()
        if look is None or min(self.size) <= 1:
            return
        side = min(self.height, self.width)
        x, y = self.x, self.center_y - side / 2
        thick = max(0.35 * look.px_per_mm, 1.2)
        middle = (x + side / 2, y + side / 2)
        with self.canvas:
            match self.ear:
                case Ear.LISTENING | Ear.WORD:
                    Color(*look.good)
                    Ellipse(pos=(x, y), size=(side, side))
                    if self.ear is Ear.WORD:  # half a disc: half of what is said counts
                        Color(*look.page)
                        Rectangle(pos=(x + side / 2, y + thick), size=(side / 2, side - 2 * thick))
                        Color(*look.good)
                        Line(circle=(*middle, side / 2 - thick / 2), width=thick / 2)
                case Ear.HELD:  # a button that waits to be pressed
                    Color(*look.soft)
                    Rectangle(pos=(x + side * 0.08, y + side * 0.08), size=(side * 0.84,) * 2)
                    Color(*look.page)
                    Rectangle(pos=(x + side * 0.26, y + side * 0.26), size=(side * 0.48,) * 2)
                case Ear.HEARING | Ear.DICTATION:
                    Color(*look.good)
                    Ellipse(pos=(x, y), size=(side, side))
                    Color(*look.page)
                    Ellipse(pos=(x + side * 0.3, y + side * 0.3), size=(side * 0.4, side * 0.4))
                case Ear.MUTED:
                    Color(*look.soft)
                    Line(circle=(*middle, side / 2 - thick), width=thick)
                case Ear.PAUSED:
                    Color(*look.soft)
                    for at in (0.15, 0.6):
                        RoundedRectangle(
                            pos=(x + side * at, y), size=(side * 0.25, side), radius=[thick]
                        )
                case Ear.LOST | Ear.DEAF:
                    Color(*(look.alert if self.ear is Ear.LOST else look.soft))
                    Line(circle=(*middle, side / 2 - thick), width=thick)
                    Line(
                        points=[x + side * 0.18, y + side * 0.18, x + side * 0.82, y + side * 0.82],
                        width=thick,
                    )
            self._shown_bars = self._bars()
            if self.ear in {Ear.LISTENING, Ear.WORD, Ear.HEARING, Ear.DICTATION}:
                self._draw_level(look, x + side * 1.35, y, side)

    def _draw_level(self, look: Look, x: float, y: float, side: float) -> None:
        wide = side * 0.22
        for bar in range(_BARS):
            tall = side * (0.3 + 0.7 * bar / (_BARS - 1))
            Color(*(look.good if bar < self._shown_bars else look.line))
            height = tall if bar < self._shown_bars else max(side * 0.12, 1)
            Rectangle(pos=(x + bar * wide * 1.5, y), size=(wide, height))
