"""The board at the front of a room: one move, drawn for both hands, in letters for the last row."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock

from app.display.class_board import capitals_mm, class_board, lines, px_per_mm
from app.display.flow import TextSpan
from app.drawings.hands.album import HandsShown
from app.session.controls import phrase_of
from app.window.screens.control import Control
from app.window.screens.overlay import Overlay, Shelf
from app.window.screens.text import Text, width_of
from app.window.views.class_views import QrView, RoomView
from app.window.views.hands_view import HandsView
from engine.talk import Nth

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.classroom.serving import Classroom, Opened
    from app.display.class_board import ClassBoard
    from app.session.controls import Control as Spec
    from app.session.settings import Settings
    from app.session.situation import Situation
    from app.window.screens.kit import Kit

_PITCH: Final = 1.36
"""Distance of two lines, in sizes of the letters."""
_DRAWN: Final = 0.4
"""Share of the height that belongs to the drawings, at the least."""
_MOVE_S: Final = 1.6
_KEYS: Final = ("lesson_ready", "step_back", "say_again", "lesson_slower", "lesson_behind",
                "lesson_wrong")  # fmt: skip
_LOOK_S: Final = 0.25
_ROOM: Final = 0.16
"""Share of the height that the room takes, once somebody is in it."""
_SMALLER: Final = 0.92


class ClassPage(Overlay):
    """
    Shows the lesson of a situation to a room; keys and pedals lead on while it stays.

    `capital_mm` is how high capitals are now, on a screen of `to_mm` pixels a mm.
    """

    stays = True
    takes_keys = True

    def __init__(
        self,
        kit: Kit,
        act: Callable[[Spec], None],
        settings: Callable[[], Settings],
        close: Callable[[], None],
        classroom: Classroom | None = None,
        **properties: Any,
    ) -> None:
        """Build an empty board; `settings` gives the size of the screen and the distance."""
        self._classroom = classroom
        self.kit, self._act, self._settings = kit, act, settings
        super().__init__(kit.look, close, title=kit.words("class", "title"), **properties)
        look = kit.look
        self.texts: list[Text] = []
        self.hands = tuple(
            HandsView(look=look, wool=look.wool, other_hand=other, size_hint=(None, None))
            for other in (False, True)
        )
        self.choices: list[HandsView] = []
        self.note = Text(
            look=look, capital=look.theme.sizes.words, least=look.theme.sizes.small, ink="soft",
            size_hint=(None, None),
        )  # fmt: skip
        self.shelf = Shelf(look)
        self.shelf.size_hint_x = None
        self.qr = QrView(look=look, wool=look.wool, size_hint=(None, None))
        self.invitation = Text(
            look=look, capital=look.theme.sizes.far_words, least=look.theme.sizes.small,
            size_hint=(None, None),
        )  # fmt: skip
        self.room = RoomView(look=look, wool=look.wool, size_hint=(None, None))
        self._opened: Opened | None = None
        self._opened_at: object = None
        for widget in (*self.hands, self.note, self.shelf, self.qr, self.invitation, self.room):
            self.add_widget(widget)
        for key in _KEYS:
            self._put(key)
        if classroom is not None:
            self._put("open_class")
        self.board: ClassBoard | None = None
        self.capital_mm = self.to_mm = 0.0
        self._now: Any = None
        self._drawn: object = None
        self._lesson: object = None
        self._began_s = 0.0
        self.bind(size=self.lay, bar=self.lay)
        self.shelf.bind(minimum_height=self.lay)
        self._looking = Clock.schedule_interval(self.look_at_class, _LOOK_S)
        self._minute = Clock.schedule_interval(self._tell_time, 20)

    def _put(self, key: str) -> None:
        spec = self.kit.controls.by_key[key]
        named = key in {"step_back", "say_again"}
        name = self.kit.words("lesson", key) if named else spec.name
        rank = "strong" if key == _KEYS[0] else "plain"
        control = Control(look=self.look, title=name, rank=rank)
        control.phrase = phrase_of(spec, self.kit.book, answering=True)
        control.bind(on_release=lambda *_: self._act(spec))
        self.shelf.put(control)

    def show(self, situation: Situation) -> None:
        """Show where the class is."""
        now = situation.lesson
        if now is None or now == self._now:
            return
        if now.leading.lesson is not self._lesson:
            self._lesson, self._began_s = now.leading.lesson, time.monotonic()
        self._now = now
        self._fill()

    def on_touch_down(self, touch: Any) -> bool:
        """Choose the picture that is touched."""
        for at, view in enumerate(self.choices):
            if view.collide_point(*self.to_local(*touch.pos)):
                self._act(self.kit.controls.by_key[f"lesson_{list(Nth)[at].value}"])
                return True
        return bool(super().on_touch_down(touch))

    def look_at_class(self, *_: object) -> None:
        """Show who is in the class and what they answer; nothing is waited for."""
        if self._classroom is None or self.parent is None:
            return
        opened = self._classroom.opened
        seats = list(self._classroom.room.seats()) if opened is not None else []
        if opened is not self._opened:
            self._opened, self._opened_at = opened, self._step()
            self._name_door()
            self.lay()
        elif bool(seats) is not bool(self.room.seats):
            self.room.seats = seats
            self.lay()
        if seats != self.room.seats:
            self.room.seats = seats

    def _name_door(self) -> None:
        """Let the last control open the class, or close it."""
        self.shelf.clear_widgets()
        doors = ("open_class",) if self._opened is None else ("class_story", "close_class")
        for key in (*_KEYS, *doors):
            self._put(key)

    def _step(self) -> object:
        return self._now.leading.at if self._now is not None else None

    @property
    def invites(self) -> bool:
        """Whether the code for phones stands on the board: from its opening to the next step."""
        return self._opened is not None and self._opened_at == self._step()

    def _tell_time(self, *_: object) -> None:
        if self._now is not None and self.parent is not None:
            self._fill()

    def look_changed(self) -> None:
        """Lay the board out in the new look."""
        super().look_changed()
        if getattr(self, "_now", None) is not None:
            self._fill()

    def _fill(self) -> None:
        minutes = int((time.monotonic() - self._began_s) / 60)
        board = self.board = class_board(self._now, minutes)
        drawn = (board.topic, board.picture, self._now.leading.turn)
        for view in self.hands:
            view.behind = board.behind
            view.hands = HandsShown(board.topic, board.picture) if board.topic else None
            if drawn != self._drawn:
                view.still()
                if board.topic is not None and board.picture and self.look.moves:
                    since = HandsShown(board.topic, board.picture - 1)
                    view.move(since, _MOVE_S / board.speed)
        self._drawn = drawn
        for old in self.choices:
            self.remove_widget(old)
        self.choices = [
            HandsView(
                look=self.look, wool=self.look.wool, hands=HandsShown(one), size_hint=(None, None)
            )
            for one in board.choices
        ]
        for view in self.choices:
            self.add_widget(view)
        self.title = self._now.leading.lesson.title
        self.subtitle = self.kit.words("class", "quiet")
        if self._opened is not None:
            address = self._opened.address.removeprefix("http://")
            self.subtitle = self.kit.words(
                "class", "opened", address=address, code=self._opened.code
            )
        self.lay()

    # --- laying it out ------------------------------------------------------------------------

    def lay(self, *_: object) -> None:
        """Letters as high as they have to be, and what is left for the drawings."""
        board = getattr(self, "board", None)
        if board is None:
            return
        look, edge = self.look, self.margin
        gap = look.mm(look.theme.sizes.gap)
        wide = max(self.width - 2 * edge, 1)
        self.shelf.least = self.shelf.tall = look.theme.sizes.target
        self.shelf.width, self.shelf.pos = wide, (edge, gap)
        low, top = self.shelf.minimum_height + 2 * gap, self.height - self.bar - look.mm(5)
        self.room.size = (0, 0)
        if self.room.seats:
            self.room.size, self.room.pos = (wide, (top - low) * _ROOM), (edge, low)
            low += self.room.height
        room = max(top - low, 1)
        drawings = board.topic is not None or bool(board.choices) or self.invites
        texts, size = self._texts(board, wide, room * (1 - _DRAWN if drawings else 1))
        pitch = size * _PITCH
        told = self._too_small()
        self.note.words, self.note.size = told, (wide, look.mm(6) if told else 0)
        self.note.pos = (edge, low)
        low += self.note.height
        for old in self.texts:
            self.remove_widget(old)
        self.texts = []
        capital = size * look.theme.fonts.capital / look.px_per_mm
        bold = len(texts) - 1 if board.word else -1
        for at, line in enumerate(reversed(texts)):
            text = Text(
                look=look, spans=[TextSpan(line, bold=at == bold)], capital=capital,
                scaled=False, size_hint=(None, None), size=(wide + 2 * edge, pitch),
                pos=(edge, low + at * pitch),
            )  # fmt: skip
            self.texts.append(text)
            self.add_widget(text)
        self._lay_drawings(edge, low + len(texts) * pitch, wide, top)

    def _texts(self, board: ClassBoard, wide: float, tall: float) -> tuple[tuple[str, ...], float]:
        """Return the lines and the size of their letters: smaller only if nothing fits at all."""
        settings, look = self._settings(), self.look
        self.to_mm = px_per_mm(
            self.width, self.height, settings.class_screen, float(look.px_per_mm)
        )
        wanted = capitals_mm(settings.class_distance) * self.to_mm / look.theme.fonts.capital
        size = wanted
        while True:
            most = int(tall / (size * _PITCH))
            found = lines(
                board,
                self.kit.words,
                wide,
                most,
                lambda text, size=size: width_of(text, size, bold=True),  # type: ignore[misc]
            )
            if found or size < 8:  # noqa: PLR2004 (pixels nobody reads)
                break
            size *= _SMALLER
        self.capital_mm = size * look.theme.fonts.capital / self.to_mm
        return found, size

    def _too_small(self) -> str:
        """Say from how far it can be read, where that is not as far as it should be."""
        distance = self._settings().class_distance
        reads = self.capital_mm / capitals_mm(1)
        if reads >= distance * 0.995:
            return ""
        return self.kit.words("class", "too_small", distance=distance, reads=f"{reads:.1f}")

    def _lay_drawings(self, x: float, low: float, wide: float, top: float) -> None:
        self.qr.size = self.invitation.size = (0, 0)
        if self.invites and self._opened is not None:
            for view in (*self.hands, *self.choices):
                view.size = (0, 0)
            self._lay_invitation(x, low, wide, top)
            return
        shown = self.choices or [view for view in self.hands if view.hands is not None]
        for view in self.hands:
            view.size = (0, 0)
        if not shown:
            return
        across = len(shown) if len(shown) <= 3 else -(-len(shown) // 2)  # noqa: PLR2004
        down = -(-len(shown) // across)
        each, tall = wide / across, max(top - low, 1) / down
        for at, view in enumerate(shown):
            view.size = (each * 0.98, tall * 0.98)
            view.pos = (x + at % across * each, low + (down - 1 - at // across) * tall)

    def _lay_invitation(self, x: float, low: float, wide: float, top: float) -> None:
        """Show the QR code, and beside it address and words for who cannot read it."""
        if self._opened is None:
            return
        words, tall = self.kit.words, max(top - low, 1)
        self.qr.dots = self._opened.dots
        self.qr.size, self.qr.pos = (tall, tall), (x, low)
        first, second = self._opened.address, self._opened.code
        self.invitation.spans = [
            TextSpan(words("class", "come_in"), "soft", scale=0.6),
            TextSpan("\n"),
            TextSpan(first.removeprefix("http://"), bold=True),
            TextSpan("\n"),
            TextSpan(second, bold=True),
        ]
        self.invitation.capital = self.capital_mm * self.to_mm / self.look.px_per_mm
        self.invitation.size = (max(wide - tall * 1.05, 1), tall)
        self.invitation.pos = (x + tall * 1.05, low)
