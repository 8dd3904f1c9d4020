"""A long page of text over the board: paragraphs under each other that scroll."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView

from app.screens.overlay import Overlay
from app.screens.text import Text

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.look import Look
    from app.screens.flow import Span


class Page(Overlay):
    """An overlay whose content is a column that scrolls."""

    def __init__(self, look: Look, close: Callable[[], None], **properties: Any) -> None:
        """Build an empty page."""
        super().__init__(look, close, **properties)
        self.column = BoxLayout(orientation="vertical", size_hint_y=None)
        self.column.bind(minimum_height=self.column.setter("height"))
        self.scroll = ScrollView(
            do_scroll_x=False,
            bar_width=look.mm(1.2),
            bar_color=look.line,
            scroll_type=["bars", "content"],
            size_hint=(None, None),
        )
        self.scroll.add_widget(self.column)
        self.add_widget(self.scroll)
        self.paragraphs: list[Text] = []
        self.bind(size=self.lay, bar=self.lay)

    def add_text(self, spans: list[Span], capital: float) -> Text:
        """Add a paragraph."""
        paragraph = Text(
            look=self.look,
            spans=spans,
            capital=capital,
            least=self.look.theme.sizes.small,
            size_hint_y=None,
            valign="top",
        )
        self.paragraphs.append(paragraph)
        self.column.add_widget(paragraph)
        return paragraph

    def look_changed(self) -> None:
        """Lay the page out in the new look."""
        super().look_changed()
        self.lay()

    def lay(self, *_: object) -> None:
        """Give every part its place and height."""
        look = self.look
        edge = look.mm(1.5)
        self.scroll.pos = (edge, edge)
        self.scroll.size = (
            max(self.width - 2 * edge, 1),
            max(self.height - self.bar - 3 * edge, 1),
        )
        self.scroll.bar_color = look.line
        wide = self.scroll.width - look.mm(2.5)
        self.column.size_hint_x = None
        self.column.width = wide
        self.column.spacing = look.mm(look.theme.sizes.gap)
        for paragraph in self.paragraphs:
            paragraph.size_hint_x = None
            paragraph.width = wide
            paragraph.height = paragraph.height_for(wide) + 1
