"""How she is listened to and answered: asked for in words, held, tried, and kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.language import phrase_book
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.her_numbers import keep_numbers, kept_numbers
from app.session.inbox import Behave, EndOfTrying, Held
from app.session.manner import Answering, Listening, Manner, manner_wishes, without_holding
from app.session.opening import open_piece
from app.session.ports import Silent
from app.session.situation import Ear, Situation
from engine.commands import RowsDone, Source
from engine.replies import Say, Tone
from engine.talk import (
    AttentionWord,
    HoldToTalk,
    ListenFreely,
    Show,
    SpeakAgain,
    StartListening,
    StopListening,
    Talk,
    TonesOnly,
    TryVoice,
    WithoutSound,
    WordFirst,
)
from speech.hearing.events import (
    Clipping,
    Heard,
    MicLost,
    Ready,
    Reason,
    RefusedSpeech,
    SoundLevel,
    Span,
    SpeechStarted,
)
from speech.hearing.voice_check import PAUSE, PHRASES, HerNumbers, VoiceAdvice
from tests.app.test_assistant import Ears

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SPAN = Span(0.0, 1.0, 1.2, 0.01, level_db=-20.0, room_db=-60.0)


class Room:
    """An assistant that listens to a scripted hearing, with what it showed, kept and steered."""

    def __init__(self, path: Path, manner: Manner | None = None, *, can_hold: bool = True) -> None:
        """Start it on a new mug sleeve, with the microphone ready."""
        self.shown: list[Situation] = []
        self.kept: list[Manner] = []
        self.numbers: list[HerNumbers] = []
        self.voice = Silent()
        self.ears = Ears()
        self.assistant = Assistant(
            lambda: open_piece(path, SetClock(), None, fresh=False, source=Source.KEY),
            phrase_book(),
            self.shown.append,
            self.voice,
        )
        self.assistant.listen_with(self.ears)
        attention = self.assistant.attention
        attention.wanted, attention.keep = manner or Manner(), self.kept.append
        attention.keep_numbers = self.numbers.append
        attention.can_hold = can_hold
        self.assistant.start()
        assert self.assistant.ready(), self.assistant.failed
        self.assistant.heard_and_answered(Ready(0.3))

    @property
    def now(self) -> Situation:
        """What is shown now."""
        return self.shown[-1]

    def settle(self) -> Situation:
        """Wait until the inbox is dealt with; a click near the microphone changes nothing."""
        self.assistant.heard_and_answered(
            RefusedSpeech(Reason.TOO_SHORT, "Too short for a command.", "", None, SPAN)
        )
        return self.now

    def touch(self, said: Talk | RowsDone) -> Situation:
        """Touch something and return what is shown then."""
        self.assistant.submit(said, Source.TOUCH)
        return self.settle()

    def says(self, words: str, *candidates: RowsDone | Talk) -> Situation:
        """Say a command that is heard, and return what is shown then."""
        self.assistant.heard_and_answered(Heard(candidates or (RowsDone(),), words, SPAN))
        return self.now

    def mumbles(self, reason: Reason = Reason.NOT_A_COMMAND) -> Situation:
        """Say something that is refused."""
        self.assistant.heard_and_answered(
            RefusedSpeech(reason, "Not a command.", "soup", None, SPAN)
        )
        return self.now

    def hold(self, *, down: bool) -> None:
        """Press or let go what is held to talk."""
        self.assistant.tell(Held(down))


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    """Return a room at work, closed at the end."""
    room = Room(tmp_path / "j.walesong")
    yield room
    room.assistant.stop()


# --- the manner ----------------------------------------------------------------------------------


def test_a_loud_room_wants_a_word_first_and_a_quiet_one_none(room: Room) -> None:
    """By voice and by touch: ears, board and what is kept agree, and it is undone the same way."""
    now = room.says("listen only for thimble", WordFirst(AttentionWord.THIMBLE))
    assert room.ears.asked == ["listen for thimble"]
    assert now.ear is Ear.WORD
    assert now.manner.attention == "thimble"
    assert now.replies[0].say is Say.WORD_FIRST
    assert room.kept[-1].word is AttentionWord.THIMBLE
    now = room.says("the room is quiet now", ListenFreely())
    assert room.ears.asked[-1] == "listen for None"
    assert (now.ear, now.manner.attention) == (Ear.LISTENING, None)
    room.touch(WordFirst())
    assert room.ears.asked[-1] == "listen for thimble", "the word chosen before is used again"
    assert [manner.listening for manner in room.kept] == [
        Listening.WORD,
        Listening.FREELY,
        Listening.WORD,
    ]


def test_held_to_talk_decodes_nothing_else(room: Room) -> None:
    """The mode is told to the ears, the board shows it, and another mode ends it."""
    now = room.touch(HoldToTalk())
    assert room.ears.asked == ["only while held"]
    assert now.ear is Ear.HELD
    now = room.touch(WordFirst(AttentionWord.BOBBIN))
    assert room.ears.asked[1:] == ["listen for bobbin", "always"]
    assert now.ear is Ear.WORD


def test_where_nothing_can_be_held_it_says_so(tmp_path: Path) -> None:
    """A terminal cannot tell when a key is let go: she is never left unheard."""
    room = Room(tmp_path / "j.walesong", can_hold=False)
    now = room.says("listen only while i hold", HoldToTalk())
    assert now.replies[0].say is Say.NO_HOLDING
    assert (room.ears.asked, room.kept) == ([], [])
    assert now.ear is Ear.LISTENING
    room.assistant.stop()
    assert without_holding(Manner(Listening.HELD)).listening is Listening.FREELY


@pytest.mark.parametrize(
    ("said", "answering"),
    [
        (TonesOnly(), Answering.TONES),
        (WithoutSound(), Answering.SILENT),
        (SpeakAgain(), Answering.VOICE),
    ],
)
def test_the_voice_answers_as_she_asked(room: Room, said: Talk, answering: Answering) -> None:
    """The voice is told before it answers, and the answer is in the new way."""
    now = room.touch(said)
    assert room.voice.manner == (answering, 150)
    assert now.manner.answering is answering
    assert now.tones_only is (answering is not Answering.VOICE)


def test_a_manner_that_was_chosen_before_holds_from_the_start(tmp_path: Path) -> None:
    """What was kept on this device is known to ears, voice and board before anything is said."""
    manner = Manner(Listening.WORD, AttentionWord.ANGORA, Answering.TONES, 200)
    room = Room(tmp_path / "j.walesong", manner)
    assert room.shown[0].manner == manner
    assert room.ears.asked == ["listen for angora"]
    assert room.voice.manner == (Answering.TONES, 200)
    assert (room.now.ear, room.kept) == (Ear.WORD, [])
    room.assistant.tell(Behave(Manner(rate=120)))
    assert room.settle().manner == Manner(rate=120)
    assert room.voice.manner == (Answering.VOICE, 120)
    assert room.kept == [], "what the settings say is kept by the settings"
    room.assistant.stop()


def test_another_piece_is_worked_in_the_same_manner(room: Room) -> None:
    """The manner belongs to her and the room, not to the piece."""
    room.touch(WordFirst())
    room.assistant.take_up(room.now.state.piece)
    assert room.settle().manner.listening is Listening.WORD
    assert room.now.ear is Ear.WORD


@pytest.mark.parametrize("listening", list(Listening))
@pytest.mark.parametrize("answering", list(Answering))
def test_any_manner_is_reached_by_what_can_be_said(
    tmp_path: Path, listening: Listening, answering: Answering
) -> None:
    """What the settings say in place of the knitter leads from one manner to any other."""
    wanted = Manner(listening, AttentionWord.MARIGOLD, answering)
    room = Room(tmp_path / "j.walesong", Manner(Listening.WORD, AttentionWord.BOBBIN))
    for said in manner_wishes(Manner(Listening.WORD, AttentionWord.BOBBIN), wanted):
        room.touch(said)
    now = room.settle().manner
    assert (now.listening, now.attention, now.answering) == (
        listening,
        wanted.attention,
        answering,
    )
    room.assistant.stop()


# --- held to talk --------------------------------------------------------------------------------


def test_what_is_held_is_one_utterance_and_shown(room: Room) -> None:
    """Pressing hushes the voice and opens the ears; a repeat changes nothing; letting go ends."""
    room.touch(HoldToTalk())
    room.hold(down=True)
    room.hold(down=True)
    assert room.settle().ear is Ear.HEARING
    room.hold(down=False)
    room.hold(down=False)
    assert room.settle().ear is Ear.HELD
    assert room.ears.asked == ["only while held", "hold", "release"]


def test_a_click_in_between_does_not_let_go(room: Room) -> None:
    """Only the key's end, or having held for too long, ends it."""
    room.hold(down=True)
    room.settle()
    room.hold(down=False)
    room.settle()
    assert room.ears.asked == ["hold", "release"]


