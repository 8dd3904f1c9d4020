"""The microphone of an Android device, by AudioRecord through pyjnius; unproven on a phone."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import numpy as np

from speech import android
from speech.hearing.sound import RATE
from speech.hearing.sources import NotAllowedError

if TYPE_CHECKING:
    from speech.hearing.sound import Samples

# android.media constants
_VOICE_RECOGNITION = 6
_CHANNEL_IN_MONO = 16
_ENCODING_PCM_16BIT = 2
_STATE_INITIALIZED = 1
_LEAST_BUFFER = 12_800
_PIECE_BYTES = RATE * 2 * 40 // 1000

_MAY_IT = (
    "To hear you, Walesong needs the microphone; what it hears stays on this device."
    " Allow it when asked, or in the system's settings. Keys and touch work without it."
)
_TAKEN = (
    "Another program has the microphone; Walesong listens again as soon as it is free."
    " Keys and touch work meanwhile."
)


class AndroidMicrophone:
    """Reads 16-bit mono sound from AudioRecord; `read` waits for 40 ms of it."""

    def __init__(self, record_class: Any = None) -> None:  # noqa: ANN401 (a Java class has no type)
        """Prepare; `record_class` stands in for android.media.AudioRecord in tests."""
        self.hears_room = True
        self._class = record_class
        self._record: Any = None
        self._asked = False

    @property
    def ended(self) -> bool:
        """Whether nothing will come any more: a microphone never ends."""
        return False

    def open(self) -> None:
        """
        Open it; NotAllowedError while another program has it, or until she allows it.

        The first time she is asked whether it may be opened.
        """
        self.close()
        if self._class is None:
            self._class = self._allowed_class()
        least = self._class.getMinBufferSize(RATE, _CHANNEL_IN_MONO, _ENCODING_PCM_16BIT)
        record = self._class(
            _VOICE_RECOGNITION,
            RATE,
            _CHANNEL_IN_MONO,
            _ENCODING_PCM_16BIT,
            max(least, _LEAST_BUFFER),
        )
        if record.getState() != _STATE_INITIALIZED:
            record.release()
            raise NotAllowedError(_TAKEN)
        record.startRecording()
        self._record = record

    def _allowed_class(self) -> Any:  # noqa: ANN401 (a Java class)
        from jnius import autoclass  # noqa: PLC0415 (only on Android)

        if not android.allowed(android.RECORD_AUDIO):
            if not self._asked:
                self._asked = True
                android.ask_for(android.RECORD_AUDIO)
            raise NotAllowedError(_MAY_IT)
        return autoclass("android.media.AudioRecord")

    def read(self, timeout_s: float) -> Samples | None:
        """Return the next 40 ms; None after `timeout_s` when the system gives none."""
        if self._record is None:
            return None
        buffer = bytearray(_PIECE_BYTES)
        count = self._record.read(buffer, 0, len(buffer))
        if count <= 0:
            time.sleep(timeout_s)  # the system says so at once, and would be asked again at once
            return None
        if not any(buffer) and self._silenced():
            return None
        samples = np.frombuffer(bytes(buffer[:count]), dtype="<i2")
        return np.asarray(samples, dtype=np.float32) / np.float32(32768)

    def _silenced(self) -> bool:
        """
        Whether another program (or a telephone call) is given the sound in our place.

        Android then hands out nothing but zeros. From level 29 on it can be asked; a quiet room
        alone is never taken for it.
        """
        active = getattr(self._record, "getActiveRecordingConfiguration", None)
        configuration = active() if active is not None else None
        return configuration is not None and bool(configuration.isClientSilenced())

    def close(self) -> None:
        """Give the microphone back."""
        if self._record is not None:
            self._record.stop()
            self._record.release()
            self._record = None
