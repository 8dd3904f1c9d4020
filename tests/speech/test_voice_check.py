"""The voice check: ten sentences, the advice that helps most, and what is learned."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app import resources
from engine.commands import RowsDone
from speech.hearing.events import (
    Clipping,
    Heard,
    HearingEvent,
    Reason,
    RefusedSpeech,
    SoundLevel,
    Span,
)
from speech.hearing.voice_check import PAUSE, PHRASES, HerNumbers, VoiceAdvice, VoiceCheck
from speech.words.phrases import read_phrases
from speech.words.understand import understand_heard

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))


def said(words: str, level: float = -20.0, room: float = -60.0) -> Heard:
    """Return a sentence that was heard so loud in such a room, by a voice of 200 Hz."""
    span = Span(0, 1, 1.2, 0.0, level, room, 200.0)
    return Heard((RowsDone(),), words.replace(PAUSE, ""), span)


def missed(level: float = -20.0, room: float = -60.0) -> RefusedSpeech:
    """Return an utterance that was refused."""
    return RefusedSpeech(Reason.NO_WORDS, "No.", "", None, Span(0, 1, 1.2, 0.0, level, room))


def checked(*events: HearingEvent) -> VoiceCheck:
    """Return the check after some events."""
    check = VoiceCheck()
    for event in events:
        check = check.after(event)
    return check


def test_what_is_to_be_said_are_commands() -> None:
    """Each sentence of the check is a spoken command, so the real way is tried."""
    assert all(understand_heard(phrase.replace(PAUSE, ""), BOOK) for phrase in PHRASES)
    assert any(PAUSE in phrase for phrase in PHRASES)


def test_the_check_asks_for_one_sentence_after_the_other() -> None:
    """It goes on after each attempt, heard or not, and ends after the last."""
    check = VoiceCheck()
    assert check.phrase == PHRASES[0]
    assert check.advice is None
    check = check.after(SoundLevel(-50, -60)).after(said(PHRASES[0]))
    assert check.phrase == PHRASES[1]
    check = check.after(missed())
    assert check.phrase == PHRASES[2]
    for phrase in PHRASES[2:]:
        check = check.after(said(phrase))
    assert check.phrase is None
    assert check.heard == len(PHRASES) - 1
    assert check.after(said("row done")) == check


def test_a_click_is_no_attempt() -> None:
    """What is too short to be a sentence uses up none of the attempts."""
    click = RefusedSpeech(Reason.TOO_SHORT, "Too short.", "", None, Span(0, 0.1, 0.8, 0.0))
    assert checked(click).phrase == PHRASES[0]
    assert checked(click, said(PHRASES[0])).right == (True,)


@pytest.mark.parametrize(
    ("events", "advice"),
    [
        ([said(phrase) for phrase in PHRASES], VoiceAdvice.ALL_WELL),
        ([Clipping(1.0), *(said(phrase) for phrase in PHRASES)], VoiceAdvice.TOO_LOUD),
        ([said(phrase, -55, -90) for phrase in PHRASES], VoiceAdvice.TOO_QUIET),
        ([said(phrase, -20, -30) for phrase in PHRASES], VoiceAdvice.LOUD_ROOM),
        ([said(phrase, -20, -38) for phrase in PHRASES], VoiceAdvice.ALL_WELL),
        (
            [missed(-20, -38), *(said(phrase, -20, -38) for phrase in PHRASES[1:])],
            VoiceAdvice.LOUD_ROOM,
        ),
        ([missed() for _ in PHRASES], VoiceAdvice.NOT_UNDERSTOOD),
        ([missed(), *(said(phrase) for phrase in PHRASES[1:])], VoiceAdvice.NOT_UNDERSTOOD),
    ],
)
def test_the_advice_fits(events: list[HearingEvent], advice: VoiceAdvice) -> None:
    """What stands most in the way is named."""
    check = checked(*events)
    assert check.advice is advice
    assert check.margin_db is not None


def test_a_pause_in_a_sentence_is_one_attempt() -> None:
    """What mends counts for the whole; the rest of a sentence taken short is no new attempt."""
    at = next(place for place, phrase in enumerate(PHRASES) if PAUSE in phrase)
    check = checked(*(said(phrase) for phrase in PHRASES[:at]))
    short = check.after(said("really on row one hundred and twenty"))
    assert short.right[-1] is False
    mended = short.after(replace(said(PHRASES[at]), mends=True))
    assert (mended.phrase, mended.right[-1]) == (PHRASES[at + 1], True)
    rest = replace(missed(), span=Span(2.5, 2.9, 3.2, 0.0))
    assert short.after(rest) == short


def test_what_was_understood_is_learned_from() -> None:
    """Her pitch, and how far her softest sentence lies below the others, with some to spare."""
    softly: list[HearingEvent] = [
        said(PHRASES[0], -30.0),
        *(said(phrase) for phrase in PHRASES[1:]),
    ]
    assert checked(*softly).learned == HerNumbers(200.0, 16.0)
    evenly: list[HearingEvent] = [said(phrase) for phrase in PHRASES]
    assert checked(*evenly).learned == HerNumbers(200.0, 14.0)
    assert checked(*evenly[:-1]).learned is None, "the check goes on"
    hardly: list[HearingEvent] = [said(PHRASES[0]), *(missed() for _ in PHRASES[1:])]
    assert checked(*hardly).learned is None
