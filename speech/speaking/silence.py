"""Silence: answering without any sound, for machines that have none and rooms that want none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from speech.speaking.playback import PlaybackOutcome

if TYPE_CHECKING:
    from engine.replies import Tone
    from speech.speaking.playback import Done


class Silence:
    """A voice and a tone player that make no sound; everything is done at once."""

    audible = False
    stoppable = True

    def __init__(self) -> None:
        """Begin to be silent."""
        self._closed = False

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """Say nothing, and be done with it."""
        del text, rate
        self._end(done)

    def play(self, tone: Tone, done: Done) -> None:
        """Play nothing, and be done with it."""
        del tone
        self._end(done)

    def stop(self) -> None:
        """Go on being silent."""

    def close(self) -> None:
        """Refuse from now on, as every closed device does."""
        self._closed = True

    def _end(self, done: Done) -> None:
        done(PlaybackOutcome.FAILED if self._closed else PlaybackOutcome.DONE)