def test_who_holds_is_told_that_she_was_not_understood(room: Room) -> None:
    """A refusal is sounded only for what was said while held; the talk of others is not."""
    answered = len(room.voice.answered)
    room.mumbles()
    assert len(room.voice.answered) == answered
    room.hold(down=True)
    room.hold(down=False)
    now = room.mumbles(Reason.NO_WORDS)
    assert now.replies[0].say is Say.NOT_UNDERSTOOD
    assert room.voice.answered[-1][0].tone is Tone.NOT_HEARD
    answered = len(room.voice.answered)
    room.mumbles()
    assert len(room.voice.answered) == answered, "it is told once"


def test_held_for_too_long_is_over(room: Room) -> None:
    """A key that never comes up again does not keep the ears open for good."""
    room.touch(HoldToTalk())
    room.hold(down=True)
    assert room.mumbles(Reason.TOO_LONG).ear is Ear.HELD


def test_holding_does_not_end_a_pause(room: Room) -> None:
    """She asked not to be listened to: a key to talk says so and opens nothing."""
    room.touch(StopListening())
    room.hold(down=True)
    now = room.settle()
    assert now.replies[0].say is Say.NOT_LISTENING_NOW
    assert (now.ear, room.ears.asked) == (Ear.PAUSED, ["pause"])
    room.hold(down=False)
    room.touch(StartListening())
    assert room.ears.asked == ["pause", "resume"]


