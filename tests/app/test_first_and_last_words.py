"""What is said when a piece is begun and when it ends: the first row, cautions, the last steps."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.wording import reply_wording
from engine.commands import Command, FinishPiece, Source
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from speech.words.understand import understand
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from engine.talk import Talk

WORDS = reply_wording()


def written(needle: Needle) -> list[str]:
    """Return what the board writes of the last answer."""
    return [WORDS.written(one) for one in needle.replies]


def said(needle: Needle) -> str:
    """Return what the voice says of the last answer."""
    return WORDS.said_aloud(needle.replies)


def test_the_welcome_tells_the_first_steps() -> None:
    """Before anything is on the needle she hears what to cast on and her first row."""
    greeting = Needle("mug-sleeve").talk.greet()
    spoken = WORDS.said_aloud(greeting)
    assert "Cast on fifty." in spoken
    assert "knit two, purl two" in spoken


def test_the_welcome_of_a_piece_under_way_is_as_short_as_before() -> None:
    """Once a row is done neither the cast-on nor the caution is told again."""
    needle = Needle("mug-sleeve").say("row done")
    assert [one.say for one in needle.talk.greet()] == [Say.WELCOME_BACK]


def test_a_piece_without_a_pattern_is_welcomed_without_made_up_numbers() -> None:
    """Where neither cast-on nor row is known, nothing is claimed about them."""
    talk = Conversation.begin(MemoryJournal(), NewPiece("Plain piece"), SetClock())
    assert [one.say for one in talk.greet()] == [Say.WELCOME_BACK]


def test_cautions_are_said_once_in_the_words_of_the_pattern() -> None:
    """The lantern's sleeve warns of flames when it is cast on, not when it is taken up again."""
    text = resources.text("shared/patterns/lantern-sleeve.toml")
    new = new_piece(text, None)
    assert isinstance(new, NewPiece)
    talk = Conversation.begin(MemoryJournal(), new, SetClock())
    first = WORDS.said_aloud(talk.greet())
    assert "Only for battery lanterns, never on flame" in first
    assert "Keep vents and lens clear" in first
    assert "lanterns, never" not in WORDS.said_aloud(talk.about(talk.piece).greet())
    assert "lanterns, never" not in WORDS.said_aloud(talk.greet())


def last_row(pattern: str, size: str | None = None) -> Needle:
    """Return a piece that is worked up to its last row."""
    needle = Needle(pattern, size).say("row done")
    while True:
        talk = needle.talk
        last = talk.course.last_row(talk.state.loops_ended)
        if last is not None and talk.state.done + 1 == last:
            return needle
        needle.say("row done")
        if needle.talk.course.where(talk.state.loops_ended, talk.state.working).open_loop:
            needle.say("part done")
            if needle.talk.question is not None:
                needle.say("yes")


@pytest.mark.parametrize("pattern", ["mug-sleeve", "bottle-sleeve", "lantern-sleeve"])
def test_finishing_is_said_when_the_piece_is_bound_off(pattern: str) -> None:
    """The bind-off is told as the designer says it, and after it how the piece is finished."""
    needle = last_row(pattern).say("what comes next")
    assert said(needle) == "Bind off all in pattern."
    assert written(needle) == ["Bind off all in pattern."]
    needle.say("row done")
    assert "Sew the side seam with a gap for the handle" in said(needle) or pattern != "mug-sleeve"
    assert any(one.startswith("Sew the") for one in written(needle))
    assert needle.replies[-1].say is Say.ASK_FINISH


def test_abbreviations_of_finishing_are_spoken_in_whole_words() -> None:
    """A designer's "rem 8 sts" is written so and spoken as words."""
    needle = last_row("crew-cap", "S").say("row done")
    assert "Break yarn, draw through rem 8 sts and fasten off." in written(needle)
    assert "stitches and fasten off" in said(needle)
    assert " sts " not in said(needle)


@pytest.mark.parametrize("source", Source)
def test_the_end_of_a_piece_is_asked_whatever_is_said(source: Source) -> None:
    """No way ends a piece in one step, not even after its last row."""
    needle = last_row("mug-sleeve").say("row done", "no")
    outcome = needle.talk.hear((FinishPiece(),), source)
    assert not needle.talk.state.finished
    assert [one.say for one in outcome.replies] == [Say.ASK_FINISH]
    again = needle.talk.hear((FinishPiece(),), source)
    assert needle.talk.state.finished is (source is not Source.VOICE)
    assert again.replies[0].say is (
        Say.ASK_FINISH if source is Source.VOICE else Say.PIECE_FINISHED
    )


def test_a_piece_whose_pattern_goes_on_is_asked_about_with_the_rows_left() -> None:
    """Finished before the last row: the question says how many are left, or that some are."""
    needle = last_row("mug-sleeve").say("ripped back two rows", "yes", "finished")
    assert [one.say for one in needle.replies] == [Say.ASK_FINISH_EARLY]
    assert needle.replies[0].value("rows") == 3
    needle = Needle("mug-sleeve").say("10 rows done", "finished")
    assert [one.say for one in needle.replies] == [Say.ASK_FINISH_BEFORE_PART]
    needle.say("yes")
    assert needle.talk.state.finished


def test_a_piece_without_a_row_is_asked_about_in_other_words() -> None:
    """Finished with no row done is hardly meant: the question says why it is asked."""
    needle = Needle("mug-sleeve").say("finished")
    assert [one.say for one in needle.replies] == [Say.ASK_FINISH_UNBEGUN]
    needle.say("no")
    assert not needle.talk.state.finished


def test_talk_of_several_pieces_ends_none() -> None:
    """What is said of several pieces is no command; at most it is asked what was meant."""
    found: tuple[Command | Talk, ...] = understand("the pieces are finished", phrase_book())
    assert found == ()


def test_the_same_as_the_first_is_not_said_before_there_is_anything() -> None:
    """At row 0, and in a rib that ends by its rows, no sameness is claimed."""
    first = Needle("mug-sleeve").say("20 rows done", "part done")
    if first.talk.question is not None:
        first.say("yes")
    again = first.talk.hear(understand("knit the same again", phrase_book()), Source.TYPED)
    assert again.going is None
    going = first.talk.hear(understand("yes", phrase_book()), Source.TYPED).going
    assert isinstance(going, NewPiece)
    second = first.talk.cast_on(going, Source.TYPED)
    replies = second.hear(understand("same as the first", phrase_book()), Source.TYPED).replies
    assert [one.say for one in replies] == [Say.SAME_NOT_YET]
    assert "compare" in WORDS.written(replies[0])
