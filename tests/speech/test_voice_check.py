"""The voice check: three sentences and the advice that helps most."""

from __future__ import annotations

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
from speech.hearing.voice_check import PHRASES, VoiceAdvice, VoiceCheck
from speech.words.phrases import read_phrases
from speech.words.understand import understand_heard

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))


def said(words: str, level: float = -20.0, room: float = -60.0) -> Heard:
    """Return a sentence that was heard so loud in such a room."""
    return Heard((RowsDone(),), words, Span(0, 1, 1.2, 0.0, level, room))


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
    assert all(understand_heard(phrase, BOOK) for phrase in PHRASES)


def test_the_check_asks_for_one_sentence_after_the_other() -> None:
    """It goes on after each attempt, heard or not, and ends after three."""
    check = VoiceCheck()
    assert check.phrase == PHRASES[0]
    assert check.advice is None
    check = check.after(SoundLevel(-50, -60)).after(said(PHRASES[0]))
    assert check.phrase == PHRASES[1]
    check = check.after(missed()).after(said(PHRASES[2]))
    assert check.phrase is None
    assert check.after(said("row done")) == check


def test_a_click_is_no_attempt() -> None:
    """What is too short to be a sentence uses up none of the three."""
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
        ([missed(), missed(), missed()], VoiceAdvice.NOT_UNDERSTOOD),
        ([missed(), said(PHRASES[1]), said(PHRASES[2])], VoiceAdvice.NOT_UNDERSTOOD),
    ],
)
def test_the_advice_fits(events: list[HearingEvent], advice: VoiceAdvice) -> None:
    """What stands most in the way is named."""
    check = checked(*events)
    assert check.advice is advice
    assert check.margin_db is not None
