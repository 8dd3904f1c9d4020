"""Projects and their pieces, by name; a touch takes one up where it was left."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from app.screens.flow import Span
from app.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.conversation import PieceSummary
    from app.screens.control import Control
    from app.screens.kit import Kit


class PiecesPage(Page):
    """Every piece of the journal, under its project."""

    def __init__(
        self,
        kit: Kit,
        take_up: Callable[[str], None],
        begin: Callable[[], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build the page; `take_up` gets the id of a piece."""
        self.kit, self._take_up, self._begin = kit, take_up, begin
        super().__init__(kit.look, close, title=kit.words("screens", "pieces"), **properties)
        self.cards: dict[str, Control] = {}

    def show(self, pieces: Sequence[PieceSummary], now: str) -> None:
        """Show the pieces; `now` is the id of the one that is on the needle."""
        words, sizes = self.kit.words, self.look.theme.sizes
        self.clear()
        self.cards = {}
        shelf = self.add_shelf()
        self.control_on(shelf, words("screens", "begin"), self._begin, rank="strong")
        if not pieces:
            self.add_text([Span(words("pieces", "none"))], sizes.words)
        ordered = sorted(pieces, key=lambda piece: piece.project)
        for project, group in groupby(ordered, key=lambda piece: piece.project):
            title = project or words("pieces", "no_project")
            self.add_text([Span(title, "ink", bold=True)], sizes.far_words)
            shelf = self.add_shelf()
            for piece in sorted(group, key=lambda one: one.last_wall, reverse=True):
                self.cards[piece.id] = self._card(shelf, piece, now)
        self.lay()

    def _card(self, shelf: Any, piece: PieceSummary, now: str) -> Control:
        words = self.kit.words
        here = piece.id == now
        card = self.control_on(
            shelf,
            words("pieces", "line", name=piece.name),
            lambda: self._take_up(piece.id),
            rank="chosen" if here else "plain",
        )
        state = words("pieces", "finished" if piece.finished else "done", done=piece.done)
        when = words("pieces", "last", date=piece.last_wall[:10])
        card.remark = f"{state}; {words('pieces', 'here') if here else when}"
        return card

    def lay(self, *_: object) -> None:
        """Give the cards more room than controls."""
        super().lay()
        for shelf in self.shelves:
            shelf.least = 46.0 * max(1.0, self.look.text_scale)
