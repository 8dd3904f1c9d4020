"""An order by voice and typed words, while a piece is on the needle."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING

import pytest

from app.language import phrase_book
from app.pieces.orders import orders
from app.session.clock import SetClock
from app.session.demo_order import demo_order
from app.session.opening import resume
from engine.commands import Source
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from engine.stages import Stage
from engine.talk import PieceIs
from speech.words.understand import understand
from tests.made_up import knitted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.conversation import Conversation
    from engine.records import Record
    from engine.replies import Reply


@cache
def _records() -> tuple[tuple[Record, ...], tuple[Record, ...]]:
    return demo_order(datetime(2026, 2, 1, 12, tzinfo=UTC))


@pytest.fixture
def talk() -> Conversation:
    """Return the talk about the piece on the needle in the demo's journal."""
    journal = MemoryJournal()
    pieces, book = _records()
    journal.append(pieces)
    journal.append(book, brought=True)
    found = resume(journal, SetClock("2026-02-01T12:00:00Z"), None)
    assert found is not None
    return found


def say(talk: Conversation, words: str) -> tuple[Reply, ...]:
    """Type words, which must be understood; return the answer."""
    meant = understand(words, phrase_book())
    assert meant, words
    return talk.hear(meant, Source.TYPED).replies


def told(replies: Sequence[Reply]) -> list[Say]:
    """Return which replies they are."""
    return [one.say for one in replies]


def stage(talk: Conversation, number: int) -> Stage | None:
    """Return the stage of a piece of the order, as the journal has it."""
    return orders(talk._journal)[0].piece(number).stage


def test_a_piece_is_washed_and_the_needle_stays(talk: Conversation) -> None:
    """What is said goes to the order; the piece in work has not moved, and undo takes it back."""
    before, done = talk.piece, talk.state.done
    assert stage(talk, 20) is Stage.WASHED
    (reply,) = say(talk, "piece twenty is dry")
    assert (reply.say, reply.value("title"), reply.value("stage")) == (
        Say.ORDER_PIECE_IS,
        "Mug sleeve 20",
        Stage.DRY,
    )
    assert stage(talk, 20) is Stage.DRY
    assert (talk.piece, talk.state.done) == (before, done)
    assert resume(talk._journal, SetClock(), None).piece == before  # type: ignore[union-attr]
    assert told(say(talk, "take that back")) == [Say.ORDER_TAKEN_BACK]
    assert stage(talk, 20) is Stage.WASHED
    assert talk.state.done == done


def test_undo_takes_back_what_was_recorded_last(talk: Conversation) -> None:
    """A row told after the order's piece is taken back first, and then no more than that row."""
    say(talk, "piece twenty is dry")
    done = talk.state.done
    say(talk, "row done")
    if talk.question is not None:
        say(talk, "yes")
    assert talk.state.done == done + 1
    say(talk, "take that back")
    assert talk.state.done == done
    assert stage(talk, 20) is Stage.DRY


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        ("piece one is washed", Say.ASK_ORDER_BACK),
        ("piece sixty is washed", Say.ASK_ORDER_UNBEGUN),
    ],
)
def test_what_is_doubtful_is_asked_and_only_done_after_a_yes(
    talk: Conversation, words: str, asked: Say
) -> None:
    """A no leaves it, a yes does it; until then nothing is written."""
    number = 1 if "one" in words else 60
    before = stage(talk, number)
    assert told(say(talk, words)) == [asked]
    assert stage(talk, number) is before
    assert told(say(talk, "no")) == [Say.LEFT_AS_IT_WAS]
    assert stage(talk, number) is before
    say(talk, words)
    assert told(say(talk, "yes")) == [Say.ORDER_PIECE_IS]
    assert stage(talk, number) is Stage.WASHED


def test_of_two_numbers_heard_the_one_that_can_be_is_meant(talk: Conversation) -> None:
    """Thirteen is packed already, thirty is not there yet by its stage: what fits is done."""
    heard = [PieceIs(2, Stage.DRY), PieceIs(20, Stage.DRY)]
    (reply,) = talk.hear(heard, Source.VOICE).replies
    assert reply.value("title") == "Mug sleeve 20"
    both = [PieceIs(21, Stage.KNITTED), PieceIs(33, Stage.KNITTED)]
    assert told(talk.hear(both, Source.VOICE).replies) == [Say.ASK_ORDER_PIECE]
    (reply,) = say(talk, "no")
    assert (reply.say, reply.value("title")) == (Say.ASK_ORDER_PIECE, "Bottle sleeve 33")
    assert told(say(talk, "yes")) == [Say.ORDER_PIECE_IS]
    assert stage(talk, 21) is Stage.BEGUN


def test_a_correction_takes_the_place_of_what_was_said(talk: Conversation) -> None:
    """After "piece twenty, no, twenty one" only the second holds."""
    talk.hear([PieceIs(20, Stage.DRY)], Source.VOICE)
    talk.mend([PieceIs(21, Stage.KNITTED)], Source.VOICE)
    assert (stage(talk, 20), stage(talk, 21)) == (Stage.WASHED, Stage.KNITTED)


def test_how_the_order_is_and_what_is_next(talk: Conversation) -> None:
    """Counts, the weeks to come, what may be dry; what to start next."""
    replies = say(talk, "how is the order")
    assert told(replies) == [Say.ORDER_IS, Say.ORDER_READY_WEEKS, Say.ORDER_MAY_BE_DRY]
    assert [replies[0].value(name) for name in ("done", "count", "packed")] == [31, 66, 30]
    assert told(say(talk, "which piece do i start next")) == [Say.ORDER_NEXT]


def test_without_an_order_nothing_is_taken_for_one() -> None:
    """A journal with a piece alone says that there is no order; nothing is written."""
    journal = MemoryJournal()
    journal.append(knitted(3))
    talk = resume(journal, SetClock(), None)
    assert talk is not None
    for words in ("piece twelve is washed", "how is the order", "start next"):
        assert told(say(talk, words)) == [Say.NO_ORDER]
    assert len(journal.records()) == 4


def test_a_number_that_the_order_does_not_have(talk: Conversation) -> None:
    """It is said, with the last number that there is."""
    (reply,) = say(talk, "piece ninety is packed")
    assert (reply.say, reply.value("last")) == (Say.ORDER_NO_PIECE, 66)


def test_what_may_be_dry_is_called_to_mind_when_she_opens() -> None:
    """A day after washing the greeting names it, once; before that, and once dry, it is silent."""
    pieces, book = _records()
    for hours, words, reminded in (
        (0, "piece thirteen is washed", False),
        (25, "piece thirteen is washed", True),
        (25, "piece thirteen is dry", False),
    ):
        journal = MemoryJournal()
        journal.append(pieces)
        # Without what the demo itself has lying about to dry.
        first = [one for one in book if getattr(one.event, "stage", None) is not Stage.WASHED]
        journal.append(first, brought=True)
        clock = SetClock("2026-02-01T12:00:00Z")
        before = resume(journal, clock, None)
        assert before is not None
        say(before, "piece thirteen is knitted")
        say(before, "yes")
        say(before, words)
        say(before, "yes")
        clock = SetClock(f"2026-02-{1 + (12 + hours) // 24:02d}T{(12 + hours) % 24:02d}:00:00Z")
        again = resume(journal, clock, None)
        assert again is not None
        assert (Say.ORDER_MAY_BE_DRY in told(again.greet())) is reminded, (hours, words)
        assert Say.ORDER_MAY_BE_DRY not in told(again.greet())
