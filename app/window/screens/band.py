"""The band across the top while a recording knits: that it does, and two ways to end it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Rectangle
from kivy.uix.boxlayout import BoxLayout

from app.display.flow import TextSpan
from app.session.situation import Practice
from app.window.screens.control import Control
from app.window.screens.text import Text

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.window.screens.kit import Kit

_CONTROL_MM: Final = 34.0


class PracticeBand(BoxLayout):
    """Says that a recording speaks; `end` is called with True for "Knit my own", else False."""

    def __init__(self, kit: Kit, end: Callable[[bool], None], **properties: Any) -> None:
        """Build the band without any height."""
        super().__init__(orientation="horizontal", size_hint_y=None, height=0.0, **properties)
        self._kit, look = kit, kit.look
        self.practice = Practice.NONE
        self.words = Text(look=look, capital=look.theme.sizes.words, least=look.theme.sizes.small)
        self.own = Control(look=look, title=kit.words("practice", "own"), rank="strong")
        self.stop = Control(look=look, title=kit.words("practice", "stop"))
        self.own.bind(on_release=lambda *_: end(True))
        self.stop.bind(on_release=lambda *_: end(False))
        for control in (self.own, self.stop):
            control.size_hint_x = None
        look.follow(self)
        self.bind(pos=self._draw, size=self._draw)

    def look_changed(self) -> None:
        """Take up the new look."""
        self.show(self.practice)

    def show(self, practice: Practice) -> None:
        """Show how the practice stands; without one there is no band."""
        self.practice = practice
        look = self._kit.look
        self.clear_widgets()
        if practice is Practice.NONE:
            self.height = 0.0
            return
        self.height = look.mm(look.theme.sizes.target) + look.mm(2)
        self.padding = self.spacing = look.mm(1)
        said = TextSpan(self._kit.words("practice", practice.value), "mark_ink", bold=True)
        self.words.spans = [said]
        wide = look.mm(_CONTROL_MM) * look.text_scale
        least = look.mm(look.theme.sizes.target)
        self.own.width = self.stop.width = max(least, min(wide, max(self.width, wide) * 0.3))
        shown = (self.words, self.own, self.stop)
        for widget in shown if practice is Practice.SPEAKS else shown[:2]:
            self.add_widget(widget)

    def _draw(self, *_: object) -> None:
        self.canvas.before.clear()
        if self.height:
            with self.canvas.before:
                Color(*self._kit.look.mark)
                Rectangle(pos=self.pos, size=self.size)


def make_room(board: Any, top: Any, height: float) -> None:
    """Let the board stand above the band to type into, while a question is to be touched."""
    asking = board.view is not None and bool(board.view.question)
    if top is not None and asking and hasattr(top, "typed"):
        board.size_hint_y = None
        board.y, board.height = top.height, height - top.height
    elif board.size_hint_y is None:
        board.size_hint_y, board.y = 1, 0
