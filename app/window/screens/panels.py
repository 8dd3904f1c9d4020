"""Panels on a page: a heading, what it means, a drawing; side by side where there is room."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.uix.widget import Widget

from app.display.flow import TextSpan
from app.window.screens.text import Text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.window.look import Look

_BESIDE: Final = 75.0
"""mm of width, by the reader's text size, that a panel needs to stand beside another."""


class Panel(Widget):
    """A heading, a sentence or two, and below them a drawing (or none) so many mm high."""

    def __init__(
        self,
        look: Look,
        heading: str,
        sentence: Sequence[TextSpan],
        drawing: Widget | None,
        tall: float,
        **properties: Any,
    ) -> None:
        """Build it; `lay` gives it its place."""
        super().__init__(size_hint=(None, None), **properties)
        self.look, self.drawing, self._tall = look, drawing, tall
        sizes = look.theme.sizes
        self.heading = _paragraph(look, [TextSpan(heading, bold=True)], sizes.far_words)
        self.sentence = _paragraph(look, list(sentence), sizes.words)
        for part in (self.heading, self.sentence, drawing):
            if part is not None:
                part.size_hint = (None, None)
                self.add_widget(part)

    @property
    def texts(self) -> tuple[Text, Text]:
        """What is written on it."""
        return self.heading, self.sentence

    def height_for(self, width: float) -> float:
        """Return the height that it takes in a width, in pixels."""
        gap = self.look.mm(self.look.theme.sizes.gap)
        words = sum(part.height_for(width) + 1 for part in self.texts) + gap / 2
        return words + (self.look.mm(self._tall) if self.drawing is not None else 0.0)

    def lay(self) -> None:
        """Give the parts their places below each other."""
        top = self.top
        for part in self.texts:
            part.size = (self.width, part.height_for(self.width) + 1)
            part.pos = (self.x, top - part.height)
            top = part.y
        if self.drawing is not None:
            below = max(top - self.y - self.look.mm(self.look.theme.sizes.gap) / 2, 1)
            self.drawing.size = (self.width, below)
            self.drawing.pos = self.pos


class Panels(Widget):
    """Panels beside each other where each has room for its words, otherwise below each other."""

    def __init__(self, look: Look, panels: Sequence[Panel], **properties: Any) -> None:
        """Hold them."""
        super().__init__(size_hint=(None, None), **properties)
        self.look, self.panels = look, tuple(panels)
        for panel in self.panels:
            self.add_widget(panel)
        self.bind(pos=self._place, size=self._place)

    def columns(self, width: float) -> int:
        """Return how many stand beside each other in a width."""
        gap = self.look.mm(4 * self.look.theme.sizes.gap)
        least = self.look.mm(_BESIDE) * max(1.0, self.look.text_scale * self.look.grown)
        return max(1, min(len(self.panels), int((width + gap) / (least + gap))))

    def height_for(self, width: float) -> float:
        """Return the height that all of them take in a width, in pixels."""
        return sum(self._rows(width)) + self._gap * (len(self._rows(width)) - 1)

    @property
    def _gap(self) -> float:
        return self.look.mm(2 * self.look.theme.sizes.gap)

    def _each(self, width: float) -> float:
        columns = self.columns(width)
        return (width - 2 * self._gap * (columns - 1)) / columns

    def _rows(self, width: float) -> list[float]:
        columns, each = self.columns(width), self._each(width)
        heights = [panel.height_for(each) for panel in self.panels]
        return [max(heights[at : at + columns]) for at in range(0, len(heights), columns)]

    def _place(self, *_: object) -> None:
        columns, each, top = self.columns(self.width), self._each(self.width), self.top
        for row, tall in enumerate(self._rows(self.width)):
            for column, panel in enumerate(self.panels[row * columns : (row + 1) * columns]):
                panel.size = (each, tall)
                panel.pos = (self.x + column * (each + 2 * self._gap), top - tall)
                panel.lay()
            top -= tall + self._gap


def _paragraph(look: Look, spans: list[TextSpan], capital: float) -> Text:
    return Text(
        look=look,
        spans=spans,
        capital=capital,
        least=look.theme.sizes.small,
        size_hint=(None, None),
        valign="top",
    )
