"""How answers are given, as values: in which way, through what, and what is closed meanwhile."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from speech.speaking.silence import Silence

if TYPE_CHECKING:
    from speech.speaking.playback import Speaker, TonePlayer


class OwnEars(Protocol):
    """What listens, as far as speaking is concerned.

    Both calls return at once and may be repeated.
    """

    def mute(self) -> None:
        """Listen no more; what is recorded from now on, and what is half heard, is thrown away."""
        ...

    def unmute(self) -> None:
        """Listen, from now on."""
        ...


class AnswerManner(StrEnum):
    """What becomes of answers that are still being given."""

    QUEUE = "queue"
    """They are given to their end first."""
    INTERRUPT = "interrupt"
    """They are broken off."""


class AnswerWay(StrEnum):
    """How the knitter wants to be answered, beside the screen."""

    VOICE = "voice"
    """Words and tones."""
    TONES = "tones"
    """Tones alone."""
    VIBRATION = "vibration"
    """Only felt: somebody sleeps."""
    SILENT = "silent"
    """Neither heard nor felt."""


@dataclass(frozen=True, slots=True)
class Devices:
    """What answers are given through."""

    speaker: Speaker
    tones: TonePlayer
    vibration: TonePlayer = field(default_factory=Silence)
