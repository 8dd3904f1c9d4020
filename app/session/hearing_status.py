"""What the listening tells that is no knitting: whether it hears, how loud it is, what it lacks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app.session.situation import Ear, Practice
from speech.hearing import events as hearing

if TYPE_CHECKING:
    from app.session.situation import Situation

_QUIET_DB = 60.0
"""So far below full scale is a quiet room; 0 is as loud as it goes."""


def told(event: hearing.HearingEvent, hears: Ear, known: Situation) -> tuple[Ear, Situation] | None:
    """Return what the listening does now and what is to be shown; None: nothing new."""
    match event:
        case hearing.SoundLevel(now_db=now_db):
            level = min(max((now_db + _QUIET_DB) / _QUIET_DB, 0.0), 1.0)
            return hears, replace(known, level=level)
        case hearing.SpeechStarted():
            return Ear.HEARING, known
        case hearing.Ready() | hearing.MicBack():
            return Ear.LISTENING, replace(known, trouble="")
        case hearing.MicLost(sentence=sentence):
            return Ear.LOST, replace(known, trouble=sentence)
        case hearing.Clipping():
            return hears, replace(known, trouble="You are too close to the microphone.")
        case hearing.NothingHeard():
            return hears, replace(known, trouble="Nothing has been heard for long.")
        case hearing.Failed(sentence=sentence):
            return Ear.DEAF, replace(known, trouble=sentence)
        case hearing.Ended():
            speaks = known.practice is Practice.SPEAKS
            return Ear.DEAF, replace(known, practice=Practice.OVER if speaks else known.practice)
        case _:
            return None
