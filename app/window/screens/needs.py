"""What a piece needs, each with its picture: the wool as a skein, the needle, the hours."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from kivy.uix.widget import Widget

from app.display.flow import TextSpan
from app.window.screens.text import Text
from app.window.views.emblem_view import EmblemView

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.display.theme import Colour
    from app.window.look import Look

LINE: Final = 15.0
"""mm of height of one of them."""


class Needs(Widget):
    """Pictures with words beside them, below each other."""

    def __init__(self, look: Look, wool: Colour, needs: Sequence[tuple[str, str]]) -> None:
        """Build the lines; each is the name of its picture and its words."""
        super().__init__()
        self.look = look
        self.lines: list[tuple[EmblemView, Text]] = []
        for name, words in needs:
            picture = EmblemView(look=look, name=name, wool=wool, ink="ink")
            text = Text(
                look=look,
                spans=[TextSpan(words)],
                capital=look.theme.sizes.words * 1.1,
                least=look.theme.sizes.small,
            )
            for part in (picture, text):
                part.size_hint = (None, None)
                self.add_widget(part)
            self.lines.append((picture, text))
        self.bind(pos=self._lay, size=self._lay)

    def _lay(self, *_: object) -> None:
        if not self.lines:
            return
        tall = min(self.height / len(self.lines), self.look.mm(LINE) * self.look.text_scale)
        side = min(tall * 0.94, self.look.mm(LINE))
        for at, (picture, text) in enumerate(self.lines, 1):
            picture.size, picture.pos = (side, tall), (self.x, self.top - at * tall)
            left = self.x + side + self.look.mm(3)
            text.size = (max(self.right - left, 1), tall)
            text.pos = (left, self.top - at * tall)
