"""
Opening the window: what Kivy has to be told before it is imported, and a machine without a display.

This module does not import Kivy until a window is wanted.
"""

from __future__ import annotations

import logging
import os
import sys
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from app import resources
from app.display.screen_words import Wording, read_texts
from app.display.theme import read_theme
from app.session.controls import read_controls
from app.session.keys import read_keys
from app.session.settings import Settings
from speech.phrases import read_phrases

if TYPE_CHECKING:
    import queue
    from collections.abc import Callable

    from app.display.theme import Theme
    from app.session.controls import Controls
    from app.session.conversation import NewPiece
    from app.session.keys import KeyMap
    from app.session.situation import Situation
    from engine.commands import Command, Source
    from engine.talk import Talk
    from speech.phrases import PhraseBook
    from speech.wording import Wording as ReplyWording

NO_DISPLAY: Final = (
    "There is no display to open a window on. Start Walesong from the desktop, or use "
    "'walesong knit' to knit in the terminal."
)

_FRAMES: Final = "30"  # a second: plenty for a board, and half the power


class NoDisplayError(Exception):
    """There is no display; the sentence says what to do."""

    def __init__(self) -> None:
        """Say so."""
        super().__init__(NO_DISPLAY)


@dataclass(frozen=True, slots=True)
class Notice:
    """Something went wrong outside the piece: one sentence with what to do."""

    sentence: str


def _nothing(*_: object) -> None:
    """Do nothing."""


@dataclass(frozen=True, slots=True)
class Hands:
    """
    What the window calls; nothing of it waits.

    `submit` and `typed` hand commands and words over, `take_up` goes to another piece (by its id),
    `cast_on` begins one. `hold` tells that what is held to talk is down or up again,
    `end_voice_check` puts the voice check away, `phrases_trouble` says why the knitter's own
    phrases are left out ("" if they are in). `keep` keeps the settings and the knitter's own keys
    (as text) and returns why it could not ("" if it could). `opened` is called once, when the first
    frame is on the screen, `stopped` once when the window is closed.
    """

    submit: Callable[[Command | Talk, Source], None] = _nothing
    typed: Callable[[str], None] = _nothing
    take_up: Callable[[str], None] = _nothing
    cast_on: Callable[[NewPiece, Source], None] = _nothing
    hold: Callable[[bool], None] = _nothing
    end_voice_check: Callable[[], None] = _nothing
    phrases_trouble: Callable[[], str] = field(default=lambda: "")
    keep: Callable[[Settings, str], str] = field(default=lambda *_: "")
    remember: Callable[[str], None] = _nothing
    opened: Callable[[], None] = _nothing
    stopped: Callable[[], None] = _nothing


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything the window is given to work with; `inbox` brings every new situation."""

    theme: Theme
    controls: Controls
    keys: KeyMap
    book: PhraseBook
    words: Wording
    hands: Hands
    inbox: queue.SimpleQueue[Situation | Notice]
    settings: Settings
    own_keys: str = ""
    """The keys that the knitter taught, as text."""
    unfinished: str = ""
    """What was put in and not sent before the window was closed or killed, as text."""


def furnish(
    hands: Hands,
    inbox: queue.SimpleQueue[Situation | Notice],
    *,
    wording: Callable[[], ReplyWording],
    settings: Settings | None = None,
    own_keys: str = "",
    unfinished: str = "",
) -> Desk:
    """
    Return a desk with everything on it that comes from the product's data.

    `wording` is called when the first answer is to be put into words: it brings the reader of
    patterns with it, for which the first frame need not wait.
    """
    controls = read_controls(resources.text("shared/window/controls.toml"))
    return Desk(
        theme=read_theme(resources.text("shared/theme.toml")),
        controls=controls,
        keys=read_keys(resources.text("shared/keys.toml"), controls),
        book=read_phrases(resources.text("shared/phrases/en.toml")),
        words=Wording(
            read_texts(resources.text("shared/window/words.toml")),
            lambda reply: wording().written(reply),
            lambda instruction: wording().rows.say(instruction),  # noqa: PLW0108 (only when called)
            lambda move: wording().showing(move),
        ),
        hands=hands,
        inbox=inbox,
        settings=settings or Settings(),
        own_keys=own_keys,
        unfinished=unfinished,
    )


def prepare_kivy() -> None:
    """Tell Kivy, before its first import, to leave the command line, log and settings alone."""
    quiet = {
        "KIVY_NO_ARGS": "1",
        "KIVY_NO_CONFIG": "1",
        "KIVY_NO_FILELOG": "1",
        "KIVY_NO_CONSOLELOG": "1",
        "KIVY_LOG_MODE": "PYTHON",
        "KIVY_WINDOW": "sdl2",
        "KIVY_CLIPBOARD": "sdl2",
    }
    if sys.platform.startswith("linux") and not hasattr(sys, "getandroidapilevel"):
        # Without this, SDL falls back to an invisible screen and the window runs for nobody.
        quiet["SDL_VIDEODRIVER"] = "wayland,x11"
    for name, value in quiet.items():
        os.environ.setdefault(name, value)
    log = logging.getLogger("kivy")
    log.addHandler(logging.NullHandler())
    log.propagate = False
    from kivy.config import Config  # noqa: PLC0415 (the environment comes first)

    Config.set("kivy", "exit_on_escape", "0")
    Config.set("graphics", "maxfps", _FRAMES)
    Config.set("graphics", "window_state", "maximized")  # it is read from across the room
    Config.set("input", "mouse", "mouse,disable_multitouch")


def run_window(desk: Desk) -> None:
    """
    Open the window and stay until it is closed.

    Raises:
        NoDisplayError: there is no display; nothing was opened.

    """
    prepare_kivy()
    from kivy.core.window import Window  # noqa: PLC0415

    if Window is None:
        raise NoDisplayError
    from app.window.screens.stage import Stage  # noqa: PLC0415

    Stage(desk).run()
