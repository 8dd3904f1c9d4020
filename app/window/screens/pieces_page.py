"""The pieces by name, each drawn on its needle; a touch takes one up where it was left."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock
from kivy.graphics import Color, Ellipse, Line
from kivy.uix.widget import Widget

from app.display.flow import TextSpan
from app.display.piece_cards import card_width, cards_of, drawing_of, portraits_of
from app.session.controls import phrase_of
from app.window.screens.pages import Page
from app.window.screens.picture_control import PictureControl
from app.window.views.fabric_view import FabricView
from app.window.views.tape_view import TapeView

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.display.piece_cards import CardDrawing, PieceCard
    from app.display.theme import Colour
    from app.session.controls import Control as Spec
    from app.session.situation import Portrait, Situation
    from app.window.look import Look
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf

_CARD: Final = (58.0, 42.0)
"""mm of width of a card at the least, and of height of its picture."""
_TAPE: Final = 8.0
_WORDS: Final = 15.0
_HEADING: Final = 9.0
_FOLDS: Final = 102
"""The key "f"."""


def now() -> datetime:
    """Return the time by this device, with its zone."""
    return datetime.now(UTC).astimezone()


class PiecesPage(Page):
    """Every piece of the journal; those that are finished are folded away."""

    def __init__(
        self,
        kit: Kit,
        take_up: Callable[[str], None],
        close: Callable[[], None],
        act: Callable[[Spec], None],
        **properties: Any,
    ) -> None:
        """Build the page; `take_up` gets the id of a piece, `act` what leads to the order."""
        self.kit, self._take_up, self._act = kit, take_up, act
        super().__init__(kit.look, close, title=kit.words("screens", "pieces"), **properties)
        self.cards: dict[str, PictureControl] = {}
        self.unfolded = False
        self.fold: Control | None = None
        self.to_order: Control | None = None
        self._drawn: dict[str, Portrait] = {}
        self._waiting: dict[str, Portrait] = {}
        self._told: tuple[PieceCard, ...] = ()
        self._situation: Situation | None = None
        self._draw_soon = Clock.create_trigger(self._draw_one, 0)

    def show(self, situation: Situation) -> None:
        """Show the pieces of a situation; their drawings come one after the other."""
        self._situation = situation
        pieces, here = situation.pieces_now, situation.state.piece
        told = cards_of(pieces, here, now(), self.kit.words)
        if told != self._told or not self.cards:
            self._told = told
            self._write()
        for piece, portrait in portraits_of(situation).items():
            if piece in self.cards and self._drawn.get(piece) != portrait:
                self._waiting[piece] = portrait
                self._draw_soon()

    def _write(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        kept = self.scroll.scroll_y
        self.clear()
        self.cards, self._drawn, self.fold = {}, {}, None
        if not self._told:
            self.add_text([TextSpan(words("pieces", "none"))], sizes.words)
        needles = [one for one in self._told if not one.finished]
        finished = [one for one in self._told if one.finished]
        if needles:
            self.add_text([TextSpan(words("pieces", "on_needles"), bold=True)], sizes.far_words)
            self._add_cards(needles)
        at_foot = None
        if finished:
            count = len(finished)
            heading = words("pieces", "folded", count=count)
            self.add_text([TextSpan(heading, bold=True)], sizes.far_words)
            self._add_cards([one for one in finished if self.unfolded or one.here])
            name = words("pieces", "fold" if self.unfolded else "unfold", count=count)
            at_foot = self.add_shelf()
            self.fold = self.control_on(at_foot, name, self.turn_over)
        spec = self.kit.controls.by_key["show_order"]
        at_foot = at_foot or self.add_shelf()
        self.to_order = self.control_on(at_foot, spec.name, lambda: self._act(spec))
        self.to_order.phrase = phrase_of(spec, self.kit.book)
        self.lay()
        self.scroll.scroll_y = kept

    def turn_over(self) -> None:
        """Unfold what is finished, or fold it away again."""
        self.unfolded = not self.unfolded
        self._write()
        if self._situation is not None:
            self.show(self._situation)

    def _add_cards(self, cards: list[PieceCard]) -> None:
        shelf = self.add_shelf() if cards else None
        for one in cards:
            if shelf is not None:
                self._add_card(shelf, one)

    def _add_card(self, shelf: Shelf, one: PieceCard) -> None:
        wool = self.look.theme.wool_for(one.id)
        card = PictureControl(
            self.look,
            PieceDrawing(self.look, wool),
            title=one.title,
            remark=one.remark,
            rank="chosen" if one.here else "bare",
            capital=self.look.theme.sizes.far_words,
            least=self.look.theme.sizes.small,
        )
        card.bind(on_release=lambda *_: self._take_up(one.id))
        shelf.put(card)
        self.cards[one.id] = card

    def _draw_one(self, *_: object) -> None:
        """Draw one piece between two frames; the others wait for the next."""
        if not self._waiting:
            return
        piece, portrait = next(iter(self._waiting.items()))
        del self._waiting[piece]
        card = self.cards.get(piece)
        if card is not None and isinstance(card.picture, PieceDrawing):
            self._drawn[piece] = portrait
            card.picture.show(drawing_of(portrait, self.kit.words, self.kit.length_unit))
        if self._waiting:
            self._draw_soon()

    def turn(self, code: int) -> bool:
        """Fold by the key "f"; other keys scroll."""
        if code == _FOLDS and self.fold is not None:
            self.turn_over()
            return True
        return super().turn(code)

    def lay(self, *_: object) -> None:
        """Give the cards more room than controls."""
        super().lay()
        scale, mm = max(1.0, self.look.text_scale), self.look.px_per_mm
        words = _WORDS * scale * self.look.grown
        shelves = self.shelves[:-1]
        room = self.column.width / mm
        least = min(_CARD[0] * min(scale, 1.4), room)
        tall = self.scroll.height / mm - 2 * _HEADING * scale
        tall -= _HEADING + self.look.theme.sizes.target
        counts = [len(shelf.children) for shelf in shelves]
        wide = card_width(counts, (room, tall), least, words)
        for shelf in shelves:
            shelf.least, shelf.tall = wide, wide * _CARD[1] / _CARD[0] + words
            for card in shelf.children:
                card.words_tall = words


class PieceDrawing(Widget):
    """A piece as high as it is, hanging from its needle, and its tape below it."""

    def __init__(self, look: Look, wool: Colour) -> None:
        """Build it empty; `show` draws."""
        super().__init__()
        self.fabric = FabricView(look=look, wool=wool, whole=True, numbered=False, hangs=True)
        self.tape = TapeView(look=look, wool=wool)
        self.look = look
        for part in (self.fabric, self.tape):
            part.size_hint = (None, None)
            self.add_widget(part)
        self.bind(pos=self._lay, size=self._lay)
        self.fabric.bind(drawn_box=self._lay_needle)
        self._lay()

    def _lay_needle(self, *_: object) -> None:
        """Lay a needle over the upper edge that can be seen from afar."""
        self.canvas.after.clear()
        left, _low, right, top = self.fabric.drawn_box
        fabric = self.fabric.fabric
        if fabric is None or fabric.off or right <= left:
            return
        reach, thick = self.look.mm(4), self.look.mm(1.5)
        left, right = max(left - reach, self.x), min(right + reach, self.right)
        with self.canvas.after:
            Color(*self.look.needle)
            Line(points=[left, top, right, top], width=thick / 2, cap="round")
            Ellipse(pos=(left - thick * 0.8, top - thick * 0.8), size=(thick * 1.6, thick * 1.6))

    def show(self, drawing: CardDrawing) -> None:
        """Draw a piece."""
        self.fabric.rows = drawing.rows
        self.fabric.fabric = drawing.fabric
        self.tape.tape = drawing.tape
        self._lay()

    def _lay(self, *_: object) -> None:
        tape = self.look.mm(_TAPE) if self.tape.tape is not None else 0.0
        self.tape.size, self.tape.pos = (self.width, tape), self.pos
        self.fabric.size = (self.width, max(self.height - tape - self.look.mm(1), 1))
        self.fabric.pos = (self.x, self.y + tape + self.look.mm(1))
