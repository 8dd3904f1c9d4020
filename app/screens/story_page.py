"""The story of the piece: how it grew, what the hand felt, what was noted, the newest first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.drawings.story import story_of
from app.drawings.story_view import StoryView
from app.screens.flow import Span
from app.screens.pages import Page
from app.story_lines import story_lines

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.screens.kit import Kit
    from app.situation import Situation

_CHART = 62.0  # mm
_AT_A_TIME = 60
"""Lines of the story that are written at once; a touch brings earlier ones."""


class StoryPage(Page):
    """The chart of lengths, and below it everything that happened."""

    def __init__(self, kit: Kit, close: Callable[[], None], **properties: Any) -> None:
        """Build an empty page; `show` fills it."""
        self.kit = kit
        super().__init__(kit.look, close, title=kit.words("screens", "story"), **properties)
        self.lines: tuple[tuple[int, str], ...] = ()
        self.written = 0

    def show(self, situation: Situation) -> None:
        """Show the story of a piece."""
        self.clear()
        words, sizes, state = self.kit.words, self.look.theme.sizes, situation.state
        self.add_text([Span(state.name, bold=True)], sizes.far_words)
        story = story_of(state, situation.course)
        self.add_text([Span(words("story", "length"), bold=True)], sizes.words)
        wool = self.look.theme.wool_for(state.piece)
        self.add_drawing(StoryView(look=self.look, wool=wool, story=story), _CHART)
        if not story.points:
            self.add_text([Span(words("story", "none"), "soft")], sizes.words)
        self.add_text([Span(words("story", "notes"), bold=True)], sizes.far_words)
        self.lines = story_lines(state, self.kit.words)
        self.written = 0
        if not self.lines:
            self.add_text([Span(words("story", "no_notes"), "soft")], sizes.words)
        self._more()

    def _more(self) -> None:
        """Write the next lines of the story, and a control for those before them."""
        words, sizes = self.kit.words, self.look.theme.sizes
        if self.shelves:
            self.column.remove_widget(self.shelves.pop())
        upto = self.written + _AT_A_TIME
        for row, text in self.lines[self.written : upto]:
            self.add_text([Span(words("story", "note", row=row, text=text))], sizes.words)
        self.written = min(upto, len(self.lines))
        if self.written < len(self.lines):
            self.control_on(self.add_shelf(), words("story", "earlier"), self._more)
        self.lay()
