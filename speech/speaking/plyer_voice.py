"""
The voice that plyer offers: one call that blocks, with no stop, no pace and no report of its end.

It runs on a thread of its own, one text after the other, since two of its calls at once talk over
each other. What it cannot do is told truthfully: after `stop` the sound goes on, and the end is
reported when it comes.
"""

from __future__ import annotations

import queue
import shutil
import sys
import threading
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from speech.speaking.playback import PlaybackOutcome, speakable, speaking_seconds

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.speaking.playback import Done

# What plyer 2.1 looks for by itself, read in its source.
_PROGRAMS = {"linux": ("espeak", "flite"), "darwin": ("say", "espeak"), "win32": ("espeak.exe",)}


def plyer_can_speak() -> bool:
    """Return whether plyer would find a program to speak with; for a desktop."""
    return any(shutil.which(program) for program in _PROGRAMS.get(sys.platform, ()))


def _plyer_speak(text: str) -> None:
    from plyer import tts  # noqa: PLC0415 (on a phone the import reaches for the running activity)

    tts.speak(message=text)


@dataclass(slots=True)
class _Saying:
    text: str
    done: Done
    stopped: bool = False


class PlyerVoice:
    """
    Speaks through plyer's `tts`.

    `speak` blocks until the text is spoken; with `returns_early` (phones) it only hands the text
    over, the time that speaking takes is estimated, and the outcome is ASSUMED.
    """

    audible = True
    stoppable = False

    def __init__(
        self,
        speak: Callable[[str], None] = _plyer_speak,
        *,
        returns_early: bool = False,
        takes_s: Callable[[str], float] = speaking_seconds,
    ) -> None:
        """Start the thread that waits for texts."""
        self._speak = speak
        self._returns_early = returns_early
        self._takes_s = takes_s
        self._waiting: queue.SimpleQueue[_Saying | None] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._unfinished: list[_Saying] = []
        self._closed = False
        threading.Thread(target=self._work, name="walesong-plyer-voice", daemon=True).start()

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """Say `text` after what is being said, which cannot be stopped; `rate` is beyond plyer."""
        del rate
        self.stop()
        plain = speakable(text)
        with self._lock:
            accepted = not self._closed and bool(plain)
            if accepted:
                # A leading space: plyer hands the text over as an argument, and "-v" is an option.
                saying = _Saying(f" {plain}", done)
                self._unfinished.append(saying)
                self._waiting.put(saying)
        if not accepted:
            done(PlaybackOutcome.FAILED if self._closed else PlaybackOutcome.DONE)

    def stop(self) -> None:
        """Begin nothing new; what sounds already goes on to its end."""
        with self._lock:
            for saying in self._unfinished:
                saying.stopped = True

    def close(self) -> None:
        """Begin nothing new, for good."""
        self.stop()
        with self._lock:
            if not self._closed:
                self._closed = True
                self._waiting.put(None)

    def _work(self) -> None:
        while (saying := self._waiting.get()) is not None:
            outcome = PlaybackOutcome.INTERRUPTED if saying.stopped else self._spoken(saying)
            with self._lock:
                self._unfinished.remove(saying)
            saying.done(PlaybackOutcome.INTERRUPTED if saying.stopped else outcome)

    def _spoken(self, saying: _Saying) -> PlaybackOutcome:
        try:
            self._speak(saying.text)
        except Exception:  # noqa: BLE001 (whatever plyer's platforms raise, the answer is only not heard)
            return PlaybackOutcome.FAILED
        if not self._returns_early:
            return PlaybackOutcome.DONE
        time.sleep(self._takes_s(saying.text))
        return PlaybackOutcome.ASSUMED
