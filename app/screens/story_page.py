"""The story of the piece: how it grew, what the hand felt, what was noted, the newest first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.drawings.story import story_of
from app.drawings.story_view import StoryView
from app.screens.flow import Span
from app.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.screens.kit import Kit
    from app.situation import Situation
    from engine.state import PieceState

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
        self.lines = lines_of(state, self.kit)
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


def lines_of(state: PieceState, kit: Kit) -> tuple[tuple[int, str], ...]:
    """Return everything that happened, by row, the newest first."""
    words = kit.words
    found: list[tuple[int, int, str]] = []

    def add(row: int, order: int, key: str, *, aside: bool = False, **values: object) -> None:
        text = words("story", key, **values).strip()
        found.append((row, order, f"{text} {words('story', 'set_aside')}" if aside else text))

    for reading in state.lengths:
        add(reading.row, 0, "measured", aside=reading.aside, length=reading.length)
    for width in state.widths:
        add(width.row, 1, "width", aside=width.aside, length=width.width)
    for count in state.counts:
        key = "counted" if count.expected in {None, count.count} else "counted_off"
        add(count.row, 2, key, aside=count.aside, count=count.count, expected=count.expected)
    for weighing in state.weighings:
        add(weighing.row, 3, "weighed", aside=weighing.aside, mass=weighing.mass)
    for ball in state.balls:
        add(ball.row, 4, "ball", aside=ball.aside)
    for lifeline in state.lifelines:
        add(lifeline.row, 5, "lifeline")
    for felt in state.hand:
        add(felt.row, 6, "felt", feel=felt.feel.value)
    for note in state.notes:
        if note.about == "note" and note.text:
            found.append((note.row, 7, note.text))
        elif note.about in {"mistake", "dropped"}:
            add(note.row, 7, note.about, text=note.text)
        else:
            add(note.row, 7, "marked")
    return tuple((row, text) for row, _, text in sorted(found, reverse=True))
