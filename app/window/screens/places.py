"""The other screens: what opens them, and what they are given to show."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from app.session.keys import Doing, KeysError, with_own_keys, write_own_keys
from app.session.manner import manner_wishes
from app.wall import kept_in
from app.window.motion import stillness_wanted
from app.window.screens.beginning import beginning
from app.window.screens.order_place import OrderPlace
from app.window.screens.row_keys import follow_row, row_keys
from app.window.screens.taking import taking
from engine.commands import Source
from engine.talk import BeginLesson, BeginPiece, Screen, Show, StepDone, TryVoice

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from app.session.controls import Control
    from app.session.keys import Binding, Bound, KeyMap
    from app.session.settings import Settings
    from app.session.situation import Situation
    from app.window.desk import Desk
    from app.window.screens.host import Host
    from engine.commands import Command
    from engine.talk import Talk
    from speech.hearing.voice_check import VoiceCheck


_NEED_THE_PATTERN = frozenset(
    {
        *(Screen.PIECES, Screen.BEGIN, Screen.PLAN, Screen.PATTERN, Screen.STORY, Screen.HELP),
        *(Screen.FINISHED, Screen.LESSON, Screen.CLASS, Screen.TAKE, Screen.COMPOSE, Screen.ORDER),
    }
)


class Places:
    """
    Opens the other screens; keeps what is chosen in the settings and what keys were taught.

    A screen is imported and built when it is first wanted: the window opens sooner.
    """

    def __init__(self, desk: Desk, host: Host) -> None:
        """Begin with the settings and keys of the desk."""
        self._desk, self._hands, self._host = desk, desk.hands, host
        self.settings = desk.settings
        self.keys, self.taught = own_keys(desk)
        self.learning: Bound | None = None
        self.waiting: Screen | None = None
        self._settings_page: Any = None
        self._lesson_page: Any = None
        self._class_page: Any = None
        self._pieces_page: Any = None
        self._order = OrderPlace(host, self._hands)
        self._pattern_page: Any = None
        self._wished: object = None
        """What was wished of the plan last; it is taken once."""
        self._finished_page: Any = None
        self._dismissed: VoiceCheck | None = None

    def go_to(self, screen: Screen) -> None:
        """Show a screen, with what there is to show now; before the pattern is read, after that."""
        now = self._host.situation
        if (now is None or now.opening) and screen in _NEED_THE_PATTERN:
            self.waiting = screen
            return
        ways: Mapping[Screen, Callable[[], object]] = {
            Screen.BOARD: self._host.close_all,
            Screen.PIECES: self._pieces,
            Screen.BEGIN: self._begin,
            Screen.PLAN: partial(self._begin, planning=True),
            Screen.FINISHED: self._finished,
            Screen.PATTERN: self._pattern,
            Screen.STORY: self._story,
            Screen.WORDS: self._words,
            Screen.SETTINGS: self._settings,
            Screen.TAKE: lambda: taking(self._host, self._begin_with).show(),
            Screen.COMPOSE: partial(row_keys, self._host, self._hands),
            Screen.HELP: self._help,
            Screen.LESSON: self._lesson,
            Screen.CLASS: self._class,
            Screen.ORDER: self._order.show,
        }
        ways[screen]()

    def catch_up(self) -> None:
        """Show what was asked for before the pattern was read."""
        screen, self.waiting = self.waiting, None
        if screen is not None:
            self.go_to(screen)

    def led_to(self, said: Command | Talk) -> None:
        """Show what was asked for by touch or key, without waiting for an answer."""
        match said:
            case Show(screen):
                self.go_to(screen)
            case BeginPiece(None, None):
                self.go_to(Screen.BEGIN)
            case BeginLesson():
                self.go_to(Screen.LESSON)
            case _:
                pass

    def _words(self) -> None:
        from app.window.screens.words_and_keys import WordsAndKeys  # noqa: PLC0415

        self._host.open_page("words", lambda: WordsAndKeys(self._host.kit, self._host.close))

    def _pieces(self) -> None:
        from app.window.screens.pieces_page import PiecesPage  # noqa: PLC0415

        def take_up(piece: str) -> None:
            self._host.close_all()
            self._hands.take_up(piece)

        page = self._host.open_page(
            "pieces",
            lambda: PiecesPage(self._host.kit, take_up, self._host.close, self._touch),
        )
        if self._host.situation is not None:
            page.show(self._host.situation)
        self._pieces_page = page

    def _finished(self) -> None:
        """Show the piece whole, and what is left to do with it."""
        from app.window.screens.finished_page import FinishedPage  # noqa: PLC0415

        if self._host.situation is None:
            return

        def tick(step: StepDone) -> None:
            self._hands.submit(step, Source.TOUCH)

        page = self._finished_page = self._host.open_page(
            "finished",
            lambda: FinishedPage(
                self._host.kit,
                tick,
                lambda control: self._host.act(control, Source.TOUCH),
                self._host.close,
            ),
        )
        page.show(self._host.situation)

    def _begin(self, *, planning: bool = False) -> None:
        page = beginning(
            self._host,
            self._hands,
            lambda: self.settings.count_every,
            partial(self.go_to, Screen.TAKE),
            planning=planning,
        )
        wish = self._host.situation.shown.wish if self._host.situation is not None else None
        if planning and wish is not None and wish is not self._wished:
            self._wished = wish
            page.wish(wish)

    def _begin_with(self, file: Path) -> None:
        """Show the beginning of a piece with the pattern of a file chosen."""
        self._begin()
        page = self._host.pages["begin"]
        page.choose(next((one for one in page.library if one.name == file.stem), None))

    def _pattern(self) -> None:
        from app.window.screens.pattern_page import PatternPage  # noqa: PLC0415

        if self._host.situation is not None and self._host.situation.state.pattern is None:
            from app.window.screens.written_page import WrittenPage  # noqa: PLC0415

            made_up = self._host.open_page(
                "written",
                lambda: WrittenPage(self._host.kit, self._hands.open_file, self._host.close),
            )
            made_up.show(self._host.situation)
        elif self._host.situation is not None:
            page = self._host.open_page(
                "pattern",
                lambda: PatternPage(self._host.kit, self._hands.open_file, self._host.close),
            )
            page.show(self._host.situation)
            self._pattern_page = page

    def _story(self) -> None:
        from app.window.screens.story_page import StoryPage  # noqa: PLC0415

        if self._host.situation is not None:
            page = self._host.open_page(
                "story", lambda: StoryPage(self._host.kit, self._host.close)
            )
            page.show(self._host.situation)

    def _help(self) -> None:
        from app.window.screens.help_page import HelpPage  # noqa: PLC0415

        page = self._host.open_page("help", lambda: HelpPage(self._host.kit, self._host.close))
        page.show(self._cautions())

    def _cautions(self) -> tuple[str, ...]:
        """Return what the pattern on the needle warns of."""
        from app.pieces.pattern_cache import document_to_knit  # noqa: PLC0415 (the reader of patterns)

        if self._host.situation is None or self._host.situation.state.pattern is None:
            return ()
        state = self._host.situation.state
        text = dict(state.texts).get(self._host.situation.state.pattern.sha256)
        return tuple(getattr(document_to_knit(text), "cautions", ())) if text is not None else ()

    def _lesson(self) -> None:
        from app.window.screens.lesson_page import LessonPage  # noqa: PLC0415

        def begin(number: int) -> None:
            self._hands.submit(BeginLesson(number), Source.TOUCH)

        page = self._lesson_page = self._host.open_page(
            "lesson",
            lambda: LessonPage(self._host.kit, self._touch, begin, self._host.close),
        )
        if self._host.situation is not None:
            page.show(self._host.situation)

    def _class(self) -> None:
        from app.window.screens.class_page import ClassPage  # noqa: PLC0415

        page = self._class_page = self._host.open_page(
            "class",
            lambda: ClassPage(
                self._host.kit,
                self._touch,
                lambda: self.settings,
                self._host.close,
                classroom=self._hands.classroom,
            ),
        )
        if self._host.situation is not None:
            page.show(self._host.situation)

    def _touch(self, control: Control) -> None:
        self._host.act(control, Source.TOUCH)

    def put_away(self, page: Any) -> None:
        """Take note that a page was closed: what went on in it waits or ends."""
        if getattr(page, "checks_voice", False):
            self.dismiss_check()
        if getattr(page, "stays", False):
            self._hands.end_lesson()

    def tell_fault(self, sentence: str) -> None:
        """Say what went wrong, where the work is kept, and lead on."""
        from app.window.screens.fault_page import FaultPage  # noqa: PLC0415 (rarely wanted)

        words = self._desk.words
        ways: dict[str, Callable[[], None]] = {
            words("screens", "pieces"): partial(self.go_to, Screen.PIECES),
            words("screens", "begin"): partial(self.go_to, Screen.BEGIN),
        }
        page = self._host.open_page(
            "fault", lambda: FaultPage(self._host.kit, ways, self._host.close)
        )
        page.show(sentence, kept_in())

    def welcome(self, situation: Situation) -> None:
        """Lead from nothing to the first counted row; any row that is counted closes it."""
        from app.window.screens.welcome import Welcome  # noqa: PLC0415 (only at a first start)

        ways: dict[str, Callable[[], None]] = {
            "now": self._host.close_all,
            "pattern": partial(self.go_to, Screen.BEGIN),
            "plan": partial(self.go_to, Screen.PLAN),
        }
        self._host.open(
            Welcome(
                self._host.kit,
                situation,
                ways,
                self._try_voice,
                self._host.close,
            )
        )

    # --- what the assistant shows -------------------------------------------------------------

    def follow(self, situation: Situation, before: Situation | None) -> None:
        """Take up a manner that was asked for in words, and show the voice check that goes on."""
        manner = situation.manner
        if before is not None and manner not in {before.manner, self.settings.manner}:
            self.settings = self.settings.with_manner(manner)
            self._hands.keep(self.settings, write_own_keys(self.taught))
            if self._settings_page is not None:
                self._show_settings()
        follow_row(self._host, situation)
        if self._host.shows(self._lesson_page):
            self._lesson_page.show(situation)
        if self._host.shows(self._class_page):
            self._class_page.show(situation)
        if self._host.shows(self._pieces_page):
            self._pieces_page.show(situation)
        self._order.follow(situation, before)
        if self._host.shows(self._finished_page) and situation.state is not (
            before.state if before is not None else None
        ):
            self._finished_page.show(situation)
        if (
            before is not None
            and situation.state is not before.state
            and self._host.shows(self._pattern_page)
        ):
            self._pattern_page.follow(situation)
        if before is not None and situation.state.finished and not before.state.finished:
            self.go_to(Screen.FINISHED)
        heard = situation.heard
        page = self._host.pages.get("everything")
        if (
            page is not None
            and heard is not None
            and not heard.accepted
            and (before is None or heard is not before.heard)
            and self._host.shows(page)
        ):
            page.search(heard.words)
        if situation.check is None:
            self._dismissed = None
            if before is not None and before.check is not None:
                self._host.close_page("voice")
        elif situation.check != self._dismissed:
            self._voice_check(situation)

    def dismiss_check(self) -> None:
        """Put the voice check away: its page was closed."""
        self._dismissed = self._host.situation.check if self._host.situation else None
        self._hands.end_voice_check()

    def _voice_check(self, situation: Situation) -> None:
        from app.window.screens.voice_page import VoicePage  # noqa: PLC0415 (only when it is tried)

        page = self._host.open_page(
            "voice", lambda: VoicePage(self._host.kit, self._try_voice, self._host.close), over=True
        )
        page.show(situation)

    def _try_voice(self) -> None:
        self._hands.submit(TryVoice(), Source.TOUCH)

    # --- settings -----------------------------------------------------------------------------

    def _settings(self, said: str = "") -> None:
        from app.window.screens.settings_page import Changes, SettingsPage  # noqa: PLC0415

        page = self._host.open_page(
            "settings",
            lambda: SettingsPage(
                self._host.kit,
                Changes(self._choose, self._teach, self._forget, self._try_voice),
                self._host.close,
            ),
        )
        self._settings_page = page
        self._show_settings(said)

    def _show_settings(self, said: str = "") -> None:
        if self._settings_page is not None:
            trouble = self._hands.phrases_trouble()
            self._settings_page.show(
                self.settings, self.keys, frozenset(self.taught), said, trouble
            )

    def _choose(self, settings: Settings) -> None:
        """Take a setting up at once, and keep it."""
        before, self.settings = self.settings, settings
        if settings.palette != before.palette:
            self._host.look.use(settings.palette)
        self._host.look.scale_text(settings.text_scale)
        if settings.motion != before.motion:
            self._host.look.moves = settings.motion and not stillness_wanted()
        self._host.look.left_handed = settings.left_handed
        self._host.look.yarn_hand = settings.yarn_hand
        self._host.kit = replace(self._host.kit, units=settings.units)
        if settings.units != before.units:
            self._host.units_changed()
        for said in manner_wishes(before.manner, settings.manner):
            self._hands.submit(said, Source.TOUCH)
        self._keep_settings()

    def _keep_settings(self, said: str = "") -> None:
        own = write_own_keys(self.taught)
        why = self._hands.keep(self.settings, own)
        if why:
            said = self._desk.words("settings", "not_kept", why=why)
        self._settings(said)

    def _teach(self, bound: Bound) -> None:
        """Wait for the key or pedal that shall do this."""
        self.learning = bound
        words = self._desk.words
        self._settings(f"{self._named(bound)}: {words('settings', 'learn_press')}")

    def _named(self, bound: Bound) -> str:
        return self._desk.words("doings", bound) if isinstance(bound, Doing) else bound.name

    def learn(self, code: int, control: Bound) -> None:
        """Take a key or pedal as the one that does what a control does, and keep that."""
        self.learning = None
        named = self._desk.keys.names.get(code, "")
        source = Source.PEDAL if not named or len(named) > 1 else Source.KEY
        self.keys = self.keys.learned(code, control, source)
        self.taught[code] = self.keys.bindings[code]
        key = self.keys.key_name(code)
        self._keep_settings(
            self._desk.words("settings", "learned", key=key, what=self._named(control))
        )

    def _forget(self) -> None:
        self.keys, self.taught = self._desk.keys, {}
        self._keep_settings()


def own_keys(desk: Desk) -> tuple[KeyMap, dict[int, Binding]]:
    """Return the key map with what the knitter taught, and what she taught."""
    try:
        keys = with_own_keys(desk.keys, desk.own_keys, desk.controls)
    except KeysError:
        return desk.keys, {}
    own = {
        code: binding
        for code, binding in keys.bindings.items()
        if desk.keys.bindings.get(code) != binding
    }
    return keys, own
