"""One piece in conversation: written before it is shown, taken up again on the same stitch."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import course_of, readable
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.dialogue import QUESTION_LASTS_MS
from app.session.opening import resume
from engine import commands
from engine.commands import Source
from engine.events import RowsWorked
from engine.history import fold
from engine.journal.errors import DiskFullError
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from engine.quantities import centimetres
from engine.replies import Say
from engine.talk import Talk, Yes
from speech.words.understand import understand

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from app.session.outcome import Outcome
    from engine.records import Record


def sleeve() -> NewPiece:
    """Return the demo's mug sleeve, ready to be cast on."""
    new = new_piece(resources.text("shared/patterns/mug-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    return new


def say(talk: Conversation, words: str, source: Source = Source.TYPED) -> Outcome:
    """Say words to the conversation; they must be understood."""
    meant = understand(words, phrase_book())
    assert meant, words
    return talk.hear(meant, source)


class FullJournal(MemoryJournal):
    """A journal whose disk is full from some moment on."""

    full = False

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """Keep the records, or fail as a full disk does."""
        if self.full:
            raise DiskFullError("There is no room left on the disk.")
        super().append(records, brought=brought)


def test_what_is_answered_is_written(tmp_path: Path) -> None:
    """When an answer comes back, another reader of the file already sees the record."""
    path = tmp_path / "j.walesong"
    talk = Conversation.begin(SqliteJournal.open(path), sleeve(), SetClock())
    outcome = say(talk, "three rows done")
    with SqliteJournal.open_to_read(path) as other:
        kept = other.records(talk.piece)
    assert kept[-1].event == RowsWorked("lower-rib", 1, 3)
    assert outcome.written == kept[-1:]
    talk.close()


def test_a_round_number_that_may_have_lost_its_end_is_asked_about() -> None:
    """At row 25 a mistake "in row twenty", heard, may be in 24 or 25; who types 20 means it."""
    talk = Conversation.begin(MemoryJournal(), sleeve(), SetClock())
    say(talk, "24 rows done")
    heard = say(talk, "mistake in row twenty", Source.VOICE)
    assert heard.written == ()
    assert talk.question is not None
    assert talk.question.yes == commands.Mistake(20)
    assert say(talk, "no", Source.VOICE).written == ()
    assert talk.question is not None
    assert talk.question.yes == commands.Mistake(25)
    assert len(say(talk, "yes", Source.VOICE).written) == 1
    assert len(say(talk, "mistake in row 20").written) == 1


def test_taken_up_again_in_the_middle_of_a_row(tmp_path: Path) -> None:
    """Closing and opening again resumes on the same stitch, and says so."""
    path = tmp_path / "j.walesong"
    talk = Conversation.begin(SqliteJournal.open(path), sleeve(), SetClock())
    for words in ("five rows done", "stopping in this row", "after 23 stitches"):
        say(talk, words)
    talk.close()
    again = resume(SqliteJournal.open(path), SetClock(), None)
    assert again is not None
    assert again.state == talk.state
    greeting = again.greet()[0]
    assert greeting.say is Say.WELCOME_BACK_IN_ROW
    assert (greeting.value("row"), greeting.value("count")) == (6, 23)
    again.close()


def test_a_bit_of_a_row_is_remembered(tmp_path: Path) -> None:
    """The place inside a row that is read bit by bit survives reopening."""
    text = (
        'title = "T"\ncast_on = 20\nrows = ["Row 1: k5, sm, k10, sm, k5",'
        ' "Rep row 1 until piece measures 10 cm"]'
    )
    new = new_piece(text, None)
    assert isinstance(new, NewPiece), new
    path = tmp_path / "j.walesong"
    talk = Conversation.begin(SqliteJournal.open(path), new, SetClock())
    first = say(talk, "next bit")
    assert first.replies[0].say is Say.BIT
    talk.close()
    again = resume(SqliteJournal.open(path), SetClock(), None)
    assert again is not None
    assert again.state.bit == 1
    assert say(again, "go back one bit").replies[0].say in {Say.INSTRUCTION, Say.BIT}
    again.close()


def test_a_full_disk_changes_nothing() -> None:
    """What cannot be written is not counted; the trouble is one sentence, and it goes on later."""
    journal = FullJournal()
    talk = Conversation.begin(journal, sleeve(), SetClock())
    say(talk, "row done")
    journal.full = True
    outcome = say(talk, "row done")
    assert outcome.replies[0].say is Say.NOT_WRITTEN
    assert "no room" in outcome.trouble
    assert outcome.written == ()
    assert talk.state.done == 1
    journal.full = False
    say(talk, "row done")
    assert talk.state.done == 2


def test_typed_words_keys_and_voice_give_the_same_events() -> None:
    """Whatever the way in, the payloads are the same; only the source differs."""
    meant: list[commands.Command | Talk] = [
        commands.RowsDone(4),
        commands.Measure(centimetres(Fraction(3, 2))),
        Yes(),
        commands.CountStitches(50),
        commands.RipBack(2),
        Yes(),
        commands.Undo(),
    ]
    written = {}
    for source in (Source.VOICE, Source.KEY, Source.TOUCH, Source.PEDAL, Source.TYPED):
        talk = Conversation.begin(MemoryJournal(), sleeve(), SetClock(), source)
        for one in meant:
            talk.hear([one], source)
        written[source] = [record.event for record in talk.records if record.event.kind != "undone"]
        assert {record.source for record in talk.records} == {source}
    assert all(events == written[Source.VOICE] for events in written.values())


def test_a_yes_after_something_else_confirms_nothing() -> None:
    """A question belongs to the state it was asked in: once rows are recorded it is gone."""
    talk = Conversation.begin(MemoryJournal(), sleeve(), SetClock())
    say(talk, "nine rows done")
    say(talk, "ripped back five rows")
    say(talk, "row done")
    assert say(talk, "yes").replies[0].say is Say.NO_QUESTION
    assert talk.state.done == 10


def test_a_question_expires_by_time() -> None:
    """A yes long after the question confirms nothing."""
    clock = SetClock()
    talk = Conversation.begin(MemoryJournal(), sleeve(), clock)
    say(talk, "nine rows done")
    say(talk, "ripped back five rows")
    clock.ms += QUESTION_LASTS_MS + 1
    assert talk.question is None
    assert say(talk, "yes").replies[0].say is Say.NO_QUESTION
    assert talk.state.done == 9


def test_say_again_repeats_words_not_ticks() -> None:
    """A tick is nothing to repeat; the last words are."""
    talk = Conversation.begin(MemoryJournal(), sleeve(), SetClock())
    said = say(talk, "three rows done").replies
    say(talk, "that felt tight")
    assert say(talk, "say it again").replies == said


def test_a_dictated_note_goes_to_its_row() -> None:
    """After "take a note on row three" the next words are its text."""
    talk = Conversation.begin(MemoryJournal(), sleeve(), SetClock())
    say(talk, "four rows done")
    say(talk, "take a note on row three")
    talk.note("edge looks loose", Source.VOICE)
    note = talk.state.notes[-1]
    assert (note.row, note.text) == (3, "edge looks loose")
    assert not talk.dialogue.dictating


def test_clock_jumps_change_no_state() -> None:
    """Wall time is for display: a clock that jumps back years changes nothing that is counted."""
    clock = SetClock()
    talk = Conversation.begin(MemoryJournal(), sleeve(), clock)
    say(talk, "three rows done")
    clock.date = "1999-01-01T00:00:00Z"
    say(talk, "row done")
    assert fold(talk.records).done == 4


def test_a_pattern_that_cannot_be_read_any_more_loses_nothing() -> None:
    """A piece whose kept text this version cannot read is counted on without it."""
    talk = Conversation.begin(
        MemoryJournal(), NewPiece("odd", pattern="title = [", cast_on=30), SetClock()
    )
    assert not readable(talk.state)
    say(talk, "three rows done")
    assert talk.state.done == 3
    assert course_of(talk.state).cast_on == 30


@pytest.mark.parametrize("name", ["mug-sleeve", "bottle-sleeve", "lantern-sleeve", "crew-cap"])
def test_every_demo_piece_can_be_knitted_to_its_end(name: str) -> None:
    """Each pattern is knitted row by row to the last one, and every row is answered."""
    text = resources.text(f"shared/patterns/{name}.toml")
    new = new_piece(text, None)
    assert isinstance(new, NewPiece)
    talk = Conversation.begin(MemoryJournal(), new, SetClock())
    for _ in range(400):
        place = talk.course.where(talk.state.loops_ended, talk.state.working)
        if place.finished:
            break
        if place.open_loop is not None and place.row_in_section > 40 and place.row % 2 == 1:
            say(talk, "this part is done")
            continue
        assert say(talk, "row done").command == commands.RowsDone(1)
    assert say(talk, "yes").replies[0].say is Say.PIECE_FINISHED
    assert talk.state.finished
