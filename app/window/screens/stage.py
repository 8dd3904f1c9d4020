"""
The window itself: shows the situation, and turns touches, keys and pedals into commands.

Nothing on this thread waits for a disk, a microphone or the recogniser: situations come in through
one queue, which the clock empties before each frame, and commands go out to the assistant's inbox.
"""

from __future__ import annotations

import queue
import time
from dataclasses import replace
from typing import TYPE_CHECKING, Any, assert_never

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout

from app import resources
from app.display.board_values import bare_view, undrawn_view
from app.session.controls import Asks, Control, phrase_of
from app.session.kept_drafts import Unfinished, read_unfinished, write_unfinished
from app.session.keys import ENTER, ESCAPE, SIGNS, Doing, Presses, for_any_page
from app.session.situation import is_first_start, other_work, piece_named
from app.wall import behind
from app.window.desk import Notice
from app.window.look import Look
from app.window.motion import stillness_wanted
from app.window.screens.band import PracticeBand, make_room
from app.window.screens.board import Board
from app.window.screens.edge import Edge, lights
from app.window.screens.held import HeldToTalk
from app.window.screens.kit import Kit
from app.window.screens.places import Places
from app.window.screens.ways import ways_on
from engine.commands import Source
from engine.talk import Screen

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from app.display.board_values import BoardView
    from app.session.controls import Answer
    from app.session.situation import Situation
    from app.window.desk import Desk
    from app.window.screens.pad import Asked


