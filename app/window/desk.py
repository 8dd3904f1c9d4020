"""What the window is given to work with and what it calls; no Kivy here."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from app import resources
from app.display.safe_area import Surroundings
from app.display.screen_words import ScreenWording, read_texts
from app.display.theme import read_theme
from app.session.controls import read_controls
from app.session.keys import read_keys
from app.session.settings import Settings
from speech.words.phrases import read_phrases

if TYPE_CHECKING:
    import queue
    from collections.abc import Callable
    from pathlib import Path

    from app.classroom.serving import Classroom
    from app.display.theme import Theme
    from app.pieces.values import NewPiece
    from app.session.controls import Controls
    from app.session.keys import KeyMap
    from app.session.situation import Situation
    from engine.commands import Command, Source
    from engine.talk import Talk
    from speech.words.phrases import PhraseBook
    from speech.words.wording import Wording as ReplyWording


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
    `cast_on` begins one. `end_practice` stops the practice recording, and (True) goes to her own
    work. `hold` tells that what is held to talk is down or up again, `end_voice_check` and
    `end_lesson` put the voice check and lesson away, `classroom` is what phones can follow,
    `phrases_trouble` says why the knitter's
    own phrases are left out ("" if they are in). `keep` keeps the settings and her own keys
    (as text) and returns why it could not ("" if it could). `opened` is called once, when the first
    frame is on the screen, `stopped` once when the window is closed. `open_file` shows a file that
    was written with what the device shows such files with. `paused` and `resumed` tell that another
    program lies in front (or the screen is off), and that it no longer does.
    """

    submit: Callable[[Command | Talk, Source], None] = _nothing
    typed: Callable[[str], None] = _nothing
    take_up: Callable[[str], None] = _nothing
    cast_on: Callable[[NewPiece, Source], None] = _nothing
    end_practice: Callable[[bool], None] = _nothing
    hold: Callable[[bool], None] = _nothing
    end_voice_check: Callable[[], None] = _nothing
    end_lesson: Callable[[], None] = _nothing
    classroom: Classroom | None = None
    phrases_trouble: Callable[[], str] = field(default=lambda: "")
    keep: Callable[[Settings, str], str] = field(default=lambda *_: "")
    remember: Callable[[str], None] = _nothing
    open_file: Callable[[Path], None] = _nothing
    opened: Callable[[], None] = _nothing
    stopped: Callable[[], None] = _nothing
    paused: Callable[[], None] = _nothing
    resumed: Callable[[], None] = _nothing


@dataclass(frozen=True, slots=True)
class Device:
    """
    What a phone or tablet is asked and told; a desktop needs none of it.

    `refused` says whether the microphone is not allowed, `open_settings` shows the system's page
    where it can be, `leave` goes behind the program that was in front before (False: there is no
    such thing here), `surroundings` says which edges have to be kept free, `font_scale` how large
    letters are wanted on this device (1.0 is usual).
    """

    refused: Callable[[], bool] = field(default=lambda: False)
    open_settings: Callable[[], None] = _nothing
    leave: Callable[[], bool] = field(default=lambda: False)
    surroundings: Callable[[], Surroundings] = Surroundings
    font_scale: Callable[[], float] = field(default=lambda: 1.0)


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything the window is given to work with; `inbox` brings every new situation."""

    theme: Theme
    controls: Controls
    keys: KeyMap
    book: PhraseBook
    words: ScreenWording
    hands: Hands
    inbox: queue.SimpleQueue[Situation | Notice]
    settings: Settings
    own_keys: str = ""
    """The keys that the knitter taught, as text."""
    unfinished: str = ""
    """What was put in and not sent before the window was closed or killed, as text."""
    device: Device = field(default_factory=Device)


def furnish(
    hands: Hands,
    inbox: queue.SimpleQueue[Situation | Notice],
    *,
    wording: Callable[[], ReplyWording],
    settings: Settings | None = None,
    own_keys: str = "",
    unfinished: str = "",
    device: Device | None = None,
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
        words=ScreenWording(
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
        device=device or Device(),
    )
