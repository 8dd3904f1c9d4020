"""The talk around the knitting: questions that stand, expire and are answered."""

from __future__ import annotations

import pytest

from app.session.dialogue import QUESTION_LASTS_MS, Dialogue, asking, converse
from engine import commands
from engine.judging.decision import Question
from engine.replies import Say, reply
from engine.talk import (
    Dictate,
    No,
    SayAgain,
    SpeakAgain,
    StartListening,
    StopListening,
    Talk,
    TonesOnly,
    Yes,
)

WORKING_38 = Question(reply(Say.ASK_WORKING, row=38), commands.Recount(38))
THIRTEEN_OR_THIRTY = Question(
    reply(Say.ASK_STITCHES, count=13),
    commands.CountStitches(13),
    Question(reply(Say.ASK_STITCHES, count=30), commands.CountStitches(30)),
)


def test_yes_confirms_what_was_asked() -> None:
    """A yes hands over exactly the command that the question stood for, once."""
    turn = converse(asking(Dialogue(), WORKING_38, 0), Yes(), 1000)
    assert turn.confirmed == commands.Recount(38)
    again = converse(turn.dialogue, Yes(), 2000)
    assert (again.confirmed, again.replies[0].say) == (None, Say.NO_QUESTION)


def test_no_leaves_things_as_they_were() -> None:
    """A no ends the question and says so."""
    turn = converse(asking(Dialogue(), WORKING_38, 0), No(), 1000)
    assert turn.confirmed is None
    assert turn.replies[0].say is Say.LEFT_AS_IT_WAS
    assert turn.dialogue.question is None


def test_no_leads_to_the_other_candidate() -> None:
    """Thirteen? No. Thirty? Yes."""
    turn = converse(asking(Dialogue(), THIRTEEN_OR_THIRTY, 0), No(), 1000)
    assert turn.replies == (reply(Say.ASK_STITCHES, count=30),)
    last = converse(turn.dialogue, Yes(), 2000)
    assert last.confirmed == commands.CountStitches(30)


@pytest.mark.parametrize("answer", [Yes(), No()])
def test_a_question_expires(answer: Talk) -> None:
    """A yes to something else, long after, confirms nothing."""
    asked = asking(Dialogue(), WORKING_38, 0)
    turn = converse(asked, answer, QUESTION_LASTS_MS + 1)
    assert turn.confirmed is None
    assert turn.replies[0].say is Say.NO_QUESTION


def test_a_question_for_a_number_is_asked_again_after_yes() -> None:
    """A question for a number cannot be answered by yes; it stays."""
    question = Question(reply(Say.ASK_AFTER), None)
    turn = converse(asking(Dialogue(), question, 0), Yes(), 10)
    assert turn.replies == (question.asks,)
    assert turn.dialogue.question == question


def test_say_again_repeats_the_last_answer() -> None:
    """What was said last is said again; before anything was said, that is said."""
    assert converse(Dialogue(), SayAgain(), 0).replies[0].say is Say.NOTHING_SAID_YET
    last = (reply(Say.ROWS_DONE, row=44),)
    assert converse(Dialogue(last=last), SayAgain(), 0).replies == last


def test_listening_and_tones() -> None:
    """The two switches are kept in the dialogue and can be switched back."""
    paused = converse(Dialogue(), StopListening(), 0).dialogue
    assert not paused.listening
    assert converse(paused, StartListening(), 0).dialogue.listening
    quiet = converse(Dialogue(), TonesOnly(), 0).dialogue
    assert quiet.tones_only
    assert not converse(quiet, SpeakAgain(), 0).dialogue.tones_only


def test_dictation_waits_for_one_utterance() -> None:
    """After "take a note" the dialogue knows for which row the next words are."""
    turn = converse(Dialogue(), Dictate(31), 0)
    assert turn.dialogue.dictating
    assert turn.dialogue.dictating_row == 31