def test_a_lost_microphone_shows_in_every_mode(room: Room) -> None:
    """Whatever is listened for, that nothing can be heard is what matters."""
    for said in (WordFirst(), HoldToTalk(), ListenFreely()):
        room.touch(said)
        room.assistant.heard_and_answered(MicLost("The microphone is gone; looking for it."))
        assert room.now.ear is Ear.LOST
        room.assistant.heard_and_answered(Ready(0.1))


def test_somebody_speaking_is_shown_in_a_loud_room_too(room: Room) -> None:
    """The lamp says "I hear you" while a voice is near, then what it waits for."""
    room.touch(WordFirst())
    room.assistant.heard_and_answered(SpeechStarted(1.0))
    assert room.now.ear is Ear.HEARING
    assert room.mumbles().ear is Ear.WORD


def test_the_answer_waits_while_she_may_go_on(room: Room) -> None:
    """A place may follow what she measured; a key, or something else said, ends the waiting."""
    measured = Heard((RowsDone(),), "", Span(0.0, 1.0, 1.4, 0.01), goes_on=True)
    room.assistant.heard_and_answered(measured)
    assert room.voice.waits_s == pytest.approx(1.55)
    room.assistant.heard_and_answered(SpeechStarted(2.0))
    assert room.voice.waits_s == 3.0
    room.says("row done")
    assert room.voice.waits_s == 0.0
    room.assistant.heard_and_answered(measured)
    room.touch(RowsDone())
    assert room.voice.waits_s == 0.0


