"""
A voice and tone player for rehearsals: it makes no sound and remembers what it would have played.

It ends when it is told to, so that a test decides what is reported, and when.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from speech.speaking.playback import PlaybackOutcome, speakable

if TYPE_CHECKING:
    from engine.replies import Tone
    from speech.speaking.playback import Done


class Rehearsal:
    """Keeps the promises of `Speaker` and of `TonePlayer`, without sound."""

    def __init__(
        self, *, by_itself: bool = False, audible: bool = True, stoppable: bool = True
    ) -> None:
        """
        Begin with nothing played.

        `by_itself`: everything ends at once with DONE; otherwise `finish` ends it.
        """
        self.audible = audible
        self.stoppable = stoppable
        self.played: list[Tone | str] = []
        self.rates: list[float] = []
        self.begun = threading.Semaphore(0)
        """Released once for everything that begins."""
        self._by_itself = by_itself
        self._lock = threading.Lock()
        self._present: Done | None = None
        self._closed = False

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """Remember `text` and `rate`."""
        self.rates.append(rate)
        self._begin(text, done, empty=not speakable(text))

    def play(self, tone: Tone, done: Done) -> None:
        """Remember `tone`."""
        self._begin(tone, done)

    def stop(self) -> None:
        """End what is being played, if it can be stopped."""
        if self.stoppable:
            self.finish(PlaybackOutcome.INTERRUPTED)

    def finish(self, outcome: PlaybackOutcome = PlaybackOutcome.DONE) -> None:
        """End what is being played with `outcome`; without anything: nothing."""
        with self._lock:
            present, self._present = self._present, None
        if present is not None:
            present(outcome)

    def lose_report(self) -> None:
        """Let what is being played end without any report."""
        with self._lock:
            self._present = None

    def close(self) -> None:
        """End what is being played and refuse the rest."""
        self._closed = True
        self.finish(PlaybackOutcome.INTERRUPTED)

    def _begin(self, what: Tone | str, done: Done, *, empty: bool = False) -> None:
        self.finish(PlaybackOutcome.INTERRUPTED)
        if self._closed or empty:
            done(PlaybackOutcome.FAILED if self._closed else PlaybackOutcome.DONE)
            return
        with self._lock:
            self.played.append(what)
            self._present = done
        self.begun.release()
        if self._by_itself:
            self.finish()
