"""Replies are sounded: their tone, their words, the latest first."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app import resources
from engine.replies import Reply, Say, Tone, reply
from speech.speaking.answer_queue import Speaking
from speech.speaking.answering import AnswerWay, Devices
from speech.speaking.answers import Answers
from speech.speaking.fake_voice import Rehearsal
from speech.speaking.turns import Limits
from speech.words.phrases import read_phrases
from speech.words.templates import read_template
from speech.words.wording import read_wording

if TYPE_CHECKING:
    from collections.abc import Iterator

WORDING = read_wording(
    resources.text("shared/phrases/replies.en.toml"),
    read_phrases(resources.text("shared/phrases/en.toml")).numbers,
)
QUESTION = reply(Say.ASK_WORKING, row=38)
OTHER = read_template("Is it {row}?")


class NoEars:
    """Ears that nobody needs here."""

    def mute(self) -> None:
        """Close."""

    def unmute(self) -> None:
        """Open."""


class Stage:
    """Answers with a rehearsed voice and tones."""

    def __init__(self, *, by_itself: bool = True) -> None:
        """Begin."""
        self.voice = Rehearsal(by_itself=by_itself)
        self.tones = Rehearsal(by_itself=True)
        limits = Limits(tail_s=0.01, assumed_tail_s=0.02, grace_s=0.1)
        self.speaking = Speaking(Devices(self.voice, self.tones), NoEars(), limits=limits)
        self.answers = Answers(self.speaking, WORDING)

    def sounds(self, *replies: Reply, words: bool = True) -> list[str]:
        """Answer, and return what was sounded."""
        self.answers.answer(replies, words=words)
        assert self.speaking.wait_until_quiet(5.0)
        return [*self.tones.played, *self.voice.played]


@pytest.fixture
def stage() -> Iterator[Stage]:
    """Return a stage whose sounds end by themselves."""
    made = Stage()
    yield made
    made.speaking.close()


@pytest.mark.parametrize(
    ("replies", "words", "sounds"),
    [
        ([reply(Say.TICK, Tone.HEARD)], True, [Tone.HEARD]),
        ([reply(Say.ROWS_DONE, Tone.HEARD, row=44)], True, [Tone.HEARD, "Forty four done."]),
        ([reply(Say.ROWS_DONE, Tone.HEARD, row=44)], False, [Tone.HEARD]),
        (
            [reply(Say.TICK, Tone.NEXT_DIFFERS), reply(Say.COUNT_PLEASE, count=48)],
            True,
            [Tone.NEXT_DIFFERS, "Count, please: forty eight."],
        ),
        ([QUESTION], True, ["Working thirty eight?"]),
        ([QUESTION], False, [Tone.NOT_HEARD]),
        ([reply(Say.LAST_ROW_DONE)], False, [Tone.HEARD]),
        ([reply(Say.TICK)], True, []),
        ([], True, []),
    ],
)
def test_a_tone_and_words(
    stage: Stage, *, replies: list[Reply], words: bool, sounds: list[str]
) -> None:
    """The tone first, then all the words; without words a tone tells whether she has to act."""
    assert stage.sounds(*replies, words=words) == sounds


def test_in_tones_a_question_is_not_taken_for_an_answer(stage: Stage) -> None:
    """Chosen for good or for now, tones alone say the same."""
    stage.speaking.answering = AnswerWay.TONES
    assert stage.sounds(QUESTION) == [Tone.NOT_HEARD]


def test_the_latest_answer_counts() -> None:
    """By pedal she is quicker than the voice: what is out of date is broken off."""
    stage = Stage(by_itself=False)
    stage.answers.answer([reply(Say.WORKING, row=41, side="right side")])
    assert stage.voice.begun.acquire(timeout=60.0)
    stage.answers.answer([reply(Say.WORKING, row=42, side="wrong side")])
    assert stage.voice.begun.acquire(timeout=60.0)
    assert stage.voice.played == [
        "Working forty one, right side.",
        "Working forty two, wrong side.",
    ]
    stage.answers.hush()
    assert stage.speaking.wait_until_quiet(5.0)
    stage.speaking.close()


def test_other_words_hold_from_the_next_answer_on(stage: Stage) -> None:
    """Reworded, the same reply is given in the new words."""
    first = stage.sounds(QUESTION)
    stage.answers.reword(replace(WORDING, say={**WORDING.say, Say.ASK_WORKING: OTHER}))
    assert stage.sounds(QUESTION)[-1] == "Is it thirty eight?"
    assert first[-1] != "Is it thirty eight?"
