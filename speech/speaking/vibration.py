"""The three tones as vibration, for rooms where somebody sleeps: the same rhythms, felt."""

from __future__ import annotations

import threading
from functools import partial
from typing import TYPE_CHECKING, Protocol

from speech.speaking.errands import Errands
from speech.speaking.playback import PlaybackOutcome
from speech.speaking.tones import MELODIES

if TYPE_CHECKING:
    from engine.replies import Tone
    from speech.speaking.playback import Done

_LEAST_S = 0.08
"""A motor needs about so long to be felt, and to be felt no more (common practice, no source)."""


class Motor(Protocol):
    """What vibrates; plyer's `vibrator` is one."""

    def exists(self) -> bool:
        """Return whether there is a motor."""
        ...

    def pattern(self, pattern: list[float], repeat: int) -> None:
        """Begin a pattern of pauses and strokes in seconds, a pause first; `repeat` -1: once."""
        ...

    def cancel(self) -> None:
        """Stop vibrating."""
        ...


def rhythm(tone: Tone) -> list[float]:
    """Return the pauses and strokes of `tone` in seconds, a pause first."""
    strokes: list[float] = []
    for beat in MELODIES[tone]:
        strokes += [max(beat.rest_s, _LEAST_S) if strokes else 0.0, max(beat.length_s, _LEAST_S)]
    return strokes


def motor_here() -> Motor | None:
    """Return the motor of this phone, or None: desktops have none."""
    from plyer import vibrator  # noqa: PLC0415 (on a phone the import reaches for the activity)
    from plyer.utils import platform  # noqa: PLC0415 (the same)

    if platform not in {"android", "ios"}:
        return None
    try:
        found: Motor = vibrator
        return found if found.exists() else None
    except Exception:  # noqa: BLE001 (whatever a platform raises: there is none)
        return None


class Vibration:
    """
    Vibrates the rhythm of a tone; a motor does not report its end, so every outcome is ASSUMED.

    It counts as audible: the motor rattles in the microphone of the same device.
    """

    audible = True
    stoppable = True

    def __init__(self, motor: Motor) -> None:
        """Take the motor, which is used from one thread only."""
        self._motor = motor
        self._errands = Errands("walesong-vibration")
        self._lock = threading.Lock()
        self._present: _Stroke | None = None
        self._closed = False

    def play(self, tone: Tone, done: Done) -> None:
        """Vibrate the rhythm of `tone`; see `TonePlayer.play`."""
        self.stop()
        if self._closed:
            done(PlaybackOutcome.FAILED)
            return
        present = _Stroke(tone, done)
        with self._lock:
            self._present = present
        self._errands.do(partial(self._begin, present))

    def stop(self) -> None:
        """Stop vibrating."""
        with self._lock:
            present = self._present
        if present is not None:
            self._errands.do(self._motor.cancel)
            self._end(present, PlaybackOutcome.INTERRUPTED)

    def close(self) -> None:
        """Stop vibrating, for good."""
        self.stop()
        if not self._closed:
            self._closed = True
            self._errands.end()

    def _begin(self, present: _Stroke) -> None:
        if self._present is not present:
            return
        strokes = rhythm(present.tone)
        try:
            self._motor.pattern(strokes, -1)
        except Exception:
            self._end(present, PlaybackOutcome.FAILED)
            raise
        timer = threading.Timer(sum(strokes), self._end, (present, PlaybackOutcome.ASSUMED))
        timer.daemon = True
        timer.start()

    def _end(self, present: _Stroke, outcome: PlaybackOutcome) -> None:
        """Report the end of `present`, if nobody has done so."""
        with self._lock:
            if self._present is not present:
                return
            self._present = None
        present.done(outcome)


class _Stroke:
    """One tone on its way."""

    def __init__(self, tone: Tone, done: Done) -> None:
        self.tone = tone
        self.done = done
