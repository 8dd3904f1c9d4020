"""
The three tones on an Android device: a static AudioTrack for each, reached through pyjnius.

Proven against a Java double on a desktop's Java; nobody has tried it on a phone yet. AudioTrack's
own notice of the end needs a Java looper; asking where the playback stands, some fifty times for a
tone, needs nothing.
"""

from __future__ import annotations

import threading
import time
from functools import partial
from typing import TYPE_CHECKING, Any

from jnius import autoclass, detach

from speech.speaking.errands import Errands
from speech.speaking.playback import PlaybackOutcome

if TYPE_CHECKING:
    from collections.abc import Mapping

    from engine.replies import Tone
    from speech.speaking.playback import Done
    from speech.speaking.tones import ToneSound

# android.media.AudioAttributes, AudioFormat, AudioTrack
_USAGE_MEDIA = 1
_CONTENT_TYPE_SONIFICATION = 4
_ENCODING_PCM_16BIT = 2
_CHANNEL_OUT_MONO = 4
_MODE_STATIC = 0
_NO_SESSION = 0
_STATE_INITIALIZED = 1

_LOOK_EVERY_S = 0.01
_PATIENCE_S = 1.0


class AndroidTones:
    """Plays the tones, a track for each; all calls into Java are made on one thread."""

    audible = True
    stoppable = True

    def __init__(self, sounds: Mapping[Tone, ToneSound]) -> None:
        """Take the sounds; nothing is opened yet."""
        self._sounds = dict(sounds)
        self._lock = threading.Lock()
        self._stop_present: threading.Event | None = None
        self._closed = False
        self._errands = Errands("walesong-android-tones", at_end=detach)

    def play(self, tone: Tone, done: Done) -> None:
        """Play `tone`; see `TonePlayer.play`."""
        self.stop()
        if self._closed:
            done(PlaybackOutcome.FAILED)
            return
        stop = threading.Event()
        with self._lock:
            self._stop_present = stop
        self._errands.do(partial(_run, self._sounds[tone], stop, done))

    def stop(self) -> None:
        """Fall silent."""
        with self._lock:
            if self._stop_present is not None:
                self._stop_present.set()

    def close(self) -> None:
        """Fall silent and play nothing more."""
        self.stop()
        if not self._closed:
            self._closed = True
            self._errands.end()


def _run(sound: ToneSound, stop: threading.Event, done: Done) -> None:
    """Play one sound to its end, or until told to stop, and report it."""
    outcome = PlaybackOutcome.FAILED
    try:
        outcome = PlaybackOutcome.INTERRUPTED if stop.is_set() else _played(sound, stop)
    finally:
        done(outcome)


def _played(sound: ToneSound, stop: threading.Event) -> PlaybackOutcome:
    track = _track(sound)
    try:
        written = track.write(sound.samples, 0, len(sound.samples))
        if written != len(sound.samples) or track.getState() != _STATE_INITIALIZED:
            return PlaybackOutcome.FAILED
        track.play()
        frames = len(sound.samples) // 2
        deadline = time.monotonic() + sound.seconds + _PATIENCE_S
        while track.getPlaybackHeadPosition() < frames:
            if stop.wait(_LOOK_EVERY_S):
                track.stop()
                return PlaybackOutcome.INTERRUPTED
            if time.monotonic() > deadline:
                return PlaybackOutcome.FAILED
        return PlaybackOutcome.INTERRUPTED if stop.is_set() else PlaybackOutcome.DONE
    finally:
        track.release()


def _track(sound: ToneSound) -> Any:  # noqa: ANN401 (a Java object)
    attributes = (
        autoclass("android.media.AudioAttributes$Builder")()
        .setUsage(_USAGE_MEDIA)
        .setContentType(_CONTENT_TYPE_SONIFICATION)
        .build()
    )
    form = (
        autoclass("android.media.AudioFormat$Builder")()
        .setEncoding(_ENCODING_PCM_16BIT)
        .setSampleRate(sound.rate_hz)
        .setChannelMask(_CHANNEL_OUT_MONO)
        .build()
    )
    return autoclass("android.media.AudioTrack")(
        attributes, form, len(sound.samples), _MODE_STATIC, _NO_SESSION
    )
