"""The window's share of listening: what is held, shown, lit up, tried and chosen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from kivy.core.window import Window
from kivy.tests.common import UnitTestTouch

from app.session.attention import advised
from app.session.keys import Doing, with_own_keys
from app.session.manner import Answering, Listening, Manner
from app.session.settings import Settings
from app.session.situation import Ear, HeardLine
from app.window.screens.edge import LIT_S
from app.wording import reply_wording
from engine.commands import RowsDone, Source
from engine.replies import Say, Tone, reply
from engine.talk import (
    AttentionWord,
    HoldToTalk,
    ListenFreely,
    SpeakAgain,
    TonesOnly,
    TryVoice,
    WithoutSound,
    WordFirst,
)
from speech.hearing.events import Heard, Span
from speech.hearing.voice_check import PAUSE, PHRASES, VoiceCheck
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.situation import Situation
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

BACKQUOTE, KEYPAD_DOT, F7, ESCAPE, SPACE = 96, 266, 288, 27, 32
SPAN = Span(0.0, 1.0, 1.2, 0.01, level_db=-20.0, room_db=-60.0)


def situation(**changes: Any) -> Situation:
    """Return a situation in the middle of the mug sleeve, listening."""
    return replace(Needle().say("two rows done").situation(), ear=Ear.LISTENING, **changes)


def in_manner(listening: Listening, **changes: Any) -> Situation:
    """Return a situation in which it is listened in this way."""
    manner = Manner(listening, AttentionWord.PERIWINKLE)
    ears = {Listening.WORD: Ear.WORD, Listening.HELD: Ear.HELD, Listening.FREELY: Ear.LISTENING}
    return replace(situation(), manner=manner, ear=ears[listening], **changes)


def down(code: int, times: int = 1) -> None:
    """Press a key, or let it repeat."""
    for _ in range(times):
        Window.dispatch("on_key_down", code, 0, None, [])


# --- held to talk --------------------------------------------------------------------------------


@pytest.mark.parametrize("code", [BACKQUOTE, KEYPAD_DOT])
def test_a_held_key_is_held_once(open_window: Opener, code: int) -> None:
    """Its repeats change nothing, its end lets go, and it gives no command."""
    driver = open_window(situation=situation())
    down(code, 30)
    assert driver.hands.held == [True]
    Window.dispatch("on_key_up", code, 0)
    assert driver.hands.held == [True, False]
    assert driver.hands.submitted == []


def test_two_keys_held_end_with_the_last(open_window: Opener) -> None:
    """A second key or the board joins in; only the last one to be let go ends it."""
    driver = open_window(situation=situation())
    down(BACKQUOTE)
    down(KEYPAD_DOT)
    Window.dispatch("on_key_up", BACKQUOTE, 0)
    assert driver.hands.held == [True]
    Window.dispatch("on_key_up", KEYPAD_DOT, 0)
    assert driver.hands.held == [True, False]


def test_losing_the_keys_lets_go(open_window: Opener) -> None:
    """Another window takes the keys: the key-up would never come."""
    driver = open_window(situation=situation())
    down(BACKQUOTE)
    driver.stage._focused(Window, focus=False)
    assert driver.hands.held == [True, False]
    Window.dispatch("on_key_up", BACKQUOTE, 0)
    assert driver.hands.held == [True, False]
    down(BACKQUOTE)
    driver.stage.on_pause()
    assert driver.hands.held == [True, False, True, False]


def test_closing_the_window_lets_go(open_window: Opener) -> None:
    """Nothing stays held when the window is gone."""
    driver = open_window(situation=situation())
    down(BACKQUOTE)
    driver.stage.dispatch("on_stop")
    assert driver.hands.held == [True, False]


def test_a_pedal_learns_to_be_held(open_window: Opener) -> None:
    """Taught in the settings, kept, and held like any other key from then on."""
    driver = open_window(situation=situation())
    driver.reach("Settings")
    driver.hands.submitted.clear()
    page = driver.stage.overlays[-1]
    driver.scroll_to(page, page.teachable["talk"])
    driver.tap(page.teachable["talk"])
    assert driver.stage.places.learning is Doing.TALK
    driver.key(F7)
    assert '"288" = "talk"' in driver.hands.kept[-1][1]
    keys = with_own_keys(driver.desk.keys, driver.hands.kept[-1][1], driver.desk.controls)
    assert keys.bindings[F7].bound is Doing.TALK
    driver.stage.close_all()
    down(F7, 5)
    Window.dispatch("on_key_up", F7, 0)
    assert driver.hands.held == [True, False]


def test_the_board_is_held_by_a_finger(open_window: Opener) -> None:
    """In the mode of holding the board offers it first; a finger that slides off lets go, too."""
    driver = open_window(situation=situation())
    assert "Hold to talk" not in [button.title for button in driver.board.buttons]
    driver.show(in_manner(Listening.HELD))
    button = driver.board.buttons[0]
    assert button.title == "Hold to talk"
    touch = UnitTestTouch(*button.to_window(*button.center))
    touch.touch_down()
    driver.frames(2)
    assert driver.hands.held == [True]
    touch.touch_move(2, 2)
    touch.touch_up()
    driver.frames(2)
    assert driver.hands.held == [True, False]
    assert driver.hands.submitted == []
    driver.show(situation())
    driver.tap(driver.button("Row done"))
    assert driver.hands.submitted == [(RowsDone(), Source.TOUCH)]
    assert driver.hands.held == [True, False]


def test_a_number_pad_does_not_hide_the_held_key(open_window: Opener) -> None:
    """While a number is asked for, it can be said with the key held."""
    driver = open_window(situation=situation())
    driver.tap(driver.button("Count"))
    down(BACKQUOTE)
    Window.dispatch("on_key_up", BACKQUOTE, 0)
    assert driver.hands.held == [True, False]


# --- what is shown -------------------------------------------------------------------------------


def test_the_board_says_what_it_listens_for(open_window: Opener) -> None:
    """A word first, a key held, or everything: in words beside the lamp."""
    driver = open_window(situation=in_manner(Listening.WORD))
    assert driver.board.ids.ear.words == "Say “periwinkle” first"
    driver.show(in_manner(Listening.HELD))
    assert driver.board.ids.ear.words == "Hold to talk"
    driver.show(in_manner(Listening.FREELY))
    assert driver.board.ids.ear.words == "Listening"


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("screen", ["phone", "small phone", "phone on its side", "tablet"])
def test_what_it_listens_for_is_whole_on_every_device(
    open_window: Opener, screen: str, scale: float
) -> None:
    """No state of the ear loses its end: the longest word and a lost microphone in large words."""
    driver = open_window(screen=screen, settings=Settings(text_scale=scale), situation=situation())
    longest = Manner(Listening.WORD, AttentionWord.PUMPERNICKEL)
    for ear in Ear:
        driver.show(replace(situation(), ear=ear, manner=longest))
        shown = driver.board.ids.ear
        if not shown.opacity:
            continue
        said = "".join(span.words for span in shown.all_spans)
        assert said == shown.words, ear
        if ear is Ear.WORD:
            assert "pumpernickel" in shown.words


# --- light in place of sound ---------------------------------------------------------------------


def answered(say: Say, tone: Tone, answering: Answering) -> Situation:
    """Return a situation after an answer in some way of answering."""
    heard = HeardLine("row done", accepted=tone is not Tone.NOT_HEARD)
    return replace(
        situation(), manner=Manner(answering=answering), replies=(reply(say, tone),), heard=heard
    )


@pytest.mark.parametrize(("tone", "role"), [(Tone.HEARD, "good"), (Tone.NOT_HEARD, "alert")])
def test_the_edge_lights_up_where_no_sound_is_wanted(
    open_window: Opener, tone: Tone, role: str
) -> None:
    """Green for "heard", red for "not heard"; each answer anew, and dark again after a moment."""
    driver = open_window(situation=situation())
    driver.show(answered(Say.SPEAKING_AGAIN, tone, Answering.SILENT))
    assert driver.stage.edge.lit == role
    width, height, pixels = driver.pixels()
    corner = tuple(pixels[(height - 3) * width * 4 + 8 :][:3])
    assert corner == tuple(round(255 * part) for part in getattr(driver.stage.look, role)[:3])
    driver.stage.edge.darken()
    driver.show(answered(Say.SPEAKING_AGAIN, tone, Answering.SILENT))
    assert driver.stage.edge.lit == role
    assert LIT_S > 1 / 3, "three flashes in a second are too many"


def test_no_light_where_there_is_sound_or_nothing_new(open_window: Opener) -> None:
    """With tones or a voice the edge stays dark; a level or a lamp is no answer."""
    driver = open_window(situation=situation())
    driver.show(answered(Say.SPEAKING_AGAIN, Tone.HEARD, Answering.TONES))
    assert driver.stage.edge.lit == ""
    silent = answered(Say.SPEAKING_AGAIN, Tone.HEARD, Answering.SILENT)
    driver.show(silent)
    driver.stage.edge.darken()
    driver.show(replace(silent, level=0.7, ear=Ear.HEARING))
    assert driver.stage.edge.lit == ""


# --- settings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("listening", Listening.WORD, WordFirst(AttentionWord.TAPESTRY)),
        ("listening", Listening.HELD, HoldToTalk()),
        ("answering", Answering.TONES, TonesOnly()),
        ("answering", Answering.SILENT, WithoutSound()),
    ],
)
def test_a_choice_says_what_a_voice_would(
    open_window: Opener, name: str, value: object, said: object
) -> None:
    """Touched in the settings it is the same talk as by voice or key, and it is kept."""
    driver = open_window(situation=situation())
    driver.reach("Settings")
    driver.hands.submitted.clear()
    page = driver.stage.overlays[-1]
    driver.scroll_to(page, page.choices[name, value])
    driver.tap(page.choices[name, value])
    assert driver.hands.submitted == [(said, Source.TOUCH)]
    assert getattr(driver.hands.kept[-1][0], name) == value


def test_back_to_the_usual_is_said_too(open_window: Opener) -> None:
    """What was chosen is undone in the same place."""
    chosen = Settings(listening=Listening.WORD, answering=Answering.SILENT)
    driver = open_window(situation=replace(situation(), manner=chosen.manner), settings=chosen)
    driver.reach("Settings")
    driver.hands.submitted.clear()
    page = driver.stage.overlays[-1]
    for name, value in (("listening", Listening.FREELY), ("answering", Answering.VOICE)):
        driver.scroll_to(page, page.choices[name, value])
        driver.tap(page.choices[name, value])
    assert driver.hands.submitted == [
        (ListenFreely(), Source.TOUCH),
        (SpeakAgain(), Source.TOUCH),
    ]


def test_what_was_asked_for_by_voice_is_kept_and_shown_as_chosen(open_window: Opener) -> None:
    """The settings follow the assistant, once, whether their page is open or not."""
    driver = open_window(situation=situation())
    driver.reach("Settings")
    driver.hands.submitted.clear()
    page = driver.stage.overlays[-1]
    driver.show(in_manner(Listening.WORD))
    kept = driver.hands.kept[-1][0]
    assert (kept.listening, kept.word) == (Listening.WORD, AttentionWord.PERIWINKLE)
    assert page.choices["listening", Listening.WORD].rank == "chosen"
    assert page.choices["word", AttentionWord.PERIWINKLE].rank == "chosen"
    count = len(driver.hands.kept)
    driver.show(in_manner(Listening.WORD, level=0.4))
    assert len(driver.hands.kept) == count
    assert driver.hands.submitted == [], "nothing is said back"


def test_trouble_with_her_own_phrases_is_a_sentence_in_the_settings(open_window: Opener) -> None:
    """What is left out of her file, and why, stands where she would look for it."""
    driver = open_window(situation=situation())
    driver.hands.phrases_trouble = "Your own phrases are left out: 'la' is too short."
    driver.reach("Settings")
    driver.hands.submitted.clear()
    shown = [span.words for text in driver.stage.overlays[-1].paragraphs for span in text.spans]
    assert "Your own phrases are left out: 'la' is too short." in shown


# --- the voice check -----------------------------------------------------------------------------


def words_on(page: Any) -> str:
    """Return all words on a page."""
    return "\n".join(span.words for text in page.paragraphs for span in text.spans)


def test_the_voice_check_leads_from_sentence_to_sentence_to_advice(open_window: Opener) -> None:
    """Opened from the settings, it shows what to say, what was understood, and the result."""
    driver = open_window(situation=situation())
    driver.reach("Settings")
    driver.hands.submitted.clear()
    page = driver.stage.overlays[-1]
    button = next(one for one in driver.widgets() if getattr(one, "title", "") == "Try your voice"
                  and hasattr(one, "rank"))  # fmt: skip
    driver.scroll_to(page, button)
    driver.tap(button)
    assert driver.hands.submitted == [(TryVoice(), Source.TOUCH)]
    check = VoiceCheck()
    driver.show(in_manner(Listening.WORD, check=check))
    page = driver.stage.overlays[-1]
    assert f"“periwinkle {PHRASES[0]}”" in words_on(page)
    for at, phrase in enumerate(PHRASES):
        check = check.after(
            Heard((RowsDone(),), phrase.replace(PAUSE, "") if at != 1 else "how far left", SPAN)
        )
        driver.show(in_manner(Listening.WORD, check=check))
    shown = words_on(page)
    assert f"“{PHRASES[0]}”: understood" in shown
    assert f"“{PHRASES[1]}”: not understood" in shown
    assert reply_wording().written(advised(check)) in shown
    assert "40 dB above the room" in shown
    driver.tap(driver.button("Once more"))
    assert driver.hands.submitted[-1] == (TryVoice(), Source.TOUCH)
    driver.show(in_manner(Listening.WORD, check=VoiceCheck()))
    assert "1 of 10" in words_on(page)


def test_escape_puts_the_check_away_and_it_stays_away(open_window: Opener) -> None:
    """Closed, it is not opened again by what was still on its way; a new check is."""
    driver = open_window(situation=situation())
    driver.show(situation(check=VoiceCheck()))
    driver.key(ESCAPE)
    assert driver.hands.checks_ended == 1
    driver.show(situation(check=VoiceCheck(), level=0.5))
    assert driver.stage.overlays == []
    driver.show(situation())
    driver.show(situation(check=VoiceCheck()))
    assert len(driver.stage.overlays) == 1
    driver.show(situation())
    assert driver.stage.overlays == []


def test_a_key_goes_on_knitting(open_window: Opener) -> None:
    """Whoever presses "row done" while the check is open wants the row."""
    driver = open_window(situation=situation(check=VoiceCheck()))
    driver.key(SPACE)
    assert driver.hands.submitted == [(RowsDone(), Source.KEY)]
    assert driver.stage.overlays == []


def test_a_first_start_offers_to_try_the_voice_and_goes_on(open_window: Opener) -> None:
    """From the first page the voice can be tried; closed, the first row is still to be knitted."""
    driver = open_window(situation=replace(Needle().situation(), ear=Ear.LISTENING))
    (welcome,) = driver.stage.overlays
    driver.tap(welcome.voice)
    assert driver.hands.submitted == [(TryVoice(), Source.TOUCH)]
    driver.show(replace(Needle().situation(), ear=Ear.LISTENING, check=VoiceCheck()))
    assert "1 of 10" in words_on(driver.stage.overlays[-1])
    driver.key(ESCAPE)
    assert driver.stage.overlays == [welcome]