# --- the voice check -----------------------------------------------------------------------------


def test_the_voice_check_counts_nothing_and_ends_in_advice(room: Room) -> None:
    """Ten sentences are said, none of them is knitting, then there is one piece of advice."""
    now = room.says("check my voice now", TryVoice())
    assert now.check is not None
    assert now.check.phrase == PHRASES[0]
    assert now.replies[0].value("words") == PHRASES[0]
    for phrase in PHRASES:
        now = room.says(phrase.replace(PAUSE, ""))
    assert now.check is not None
    assert now.check.advice is VoiceAdvice.ALL_WELL
    assert room.ears.known == now.check.learned is not None
    assert room.numbers == [now.check.learned]
    assert (now.replies[0].say, now.state.done) == (Say.VOICE_ALL_WELL, 0)
    now = room.says("row done")
    assert (now.check, now.state.done) == (None, 1)


def test_what_is_not_understood_is_an_attempt_too(room: Room) -> None:
    """As many attempts end the check, whatever became of them; too loud a voice is told."""
    room.touch(TryVoice())
    room.settle()  # a click is no attempt
    room.assistant.heard_and_answered(Clipping(1.0))
    for _ in PHRASES:
        room.mumbles()
    assert room.now.check is not None
    assert room.now.check.advice is VoiceAdvice.TOO_LOUD


def test_the_check_asks_with_the_word_that_has_to_come_first(room: Room) -> None:
    """In a loud room the sentence to say begins with the attention word."""
    room.touch(WordFirst(AttentionWord.TAPESTRY))
    now = room.touch(TryVoice())
    assert now.replies[0].value("words") == f"tapestry {PHRASES[0]}"


def test_any_command_by_hand_ends_the_check(room: Room) -> None:
    """A key or touch means what it always means; closing the page ends the check too."""
    room.touch(TryVoice())
    assert room.touch(RowsDone()).check is None
    assert room.now.state.done == 1
    room.touch(TryVoice())
    room.assistant.tell(EndOfTrying())
    assert room.settle().check is None


def test_back_to_the_board_ends_the_check(room: Room) -> None:
    """The one sentence that is no attempt: whoever says it has enough of the check."""
    room.touch(TryVoice())
    now = room.says("back to the board", Show())
    assert now.check is None
    assert now.shown.turn == 1


def test_trying_listens_again_and_needs_a_microphone(room: Room) -> None:
    """Who was not listened to is listened to for the check; without a microphone it is said."""
    room.touch(StopListening())
    room.touch(TryVoice())
    assert room.ears.asked == ["pause", "resume"]
    room.touch(RowsDone())
    room.assistant.heard_and_answered(MicLost("The microphone is gone; looking for it."))
    now = room.touch(TryVoice())
    assert (now.check, now.replies[0].say) == (None, Say.NO_MICROPHONE)


def test_what_was_learned_is_kept_as_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is read again as it was kept; nothing, and nonsense, are nothing."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    assert kept_numbers() is None
    for numbers in (HerNumbers(212.5, 16.0), HerNumbers(None, 14.0)):
        keep_numbers(numbers)
        assert kept_numbers() == numbers
    (file,) = tmp_path.iterdir()
    for text in (
        "",
        "[]",
        "{",
        '{"pitch_hz": 1e9, "below_db": 14}',
        '{"pitch_hz": 200}',
        "[" * 9999,
    ):
        file.write_text(text, encoding="utf-8")
        assert kept_numbers() is None


def test_what_our_own_voice_cuts_off_is_no_longer_heard(room: Room) -> None:
    """Who begins to speak as an answer begins is not waited for once it is over."""
    room.assistant.heard_and_answered(SpeechStarted(1.0))
    assert room.now.ear is Ear.HEARING
    for on, ear in ((True, Ear.MUTED), (False, Ear.LISTENING)):
        room.assistant.speaking(on=on)
        room.assistant.heard_and_answered(SoundLevel(-60.0, -60.0))
        assert room.now.ear is ear
