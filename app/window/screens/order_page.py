"""The order and its pieces: how far it is, the day, and each piece beside the others like it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock

from app.display.flow import TextSpan
from app.display.order_board import TRACKS, order_board
from app.display.piece_cards import on_card
from app.pieces.order_words import STAGES
from app.session.controls import phrase_of
from app.session.situation import Portrait
from app.window.screens.pages import Page
from app.window.screens.panels import Panel
from app.window.screens.picture_control import PictureControl
from app.window.views.order_views import DayView, OrderedView, StagesView, TracksView
from engine.stages import Stage
from engine.talk import PieceIs

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.display.order_board import OrderBoard, OrderCard, OrderGroup
    from app.session.order_look import OrderLook
    from app.session.situation import Situation
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf

_CARD: Final = 27.0  # mm of width at the least, by the reader's text size
_PIECE: Final = 20.0  # mm of height of the piece itself
_WORDS: Final = 4.6
"""Height of number and stage below a picture, by the size of words."""
_DRAWN: Final = (36, 40)
"""At most so many rows and stitches of a piece are drawn: its card is small."""


class OrderPage(Page):
    """One page with two halves: the order, and below it its pieces beside each other."""

    def __init__(
        self,
        kit: Kit,
        say: Callable[[PieceIs], None],
        take_up: Callable[[str], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `say` gets a stage that was touched, `take_up` the id of a piece."""
        self.kit, self._say, self._take_up = kit, say, take_up
        super().__init__(kit.look, close, title=kit.words("order", "title"), **properties)
        self.board: OrderBoard | None = None
        self.cards: dict[str, PictureControl] = {}
        self.stages: dict[Stage, Control] = {}
        """The controls that say at what stage the chosen piece is."""
        self.chosen: str = ""
        self._told: object = None
        self._chosen_shelf: Shelf | None = None
        self._card_shelves: list[Shelf] = []
        self._shelf_of: dict[str, tuple[Shelf, OrderCard]] = {}
        self._waiting: list[tuple[OrderedView, Portrait]] = []
        self._draw_soon = Clock.create_trigger(self._draw_one, 0)

    # --- what is shown ------------------------------------------------------------------------

    def show(self, situation: Situation) -> None:
        """Show the order as it was looked at last."""
        look = situation.order
        board = order_board(look, self.kit.words)
        pieces = look.pieces if look is not None else ()
        drawn = tuple((piece, state.done, state.finished) for piece, (state, _) in pieces)
        told = (board, drawn, self.look.text_scale, self.look.theme)
        if told == self._told:
            return
        self._told, self.board = told, board
        self._write(look)

    def follow(self, situation: Situation, before: Situation | None) -> None:
        """Show what has become of the order, and in the bar what was answered of it."""
        if before is not None and situation.replies is not before.replies and situation.replies:
            self.subtitle = self.kit.words.reply(situation.replies[0])
        self.show(situation)

    def _write(self, look: OrderLook | None) -> None:
        board, sizes, kept = self.board, self.look.theme.sizes, self.scroll.scroll_y
        assert board is not None  # noqa: S101 (it was made just now)
        self.clear()
        self.cards, self._shelf_of, self._card_shelves, self.stages = {}, {}, [], {}
        self._waiting, self._chosen_shelf = [], None
        self.title = board.name or self.kit.words("order", "title")
        if board.sentence:
            self.add_text([TextSpan(board.sentence)], sizes.words)
        if board.head:
            self.add_text([TextSpan(board.head, bold=True)], sizes.far_words)
        if board.stages:
            self._write_order(board)
        if board.key:
            self.add_text([TextSpan(board.key, "soft")], sizes.words)
        known = dict(look.pieces) if look is not None else {}
        for group in board.groups:
            self._write_group(group, known)
        if self.chosen in self._shelf_of:
            self._offer(self.chosen)
        self.lay()
        self.scroll.scroll_y = kept
        self._draw_soon()

    def _write_order(self, board: OrderBoard) -> None:
        words, look = self.kit.words, self.look
        day = None
        if board.day is not None:
            day = DayView(look, board.day, words("order", "today"))
        ready = _lines(board.ready)
        if board.next:
            ready += [TextSpan("\n"), TextSpan(board.next, bold=True)]
        self.add_panels(
            [
                Panel(
                    look, words("order", "stages"), [],
                    StagesView(look, board.stages), StagesView.tall(look, board.stages),
                ),
                Panel(look, words("order", "day"), ready, day, DayView.tall(look)),
            ]
        )  # fmt: skip
        more = [
            Panel(look, words("order", what), _lines(lines), None, 0.0)
            for what, lines in (("who", board.crew), ("yarn", board.yarn))
            if lines
        ]
        if more:
            self.add_panels(more)

    def _write_group(self, group: OrderGroup, known: dict[str, Any]) -> None:
        sizes = self.look.theme.sizes
        self.add_text([TextSpan(group.title, bold=True)], sizes.far_words)
        if group.wanted:
            self.add_text([TextSpan(group.wanted, "soft")], sizes.words)
        shelf = self.add_shelf()
        self._card_shelves.append(shelf)
        for one in group.cards:
            self._add_card(shelf, one, known)
        for line in group.odd:
            self.add_text([TextSpan(line)], sizes.words)
        if group.waiting:
            self.add_text([TextSpan(group.waiting, "soft")], sizes.words)

    def _add_card(self, shelf: Shelf, one: OrderCard, known: dict[str, Any]) -> None:
        sizes = self.look.theme.sizes
        wool = self.look.theme.wool_called(one.colour, one.piece or one.name)
        view = OrderedView(self.look, wool, one.marks, knitted=one.knitted)
        card = PictureControl(
            self.look,
            view,
            title=one.title,
            remark=one.stage_words,
            rank="bare",
            capital=sizes.words,
            least=sizes.small,
            phrase_scale=1.0,
        )
        key = one.piece or one.name
        card.bind(on_release=lambda *_: self.choose(key))
        shelf.put(card)
        self.cards[key] = card
        self._shelf_of[key] = (shelf, one)
        if one.piece in known:
            self._waiting.append((view, Portrait(*known[one.piece])))

    def _draw_one(self, *_: object) -> None:
        """Draw one piece between two frames; the others wait for the next."""
        if not self._waiting:
            return
        view, portrait = self._waiting.pop(0)
        view.draw(*on_card(portrait, _DRAWN))
        if self._waiting:
            self._draw_soon()

    # --- a piece that was touched --------------------------------------------------------------

    def choose(self, key: str) -> None:
        """Offer what can be said of a piece, or put that away again."""
        before, self.chosen = self.chosen, ("" if key == self.chosen else key)
        if before in self.cards:
            self.cards[before].rank = "bare"
        if self._chosen_shelf is not None:
            self.column.remove_widget(self._chosen_shelf)
            self.shelves.remove(self._chosen_shelf)
            self._chosen_shelf, self.stages = None, {}
        if self.chosen:
            self._offer(key)
            Clock.schedule_once(lambda _: self._into_view(), 0)
        self.lay()

    def _into_view(self) -> None:
        if self._chosen_shelf is not None:
            self.bring_into_view(self._chosen_shelf)

    def _offer(self, key: str) -> None:
        cards, card = self._shelf_of[key]
        self.cards[key].rank = "chosen"
        number = card.number
        if number is None:
            return
        shelf = self._chosen_shelf = self.add_shelf()
        self.column.remove_widget(shelf)
        self.column.add_widget(shelf, index=self.column.children.index(cards))
        for stage in Stage:
            spec = self.kit.controls.by_key[f"order_{stage.value}"]
            here = stage is card.stage
            said = PieceIs(number, stage)
            control = self.control_on(
                shelf,
                f"{number}: {STAGES[stage]}",
                lambda said=said: self._say(said),  # type: ignore[misc]
                rank="chosen" if here else "plain",
            )
            phrase = phrase_of(spec, self.kit.book)
            control.phrase = phrase.replace("\N{HORIZONTAL ELLIPSIS}", str(number), 1)
            self.stages[stage] = control
        if card.piece and card.stage is Stage.BEGUN:
            self.control_on(
                shelf, self.kit.words("order", "take_up"), lambda: self._take_up(card.piece)
            )

    # --- laying it out -------------------------------------------------------------------------

    def lay(self, *_: object) -> None:
        """Give the cards their room."""
        super().lay()
        look = self.look
        scale = max(1.0, look.text_scale)
        words = look.theme.sizes.words * _WORDS * scale
        tracks = TracksView.tall(look, len(TRACKS))
        for shelf in getattr(self, "_card_shelves", []):
            shelf.least = min(
                _CARD * min(scale * look.theme.sizes.words / 2.7, 1.8),
                self.column.width / look.px_per_mm,
            )
            shelf.tall = _PIECE + tracks / look.px_per_mm + words + 3
            for card in shelf.children:
                card.words_tall = words
                card.picture.tracks_tall = tracks


def _lines(lines: tuple[str, ...]) -> list[TextSpan]:
    """Return lines below each other."""
    spans: list[TextSpan] = []
    for at, line in enumerate(lines):
        spans += [TextSpan("\n"), TextSpan(line)] if at else [TextSpan(line)]
    return spans
