"""She goes on after a pause: what was taken too early is replaced by the whole, in one group."""

from __future__ import annotations

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from engine.commands import Source
from engine.events import Undone
from engine.history import fold, live
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from speech.words.understand import understand
from tests.app.test_conversation import FullJournal


def begun(journal: MemoryJournal | None = None) -> Conversation:
    """Return the talk about a mug sleeve of which three rows are done."""
    new = new_piece(resources.text("shared/patterns/mug-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    talk = Conversation.begin(journal or MemoryJournal(), new, SetClock())
    talk.hear(understand("three rows done", phrase_book()), Source.TYPED)
    return talk


def heard(talk: Conversation, words: str, *, mends: bool = False) -> tuple[Say, ...]:
    """Say words aloud and return what is answered."""
    meant = understand(words, phrase_book())
    assert meant, words
    outcome = (talk.mend if mends else talk.hear)(meant, Source.VOICE)
    return tuple(one.say for one in outcome.replies)


def test_the_whole_replaces_its_beginning_in_one_group() -> None:
    """Two, then four: only the four count, and both are one group in the journal."""
    talk = begun()
    heard(talk, "two rows done")
    first = talk.records[-1]
    heard(talk, "four rows done", mends=True)
    assert talk.records[-1].group == first.group
    assert first not in live(talk.records)
    assert talk.state.done == 7
    assert talk.state == fold(talk.records), "what is shown is what a start anew would show"


def test_undo_takes_back_the_whole_and_redo_puts_it_back() -> None:
    """One undo leads to before both, one redo to after both, here and after reading again."""
    talk = begun()
    heard(talk, "two rows done")
    heard(talk, "four rows done", mends=True)
    assert talk.state.done == 7
    for words, done in (("take that back", 3), ("put that back", 7), ("take that back", 3)):
        heard(talk, words)
        assert talk.state.done == done
        assert talk.state == fold(talk.records)
    heard(talk, "take that back")
    assert talk.state.done == 0, "the undo after that takes back what came before"


def test_what_is_asked_about_takes_its_beginning_back_at_once() -> None:
    """If the whole can hardly be meant, it is asked about, and the beginning holds no more."""
    talk = begun()
    heard(talk, "two rows done")
    heard(talk, "two hundred rows done", mends=True)
    assert talk.question is not None
    assert talk.state.done == 3
    assert talk.state == fold(talk.records)


def test_only_what_was_said_last_is_mended() -> None:
    """If a key came in between, nothing but the new words themselves is acted on."""
    talk = begun()
    heard(talk, "two rows done")
    talk.hear(understand("row done", phrase_book()), Source.KEY)
    heard(talk, "four rows done", mends=True)
    assert talk.state.done == 10
    assert not any(isinstance(record.event, Undone) for record in talk.records)


def test_a_full_disk_keeps_what_is_on_it() -> None:
    """If the whole cannot be written, the beginning still holds, and it is told."""
    journal = FullJournal()
    talk = begun(journal)
    heard(talk, "two rows done")
    journal.full = True
    assert heard(talk, "four rows done", mends=True) == (Say.NOT_WRITTEN,)
    assert talk.state.done == 5
    assert talk.state == fold(talk.records)