class Stage(App):
    """The running window."""

    title = "Walesong"
    icon = str(resources.path("assets/icon.png"))

    def __init__(self, desk: Desk, **properties: Any) -> None:
        """Prepare the window; nothing is shown before `run`."""
        super().__init__(**properties)
        self.desk = desk
        settings = desk.settings
        self.look = Look(desk.theme, settings.palette, settings.text_scale)
        self.look.moves = settings.motion and not stillness_wanted()
        self.look.left_handed = settings.left_handed
        self.look.yarn_hand = settings.yarn_hand
        self.kit = Kit(self.look, desk.controls, desk.keys, desk.book, desk.words, settings.units)
        self.presses = Presses()
        self.situation: Situation | None = None
        self.overlays: list[Any] = []
        self.pages: dict[str, Any] = {}
        self.places = Places(desk, self)
        self.held = HeldToTalk(desk.hands.hold)
        unfinished = read_unfinished(desk.unfinished)
        self.kept: dict[str, str] = dict(unfinished.typed)
        """Text that was typed and not sent, by what it was for."""
        self.begun: Mapping[str, Any] = unfinished.begun
        """What was chosen of a piece that is not cast on yet."""
        self.board: Board | None = None
        self._drain: Any = None

    # --- life ---------------------------------------------------------------------------------

    def build(self) -> BoxLayout:
        """Build the board; everything else is built when it is first wanted."""
        Window.softinput_mode = "below_target"
        self.look.stand(*Window.size)
        self.stage = FloatLayout()
        self.board = Board(self.kit, self._touched, self._board_held)
        self.edge = Edge(self.stage, self.look)
        self.board.view = bare_view(words=self.desk.words("screens", "opening"))
        self.stage.add_widget(self.board)
        self.stage.bind(size=self._make_room)
        self.band = PracticeBand(self.kit, self.desk.hands.end_practice)
        root = BoxLayout(orientation="vertical")
        root.add_widget(self.band)
        root.add_widget(self.stage)
        return root

    def on_start(self) -> None:
        """Take up keys and the queue of situations."""
        Window.bind(on_key_down=self._key_down, on_key_up=self._key_up, size=self._resized)
        Window.bind(on_flip=self._shown, focus=self._focused)
        self._drain = Clock.schedule_interval(self.take_situations, 0)
        self.take_situations()

    def _shown(self, *_: object) -> None:
        """Tell, once, that the first frame is on the screen."""
        Window.unbind(on_flip=self._shown)
        self.desk.hands.opened()

    def on_stop(self) -> None:
        """Let go of the window's events, and tell that the window is closed."""
        Window.unbind(on_key_down=self._key_down, on_key_up=self._key_up, focus=self._focused)
        Window.unbind(size=self._resized)
        self.held.let_all_go()
        if self._drain is not None:
            self._drain.cancel()
        self.desk.hands.stopped()

    def _resized(self, _window: Any, size: tuple[int, int]) -> None:
        """Take larger or smaller words where the window has become of another kind."""
        if self.look.stand(*size) and self.board is not None:
            self.pages.clear()  # what is opened next is built with them
            self.board.sizes = self.look.theme.sizes
            self.board.look_changed()

    def on_pause(self) -> bool:
        """Stay in memory when another program comes in front (phones)."""
        self.held.let_all_go()
        return True

    def _focused(self, _window: Any, focus: bool) -> None:  # noqa: FBT001 (as Kivy calls it)
        """Let go of what is held when the keys go to another window: no key-up would come."""
        if not focus:
            self.held.let_all_go()
            self.presses.down.clear()

    # --- what comes in ------------------------------------------------------------------------

    def take_situations(self, *_: object) -> None:
        """Show the newest situation; what it replaced needs no frame of its own."""
        newest: Situation | None = None
        notice: Notice | None = None
        while True:
            try:
                one = self.desk.inbox.get_nowait()
            except queue.Empty:
                break
            if isinstance(one, Notice):
                notice = one
            else:
                newest = one
        if newest is not None:
            self.show(newest)
        if notice is not None:
            self.notify(notice.sentence)

    def notify(self, sentence: str) -> None:
        """Show a sentence about what went wrong; the piece, if there is one, stays."""
        if self.board is None:
            return
        if self.situation is None or self.board.view is None:
            self.board.view = bare_view(trouble=sentence)
        else:
            self.board.view = replace(self.board.view, trouble=sentence)

    def tell_fault(self, sentence: str) -> None:
        """Show a page about what went wrong in a screen; the counting goes on behind it."""
        self.close_all()
        self.pages.clear()  # a page that failed half-way is built anew
        self.notify(sentence)
        self.places.tell_fault(sentence)

    def show(self, situation: Situation) -> None:
        """Show a situation."""
        before, self.situation = self.situation, situation
        if before is not None and (before.opening or other_work(situation, before)):
            before = None
        if self.band.practice is not situation.practice:
            self.band.show(situation.practice)
        if self.board is None:
            return
        from app.display.board_view import board_view, next_view  # noqa: PLC0415 (brings the engine)

        words, controls, last = self.desk.words, self.desk.controls, self.board.view
        unit = self.kit.length_unit

        def drawn() -> BoardView:
            if before is None or last is None or last.undrawn:
                return board_view(situation, words, controls, unit)
            return next_view(situation, before, last, words, controls, unit)

        piece = piece_named(situation.state.piece, situation.pieces)
        view = behind(
            drawn,
            lambda trouble: undrawn_view(situation.state, trouble),
            f"{piece} cannot be drawn",
        )
        wool = self.desk.theme.wool_for(situation.state.piece)
        if self.board.wool is not wool:
            self.board.wool = self.look.wool = wool
        self.board.view = view
        self._make_room()
        self.places.follow(situation, before)
        if before is not None and lights(situation, before):
            self.edge.light(view.mood)
        top = self.overlays[-1] if self.overlays else None
        if top is not None and hasattr(top, "said"):
            top.said = self.board.heard_spans()
        listening = view.ear not in {"paused", "deaf"}
        if Window.allow_screensaver == listening:
            Window.allow_screensaver = not listening  # the screen stays on while it listens
        if before is None and not situation.opening and is_first_start(situation):
            self.places.welcome(situation)
        elif before is not None and situation.state.done > before.state.done and self._welcomes():
            self.close_all()
        if before is None and not situation.opening:
            self.places.catch_up()
        if before is not None and situation.shown != before.shown:
            self.places.go_to(situation.shown.screen)
        asked = before.question if before else None
        if view.question_control is not None and situation.question is not asked:
            self._ask(view.question_control)

    def units_changed(self) -> None:
        """Show the board with the units that are chosen now."""
        if self.board is None or self.situation is None or self.situation.opening:
            return
        from app.display.board_view import board_view  # noqa: PLC0415 (brings the engine)

        for page in self.pages.values():
            page.kit = self.kit
        words, controls = self.desk.words, self.desk.controls
        self.board.view = board_view(self.situation, words, controls, self.kit.length_unit)

    def _welcomes(self) -> bool:
        return bool(self.overlays) and getattr(self.overlays[-1], "welcomes", False)

    # --- touches ------------------------------------------------------------------------------

    def _board_held(self, down: bool) -> None:  # noqa: FBT001 (down or up)
        if down:
            self.held.press("board")
        else:
            self.held.let_go("board")

    def _touched(self, control: Control | None) -> None:
        self.do(Doing.EVERYTHING) if control is None else self.act(control, Source.TOUCH)

    def act(self, control: Control, source: Source) -> None:
        """Do what a control says, after asking for its value if it needs one."""
        match control.asks:
            case Asks.NOTHING:
                self.close_all(but="stays")
                said = control.said()
                self.places.led_to(said)
                self.desk.hands.submit(said, source)
            case Asks.TEXT:
                self._ask_text(control, source)
            case Asks.NUMBER | Asks.LENGTH | Asks.MASS:
                self._ask(control, source)
            case _:
                assert_never(control.asks)

    def _ask(self, control: Control, source: Source = Source.TOUCH) -> None:
        def answered(answer: Answer) -> None:
            following = control.following(answer)
            if following is not None:
                self.act(following, source)
            else:
                self.desk.hands.submit(control.said(answer), source)

        self.close_all(but="stays")
        self.ask_number(control, answered, phrase_of(control, self.desk.book))

    def ask_number(
        self, asked: Asked, answered: Callable[[Answer], None], phrase: str = ""
    ) -> None:
        """Lay a number pad over what is there."""
        from app.window.screens.pad import NumberPad  # noqa: PLC0415

        self.open(NumberPad(self.kit, asked, answered, self.close, phrase=phrase))

    def _ask_text(self, control: Control, source: Source) -> None:
        def sent(words: str) -> None:
            self.close_all()
            self.desk.hands.submit(control.said(words), source)

        self._type(self.desk.words("screens", "note_title"), sent, control.key, control.name)

    # --- what lies over the board -------------------------------------------------------------

    def do(self, doing: Doing) -> None:
        """Do one of the screen's own doings."""
        match doing:
            case Doing.CLOSE:
                self.close()
            case Doing.TYPE:
                self._type(
                    self.desk.words("screens", "type_title"), self.desk.hands.typed, "typed", ""
                )
            case Doing.EVERYTHING:
                self._everything()
            case Doing.KEYS:
                self.places.go_to(Screen.WORDS)
            case Doing.TALK:
                pass  # it acts as long as it is held: see the keys
            case _:
                assert_never(doing)

    def ask_text(self, title: str, before: str, answered: Callable[[str], None]) -> None:
        """Lay a line to type into over what is there; it closes when it is sent."""

        def sent(words: str) -> None:
            self.close()
            answered(words)

        self.kept.setdefault(title, before)
        self._lay_line(title, sent, title, self.desk.words("screens", "ok"))

    def _type(self, title: str, sent: Any, kept: str, done: str) -> None:
        self.close_all()
        self._lay_line(title, sent, kept, done)

    def _lay_line(self, title: str, sent: Any, kept: str, done: str) -> None:
        from app.window.screens.typing import TypingLine  # noqa: PLC0415

        line = TypingLine(
            self.look,
            sent,
            self.close,
            kept=self.kept.pop(kept, ""),
            title=title,
            done_words=done or self.desk.words("screens", "send"),
            close_words=self.desk.words("screens", "close"),
        )
        line.kept_as = kept
        line.ids.line.bind(text=lambda _, words: self._keep_line(kept, words))
        self.open(line)
        line.focus()

    def _keep_line(self, kept_as: str, words: str) -> None:
        """Keep what stands in a line, in case the window is closed or killed before it is sent."""
        self.remember(typed={**self.kept, kept_as: words})

    def remember(
        self, typed: Mapping[str, str] | None = None, begun: Mapping[str, Any] | None = None
    ) -> None:
        """Keep what is not sent yet: the lines, and what was chosen of a piece to begin."""
        if begun is not None:
            self.begun = begun
        lines = self.kept if typed is None else typed
        self.desk.hands.remember(write_unfinished(Unfinished(lines, self.begun)))

    def _everything(self) -> None:
        from app.window.screens.everything import Everything  # noqa: PLC0415

        self.open_page(
            "everything",
            lambda: Everything(
                self.kit,
                lambda control: self.act(control, Source.TOUCH),
                lambda: self.do(Doing.TYPE),
                self.ask_text,
                self.close,
            ),
        )

    def open_page(self, name: str, build: Callable[[], Any], *, over: bool = False) -> Any:
        """Show a page, perhaps `over` others, and return it; it is built once."""
        if name not in self.pages:
            page = self.pages[name] = build()
            page.close_phrase = phrase_of(self.desk.controls.by_key["show_board"], self.desk.book)
            page.show_ways(ways_on(self.kit, name, self._touched))
        page = self.pages[name]
        if page not in self.overlays:
            if not over:
                self.close_all()
            page.subtitle = ""
            self.open(page)
            page.to_top()  # not where it was left
        return page

    def shows(self, page: Any) -> bool:
        """Whether a page lies over the board."""
        return page is not None and page in self.overlays

    def close_page(self, name: str) -> None:
        """Take a page away, if it lies on top."""
        if self.overlays and self.overlays[-1] is self.pages.get(name):
            self.close()

    def open(self, overlay: Any) -> None:
        """Lay something over the board."""
        self.overlays.append(overlay)
        self.stage.add_widget(overlay)
        self._lift_board()
        self._make_room()

    def close(self) -> None:
        """Take away what lies on top, keeping what was typed."""
        if not self.overlays:
            return
        overlay = self.overlays.pop()
        self.stage.remove_widget(overlay)
        self._lift_board()
        self._make_room()
        self.places.put_away(overlay)
        typed = getattr(overlay, "typed", "")
        if typed:
            self.kept[overlay.kept_as] = typed

    def _lift_board(self) -> None:
        """Take the board off the stage while a page hides it: it would be drawn for nobody."""
        hidden = any(getattr(overlay, "covers", False) for overlay in self.overlays)
        if self.board is None or hidden is not (self.board in self.stage.children):
            return
        if hidden:
            self.stage.remove_widget(self.board)
        else:
            self.stage.add_widget(self.board, index=len(self.stage.children))

    def _make_room(self, *_: object) -> None:
        """Lift the board above the line while a question stands: yes and no are to be touched."""
        if self.board is not None:
            make_room(self.board, self.overlays[-1] if self.overlays else None, self.stage.height)

    def close_all(self, but: str = "") -> None:
        """Show the board alone, or what lies over it and has the attribute `but`."""
        while self.overlays and not (but and getattr(self.overlays[-1], but, False)):
            self.close()

    # --- keys and pedals ----------------------------------------------------------------------

    def _key_down(
        self, _window: Any, code: int, _scan: int, _text: str | None, modifiers: Any
    ) -> bool:
        """Act on a key by its code; a key that is held counts once."""
        new = self.presses.pressed(code, int(time.monotonic() * 1000))
        top = self.overlays[-1] if self.overlays else None
        if code == ESCAPE:
            self.places.learning = None
            if new:
                self.close()
            return True
        if self.places.learning is not None:
            if new:
                self.places.learn(code, self.places.learning)
            return True
        if top is not None and hasattr(top, "typed"):
            return False  # the line takes every other key itself
        if top is not None and hasattr(top, "press"):
            return self._key_on_pad(top, code, new=new)
        if top is not None and (self._welcomes() or not self._knits_on(top)) and top.turn(code):
            return True
        binding = self.places.keys.binding(code, shift="shift" in modifiers)
        if binding is None:
            return False
        if binding.bound is Doing.TALK:
            self.held.press(code)
            return True
        if not new:
            return True
        if isinstance(binding.bound, Doing):
            self.do(binding.bound)
        elif top is not None and not self._knits_on(top) and not for_any_page(binding.bound):
            top.subtitle = self.desk.words("screens", "keys_elsewhere")
        else:
            self.act(binding.bound, binding.source)
        return True

    def _knits_on(self, top: Any) -> bool:
        """Whether keys act on under what lies on top: first page, voice check, or lesson."""
        return self._welcomes() or getattr(top, "takes_keys", False)

    def _key_on_pad(self, pad: Any, code: int, *, new: bool) -> bool:
        if code in ENTER:
            if new:
                pad.done()
            return True
        if code in SIGNS:
            if new:
                pad.press(SIGNS[code])
            return True
        binding = self.places.keys.bindings.get(code)
        if binding is not None and binding.bound is Doing.TALK:
            self.held.press(code)
            return True
        if new and binding is not None and binding.source is Source.PEDAL:
            if isinstance(binding.bound, Control):
                self.act(binding.bound, binding.source)
            return True
        return False

    def _key_up(self, _window: Any, code: int, *_: object) -> bool:
        self.presses.released(code)
        self.held.let_go(code)
        return False
