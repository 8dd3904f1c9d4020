"""
Playback: what a voice and a tone player promise, whatever they are made of.

Both play one thing at a time and report its end exactly once. Who waits for whom, and when the
microphone is open, is not their business: `speech.speaking.answer_queue` decides that.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from engine.replies import Tone

# A spoken word of four or five letters takes 0.4 s at 150 words a minute; 0.09 s a letter is on the
# slow side of that, so an estimate rather errs towards silence (common practice, no source).
_SECONDS_PER_LETTER = 0.09
_SECONDS_TO_START = 0.6


class PlaybackOutcome(StrEnum):
    """How a playback ended, as reported by what played it."""

    DONE = "done"
    INTERRUPTED = "interrupted"
    FAILED = "failed"
    ASSUMED = "assumed"
    """Nobody reports the end here; the time that it takes has passed."""


Done = Callable[[PlaybackOutcome], None]
"""Called once for each playback, from any thread, even from within the call that began it."""


class Speaker(Protocol):
    """
    A voice. It says one text at a time.

    No method blocks for as long as the speech lasts, and none raises because of the text or the
    device: what goes wrong is the outcome FAILED.
    """

    @property
    def audible(self) -> bool:
        """Whether a microphone in the same room hears it."""
        ...

    @property
    def stoppable(self) -> bool:
        """Whether `stop` ends what is being said; if not, it only keeps the next from beginning."""
        ...

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """
        Say `text` and report its end; what is being said already is stopped first.

        `rate` is relative to the voice's usual pace, from 0.5 to 2. `done` comes when the sound has
        really ended, not when it was handed over.
        """
        ...

    def stop(self) -> None:
        """Fall silent as soon as the device can; its `done` gets INTERRUPTED.

        Without speech: nothing.
        """
        ...

    def close(self) -> None:
        """Fall silent and give the device back. Later calls of `say` fail."""
        ...


class TonePlayer(Protocol):
    """Plays one of the three tones at a time; the promises are those of `Speaker`."""

    @property
    def audible(self) -> bool:
        """Whether a microphone in the same room hears it."""
        ...

    @property
    def stoppable(self) -> bool:
        """Whether `stop` ends the tone on its way."""
        ...

    def play(self, tone: Tone, done: Done) -> None:
        """Play `tone` and report its end; a tone that is being played already is stopped first."""
        ...

    def stop(self) -> None:
        """Fall silent; the `done` of what was played gets INTERRUPTED."""
        ...

    def close(self) -> None:
        """Fall silent and give the device back. Later calls of `play` fail."""
        ...


def speakable(text: str) -> str:
    """
    Return `text` as one line of plain speech: no control characters, no markup of any voice.

    Double square brackets would be taken for phoneme codes by some voices, angle brackets for tags.
    """
    plain = "".join(
        " " if sign in "[]<>\\`|" or unicodedata.category(sign).startswith(("C", "Z")) else sign
        for sign in text
    )
    return " ".join(plain.split())


def speaking_seconds(text: str, rate: float = 1.0) -> float:
    """Return about how many seconds it takes to say `text`, rather too many than too few."""
    return _SECONDS_TO_START + _SECONDS_PER_LETTER * len(text) / bounded_rate(rate)


def bounded_rate(rate: float) -> float:
    """Return `rate` held between half and twice the usual pace, where a voice is understood."""
    return min(2.0, max(0.5, rate))
