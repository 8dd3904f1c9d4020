"""Projects and their pieces, by name; a touch takes one up where it was left."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from kivy.properties import ObjectProperty

from app.display.flow import TextSpan
from app.window.screens.control import Control
from app.window.screens.pages import Page
from app.window.views.selvedge import Selvedge

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.display.theme import Colour
    from app.pieces.values import PieceSummary
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf

_PATCH = 4.0
"""Height of the patch of wool on a card, in mm."""


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
            self.add_text([TextSpan(words("pieces", "none"))], sizes.words)
        by_age = sorted(pieces, key=lambda one: one.last_wall)
        latest = {one.project: one.last_wall for one in by_age}
        ordered = sorted(pieces, key=lambda one: (latest[one.project], one.project), reverse=True)
        for project, group in groupby(ordered, key=lambda piece: piece.project):
            title = project or words("pieces", "no_project")
            self.add_text([TextSpan(title, "ink", bold=True)], sizes.far_words)
            shelf = self.add_shelf()
            for piece in sorted(group, key=lambda one: one.last_wall, reverse=True):
                self.cards[piece.id] = self._card(shelf, piece, now)
        self.lay()

    def _card(self, shelf: Shelf, piece: PieceSummary, now: str) -> Control:
        words = self.kit.words
        here = piece.id == now
        card = PieceCard(
            look=self.look,
            title=words("pieces", "line", number=piece.number, name=piece.name),
            rank="chosen" if here else "plain",
            wool=self.look.theme.wool_for(piece.id),
        )
        card.bind(on_release=lambda *_: self._take_up(piece.id))
        shelf.put(card)
        state = words("pieces", "finished" if piece.finished else "done", done=piece.done)
        when = words("pieces", "last", date=piece.last_wall[:10])
        card.remark = f"{state}; {words('pieces', 'here') if here else when}"
        return card

    def lay(self, *_: object) -> None:
        """Give the cards more room than controls."""
        super().lay()
        scale = self.look.text_scale
        for shelf in self.shelves[1:]:
            shelf.least, shelf.tall = 46.0 * max(1.0, scale), 2 * _PATCH + 6 + 13.0 * scale


class PieceCard(Control):
    """A piece by its number and name, with a patch of its wool."""

    wool: Colour | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: Any) -> None:
        """Lay the patch along the upper edge."""
        super().__init__(**properties)
        self.patch = Selvedge(look=self.look, wool=self.wool, rows=2, size_hint=(None, None))
        self.add_widget(self.patch, canvas="after")  # the words are drawn anew on the other one
        self.inset = _PATCH + 2.0  # the words keep clear of it
        self.bind(pos=self._lay, size=self._lay)

    def _lay(self, *_: object) -> None:
        if self.look is None:
            return
        edge, tall = self.look.mm(2.0), self.look.mm(_PATCH)
        self.patch.size = (max(self.width - 2 * edge, 1), tall)
        self.patch.pos = (self.x + edge, self.top - edge * 0.8 - tall)
