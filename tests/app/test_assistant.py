"""The assistant: one inbox, every way in, the situation after each, and its end."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.opening import open_piece
from app.session.ports import Silent
from app.session.situation import Ear, Situation
from engine import commands
from engine.commands import Source
from engine.fabric import Fabric
from engine.journal.sqlite import SqliteJournal
from engine.replies import Say
from engine.talk import Dictate, No, StartListening, StopListening, Talk, Yes
from speech.hearing.events import (
    Dictated,
    Heard,
    MicBack,
    MicLost,
    Ready,
    Reason,
    RefusedSpeech,
    SoundLevel,
    Span,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from app.session.trace import Happening
    from speech.hearing.voice_check import HerNumbers

SPAN = Span(0.0, 1.0, 1.2, 0.01)


class Ears:
    """A hearing that remembers what it was asked for."""

    def __init__(self) -> None:
        """Remember nothing yet."""
        self.asked: list[str] = []
        self.expected = False
        self.known: HerNumbers | None = None

    def pause(self) -> None:
        """Remember."""
        self.asked.append("pause")

    def resume(self) -> None:
        """Remember."""
        self.asked.append("resume")

    def dictate(self) -> None:
        """Remember."""
        self.asked.append("dictate")

    def expect_answer(self, *, expected: bool) -> None:
        """Remember."""
        self.expected = expected

    def expect_row(self, saying: str | None) -> None:
        """Do nothing: no rows are said here."""
        del saying

    def listen_for(self, attention: str | None) -> None:
        """Remember."""
        self.asked.append(f"listen for {attention}")

    def know(self, numbers: HerNumbers) -> None:
        """Remember."""
        self.known = numbers

    def listen_while_held(self, *, only: bool) -> None:
        """Remember."""
        self.asked.append("only while held" if only else "always")

    def hold(self) -> None:
        """Remember."""
        self.asked.append("hold")

    def release(self) -> None:
        """Remember."""
        self.asked.append("release")


class Hut:
    """An assistant at work, with everything it showed, told and said."""

    def __init__(self, path: Path) -> None:
        """Start it on a new mug sleeve."""
        self.shown: list[Situation] = []
        self.told: list[Happening] = []
        self.voice = Silent()
        self.ears = Ears()
        self.assistant = Assistant(
            lambda: open_piece(path, SetClock(), None, fresh=False, source=Source.KEY),
            phrase_book(),
            self.shown.append,
            self.voice,
        )
        self.assistant.observe(self.told.append)
        self.assistant.listen_with(self.ears)
        self.assistant.start()
        assert self.assistant.ready(), self.assistant.failed

    @property
    def now(self) -> Situation:
        """What is shown now."""
        return self.shown[-1]

    def hears(self, *candidates: commands.Command | Talk, words: str = "words") -> None:
        """Hear a command and wait for the answer."""
        self.assistant.heard_and_answered(Heard(candidates, words, SPAN))


@pytest.fixture
def hut(tmp_path: Path) -> Iterator[Hut]:
    """Return an assistant at work, stopped at the end."""
    hut = Hut(tmp_path / "j.walesong")
    yield hut
    hut.assistant.stop()


def test_every_way_in_arrives_in_order(hut: Hut) -> None:
    """A key, a touch, typed words and a voice are taken one after the other."""
    hut.assistant.submit(commands.RowsDone(), Source.KEY)
    hut.assistant.submit(commands.RowsDone(), Source.TOUCH)
    hut.assistant.typed("two rows done")
    hut.hears(commands.RowsDone(1))
    assert hut.now.state.done == 5
    sources = [happening.source for happening in hut.told]
    assert sources == [Source.KEY, Source.TOUCH, Source.TYPED, Source.VOICE]


def test_refused_talk_is_shown_and_not_sounded(hut: Hut) -> None:
    """What others say is shown with the reason, and no tone is played for it."""
    answered = len(hut.voice.answered)
    refusal = RefusedSpeech(Reason.NOT_A_COMMAND, "That is not a command.", "the soup", None, SPAN)
    hut.assistant.heard_and_answered(refusal)
    assert hut.now.heard is not None
    assert (hut.now.heard.accepted, hut.now.heard.why) == (False, "That is not a command.")
    assert len(hut.voice.answered) == answered
    assert hut.now.state.done == 0


def unsure(*maybe: commands.Command) -> RefusedSpeech:
    """Return an utterance of which only the number is in doubt."""
    return RefusedSpeech(
        Reason.UNSURE, "It could have been two different things.", "", None, SPAN, maybe
    )


def test_an_unsure_number_is_settled_by_the_piece_or_asked_about(hut: Hut) -> None:
    """Eighty stitches cannot be meant where fifty are; three rows or four is asked, not guessed."""
    hut.hears(commands.RowsDone(1))
    eighty, fifty = commands.CountStitches(80), commands.CountStitches(50)
    hut.assistant.heard_and_answered(unsure(eighty, fifty))
    assert [count.count for count in hut.now.state.counts] == [50]
    hut.assistant.heard_and_answered(unsure(commands.RowsDone(3), commands.RowsDone(4)))
    assert hut.now.state.done == 1, "asked first"
    hut.hears(No())
    hut.hears(Yes())
    assert hut.now.state.done == 5


def test_what_no_question_could_tell_apart_stays_refused(hut: Hut) -> None:
    """On the needle or off it: a yes would not say which, so nothing is done or asked."""
    on, off = (commands.MeasureHow(fabric=one) for one in (Fabric.ON_NEEDLE, Fabric.RESTED))
    for maybe in ((on, off), (commands.NoteRow(), commands.NoteRow(3))):
        hut.assistant.heard_and_answered(unsure(*maybe))
        assert hut.now.question is None
        assert hut.now.heard is not None
        assert not hut.now.heard.accepted


@pytest.mark.parametrize("also", [(), (commands.RowsDone(9),)])
def test_a_command_close_behind_a_refused_piece_is_asked_about(
    hut: Hut, also: tuple[commands.Command, ...]
) -> None:
    """The end of something else counts no rows by itself, but it may have been meant."""
    heard = unsure(commands.RowsDone(2), *also)
    for answer, done in ((No(), 0), (Yes(), 2)):
        hut.assistant.heard_and_answered(replace(heard, doubted=True))
        assert hut.now.state.done == 0, "asked first"
        assert hut.now.question is not None
        hut.hears(answer)
        if also and done == 0:
            hut.hears(No())
        assert hut.now.question is None
        assert hut.now.state.done == done


@pytest.mark.parametrize("command", [commands.Undo(), commands.RowsDone(90)])
def test_a_doubted_command_is_never_taken_without_a_yes(
    hut: Hut, command: commands.Command
) -> None:
    """What has no number to read back stays refused, and what can hardly be is asked as ever."""
    hut.hears(commands.RowsDone(1))
    hut.assistant.heard_and_answered(replace(unsure(command), doubted=True))
    assert hut.now.state.done == 1
    assert (hut.now.question is None) is (command == commands.Undo())


def test_words_that_are_not_understood_get_a_hint(hut: Hut) -> None:
    """Typed words that are nearly a command are answered with the nearest one."""
    hut.assistant.typed_and_answered("which row noww")
    assert hut.now.heard is not None
    assert "which row now" in hut.now.heard.why
    assert hut.now.replies[0].say is Say.NOT_UNDERSTOOD


def test_a_question_opens_the_ears_for_short_answers(hut: Hut) -> None:
    """While a question stands, and only then, yes and no are listened for."""
    hut.hears(commands.RowsDone(9))
    hut.hears(commands.RipBack(2))
    assert hut.ears.expected
    assert hut.now.question is not None
    hut.hears(Yes())
    assert not hut.ears.expected
    assert hut.now.question is None
    assert hut.now.state.done == 7


def test_listening_is_paused_and_resumed(hut: Hut) -> None:
    """Stop listening pauses the decoding itself; start listening resumes it."""
    hut.hears(StopListening())
    assert hut.now.ear is Ear.PAUSED
    hut.assistant.submit(StartListening(), Source.KEY)
    hut.assistant.typed_and_answered("which row now")
    assert hut.ears.asked == ["pause", "resume"]
    assert hut.now.ear is not Ear.PAUSED


def test_a_note_is_dictated(hut: Hut) -> None:
    """Take a note puts the ears to dictation; what is written down becomes the note."""
    hut.hears(Dictate())
    assert hut.ears.asked == ["dictate"]
    assert hut.now.ear is Ear.DICTATION
    hut.assistant.heard_and_answered(Dictated("left edge is loose", SPAN))
    assert hut.now.state.notes[-1].text == "left edge is loose"


def test_a_lost_microphone_is_shown_and_recovers(hut: Hut) -> None:
    """A sentence appears when the microphone goes and disappears when it is back."""
    hut.assistant.heard_and_answered(Ready(0.3))
    assert hut.now.ear is Ear.LISTENING
    hut.assistant.heard_and_answered(MicLost("The microphone is gone; trying again."))
    assert (hut.now.ear, hut.now.trouble) == (Ear.LOST, "The microphone is gone; trying again.")
    hut.assistant.heard_and_answered(MicBack(1.5))
    assert (hut.now.ear, hut.now.trouble) == (Ear.LISTENING, "")


def test_the_level_is_between_nothing_and_all(hut: Hut) -> None:
    """Whatever the microphone says, the level shown is a share."""
    for now_db in (-200.0, -30.0, 10.0):
        hut.assistant.heard_and_answered(SoundLevel(now_db, -50.0))
        assert 0.0 <= hut.now.level <= 1.0


def test_tones_only_silences_words(hut: Hut) -> None:
    """After "tones only" the situation says so; "talk to me again" brings the words back."""
    hut.assistant.typed_and_answered("tones only")
    assert hut.now.tones_only
    hut.assistant.typed_and_answered("talk to me again")
    assert not hut.now.tones_only


def test_stopping_finishes_what_is_in_the_inbox(tmp_path: Path) -> None:
    """Whatever was put in before the end is on disk after it."""
    path = tmp_path / "j.walesong"
    hut = Hut(path)
    for _ in range(20):
        hut.assistant.submit(commands.RowsDone(), Source.KEY)
    hut.assistant.stop()
    with SqliteJournal.open_to_read(path) as journal:
        kinds = [record.event.kind for record in journal.records()]
    assert kinds.count("rows_worked") == 20


def test_a_journal_that_cannot_be_opened_is_a_sentence(tmp_path: Path) -> None:
    """Nothing hangs and nothing raises: the assistant says why it is not ready."""
    path = tmp_path / "notes.txt"
    path.write_text("shopping: bread, candles\n" * 200)
    assistant = Assistant(
        lambda: open_piece(path, SetClock(), None, fresh=False, source=Source.KEY),
        phrase_book(),
        lambda _: None,
        Silent(),
    )
    assistant.start()
    assert not assistant.ready()
    assert str(path) in assistant.failed
    assert path.read_text().startswith("shopping")


def test_it_does_not_wait_for_itself(hut: Hut) -> None:
    """Waiting for an answer on the assistant's own thread would never end; it is refused."""
    failures: list[BaseException] = []

    def observer(_: Happening) -> None:
        if threading.current_thread().name == "assistant" and not failures:
            try:
                hut.assistant.typed_and_answered("which row now")
            except RuntimeError as error:
                failures.append(error)

    hut.assistant.observe(observer)
    hut.hears(commands.WhichRow())
    assert len(failures) == 1


def test_pieces_are_changed_and_taken_up_again(hut: Hut) -> None:
    """A second piece is cast on, worked, and left; the first goes on where it stood."""
    hut.assistant.typed_and_answered("three rows done")
    first = hut.now.state.piece
    new = new_piece(resources.text("shared/patterns/crew-cap.toml"), None)
    assert isinstance(new, NewPiece)
    hut.assistant.cast_on(new, Source.TOUCH)
    hut.assistant.typed_and_answered("row done")
    assert hut.now.state.name == new.name
    assert hut.now.state.done == 1
    assert {one.done for one in hut.now.pieces} == {0, 3}
    hut.assistant.take_up(first)
    hut.assistant.typed_and_answered("which row now")
    assert (hut.now.state.piece, hut.now.state.done) == (first, 3)
    hut.assistant.take_up("nothing like it")
    hut.assistant.typed_and_answered("row done")
    assert hut.now.state.done == 4
