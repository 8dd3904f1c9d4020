"""
How the knitter wants to be listened to and answered: chosen by voice, key or touch, and kept.

One value, so that every front end shows the same and nothing of it can be half changed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final, assert_never

from engine.talk import (
    AttentionWord,
    HoldToTalk,
    ListenFreely,
    SpeakAgain,
    Talk,
    TonesOnly,
    WithoutSound,
    WordFirst,
)


class Listening(StrEnum):
    """What is listened to."""

    FREELY = "freely"
    """Every command."""
    WORD = "word"
    """What begins with the attention word: the room is loud."""
    HELD = "held"
    """What is said while a key, a pedal or the board is held."""


class Answering(StrEnum):
    """How Walesong answers."""

    VOICE = "voice"
    TONES = "tones"
    SILENT = "silent"
    """With light or vibration only: a child sleeps."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How she is listened to and answered; the defaults are those of a first start."""

    listening: Listening = Listening.FREELY
    word: AttentionWord = AttentionWord.TAPESTRY
    answering: Answering = Answering.VOICE
    rate: int = 150
    """Words a minute of the voice."""

    @property
    def attention(self) -> str | None:
        """The word that has to come first, if any."""
        return self.word.value if self.listening is Listening.WORD else None


USUAL: Final = Manner()
"""The manner of a first start."""


def without_holding(manner: Manner) -> Manner:
    """Return the manner where nothing can be held: then it is listened to every command."""
    if manner.listening is Listening.HELD:
        return replace(manner, listening=Listening.FREELY)
    return manner


def manner_wishes(before: Manner, after: Manner) -> tuple[Talk, ...]:
    """Return what is to be said to get from one manner to another; the rate is only chosen."""
    wishes: list[Talk] = []
    if after.listening is not before.listening or after.attention != before.attention:
        match after.listening:
            case Listening.FREELY:
                wishes.append(ListenFreely())
            case Listening.WORD:
                wishes.append(WordFirst(after.word))
            case Listening.HELD:
                wishes.append(HoldToTalk())
            case _:
                assert_never(after.listening)
    if after.answering is not before.answering:
        match after.answering:
            case Answering.VOICE:
                wishes.append(SpeakAgain())
            case Answering.TONES:
                wishes.append(TonesOnly())
            case Answering.SILENT:
                wishes.append(WithoutSound())
            case _:
                assert_never(after.answering)
    return tuple(wishes)
