"""
The three tones on the loudspeaker of a desktop, through miniaudio.

The device is opened for each tone and given back after it: this takes a few milliseconds, follows a
headset that was plugged in since, and leaves nothing open that could get lost in the long hours
between two tones.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from speech.alsa import hush_alsa
from speech.speaking.playback import PlaybackOutcome

if TYPE_CHECKING:
    from collections.abc import Generator, Mapping

    from engine.replies import Tone
    from speech.speaking.playback import Done
    from speech.speaking.tones import ToneSound

_BUFFER_MS = 30
_PATIENCE_S = 1.0
"""How long a device may take on top of the tone's own length until it counts as lost."""


def loudspeaker_fault(rate_hz: int = 44_100) -> str | None:
    """Return why no loudspeaker can be opened here, as one sentence, or None if one can."""
    try:
        import miniaudio  # noqa: PLC0415 (absent on some systems)
    except ImportError:
        return "The sound library miniaudio is not installed."
    hush_alsa()
    try:
        miniaudio.PlaybackDevice(nchannels=1, sample_rate=rate_hz, app_name="Walesong").close()
    except miniaudio.MiniaudioError:
        return "This machine has no loudspeaker that can be opened."
    return None


class Loudspeaker:
    """Plays the tones, a thread and an opened device for each."""

    audible = True
    stoppable = True

    def __init__(self, sounds: Mapping[Tone, ToneSound]) -> None:
        """Take the sounds; nothing is opened yet."""
        self._sounds = dict(sounds)
        self._lock = threading.Lock()
        self._playing: _Playing | None = None
        self._closed = False

    def play(self, tone: Tone, done: Done) -> None:
        """Play `tone`; see `TonePlayer.play`."""
        with self._lock:
            if self._playing is not None:
                self._playing.stop()
            playing = None if self._closed else _Playing(self._sounds[tone])
            self._playing = playing
        if playing is None:
            done(PlaybackOutcome.FAILED)
            return
        threading.Thread(
            target=playing.run, args=(done,), name="walesong-tone", daemon=True
        ).start()

    def stop(self) -> None:
        """Fall silent within a few hundredths of a second."""
        with self._lock:
            if self._playing is not None:
                self._playing.stop()

    def close(self) -> None:
        """Fall silent and play nothing more."""
        with self._lock:
            self._closed = True
            if self._playing is not None:
                self._playing.stop()
                self._playing = None


class _Playing:
    """One tone on its way through the device."""

    def __init__(self, sound: ToneSound) -> None:
        self._sound = sound
        self._stopped = False
        self._handed_over = threading.Event()

    def stop(self) -> None:
        """Hand over silence from now on."""
        self._stopped = True
        self._handed_over.set()

    def run(self, done: Done) -> None:
        """Play to the end, then report it."""
        done(self._outcome())

    def _outcome(self) -> PlaybackOutcome:
        import miniaudio  # noqa: PLC0415 (see `loudspeaker_fault`)

        hush_alsa()
        try:
            with miniaudio.PlaybackDevice(
                nchannels=1,
                sample_rate=self._sound.rate_hz,
                buffersize_msec=_BUFFER_MS,
                app_name="Walesong",
            ) as device:
                samples = self._hand_over()
                next(samples)
                device.start(samples)
                played = self._handed_over.wait(self._sound.seconds + _PATIENCE_S)
                # Stopping drains what is left in the device's buffer: then it has been heard.
                device.stop()
        except miniaudio.MiniaudioError:
            return PlaybackOutcome.FAILED
        if self._stopped:
            return PlaybackOutcome.INTERRUPTED
        return PlaybackOutcome.DONE if played else PlaybackOutcome.FAILED

    def _hand_over(self) -> Generator[bytes, int, None]:
        """Yield as many frames as the device asks for: the tone, then silence."""
        samples, position = self._sound.samples, 0
        frames = yield b""
        while True:
            if position >= len(samples):
                # Asked for more, the device has taken the last piece. (Stopped when it is only
                # handed over, miniaudio drops it.)
                self._handed_over.set()
            wanted = 2 * frames
            piece = b"" if self._stopped else samples[position : position + wanted]
            position += wanted
            frames = yield piece.ljust(wanted, b"\0")
