"""
The microphone of this machine, by whichever library has it.

miniaudio comes first (it needs nothing of the system), sounddevice is the fallback; on Android
the system's AudioRecord is used through pyjnius. miniaudio keeps "running" when its device is
pulled out, so whoever reads has to watch that samples still come and open it again.
"""

from __future__ import annotations

import contextlib
import queue
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from speech.alsa import hush_alsa
from speech.android import on_android
from speech.hearing.sound import RATE
from speech.hearing.sources import SourceError

if TYPE_CHECKING:
    from collections.abc import Generator

    from speech.hearing.sound import Samples
    from speech.hearing.sources import SoundSource

_PIECE_MS = 40
_MOST_WAITING = 200
"""Pieces kept while nobody reads: eight seconds; older ones are dropped."""
_NOT_A_MICROPHONE = ("discard all samples", "null", "monitor of")
"""Names of capture devices that hear nothing, or hear what is played."""


@dataclass(frozen=True, slots=True)
class Microphones:
    """Whether there is a microphone, and one sentence about it."""

    there: bool
    sentence: str


def microphones() -> Microphones:
    """Look for a microphone without listening to it."""
    if on_android():
        return Microphones(there=True, sentence="Listening to the microphone of this device")
    try:
        chosen = _miniaudio_choice()
        names = [str(chosen["name"])] if chosen is not None else []
    except ImportError:
        names = _sounddevice_names()
    if not names:
        return Microphones(there=False, sentence="There is no microphone here")
    return Microphones(there=True, sentence=f"Listening to the microphone “{names[0]}”")


def _miniaudio_choice() -> dict[str, Any] | None:
    """Return the microphone to open: the one the system is set to, else the first that hears."""
    import miniaudio  # noqa: PLC0415 (not there on every system)

    hush_alsa()

    class Devices(miniaudio.Devices):  # type: ignore[misc]  # it comes without types
        """The devices, with the system's own choice among them, which the library leaves out."""

        def _get_info(self, kind: Any, device: Any) -> dict[str, Any]:  # noqa: ANN401
            return {**super()._get_info(kind, device), "default": bool(device.isDefault)}

    try:
        found = Devices().get_captures()
    except miniaudio.MiniaudioError:
        return None
    hearing = [device for device in found if not _deaf(str(device["name"]))]
    defaults = [device for device in hearing if device.get("default")]
    return next(iter([*defaults, *hearing]), None)


def _sounddevice_names() -> list[str]:
    try:
        import sounddevice  # noqa: PLC0415 (an optional extra)
    except (ImportError, OSError):
        return []
    try:
        found = sounddevice.query_devices()
    except sounddevice.PortAudioError:
        return []
    names = [str(one["name"]) for one in found if one["max_input_channels"] > 0]
    return [name for name in names if not _deaf(name)]


def _deaf(name: str) -> bool:
    return any(word in name.casefold() for word in _NOT_A_MICROPHONE)


def microphone() -> SoundSource:
    """Return the microphone of this machine; opening it tells whether it can be used."""
    if on_android():
        from speech.hearing.android_microphone import AndroidMicrophone  # noqa: PLC0415 (needs Java)

        return AndroidMicrophone()
    try:
        import miniaudio  # noqa: F401, PLC0415 (only asked whether it is there)
    except ImportError:
        return SounddeviceMicrophone()
    return MiniaudioMicrophone()


class _Queued:
    """What the callbacks of the libraries put in and the listener takes out."""

    def __init__(self) -> None:
        self.hears_room = True
        self._pieces: queue.Queue[bytes] = queue.Queue(_MOST_WAITING)

    @property
    def ended(self) -> bool:
        """Whether nothing will come any more: a microphone never ends."""
        return False

    def _put(self, data: bytes) -> None:
        """Leave a piece; the oldest goes when nobody reads. Runs on the library's own thread."""
        while True:
            try:
                self._pieces.put_nowait(data)
            except queue.Full:
                with contextlib.suppress(queue.Empty):
                    self._pieces.get_nowait()
            else:
                return

    def read(self, timeout_s: float) -> Samples | None:
        """Return what has come since, or None if nothing came within `timeout_s`."""
        try:
            pieces = [self._pieces.get(timeout=timeout_s)]
        except queue.Empty:
            return None
        with contextlib.suppress(queue.Empty):
            while True:
                pieces.append(self._pieces.get_nowait())
        samples = np.frombuffer(b"".join(pieces), dtype="<i2")
        return np.asarray(samples, dtype=np.float32) / np.float32(32768)

    def _forget(self) -> None:
        with contextlib.suppress(queue.Empty):
            while True:
                self._pieces.get_nowait()


class MiniaudioMicrophone(_Queued):
    """
    A microphone through miniaudio.

    It is opened by its own id: a sound server moves what listens to "the default" on to another
    device when the microphone is pulled out, perhaps to one that hears what we say ourselves.
    """

    def __init__(self) -> None:
        """Prepare; nothing is opened before `open`."""
        super().__init__()
        self._device: Any = None

    def open(self) -> None:
        """Open the default microphone; SourceError if there is none or it is taken."""
        import miniaudio  # noqa: PLC0415 (not there on every system)

        self.close()
        chosen = _miniaudio_choice()
        if chosen is None:
            raise SourceError("There is no microphone: plug one in, or use keys, touch and typing.")

        def taking() -> Generator[None, bytes, None]:
            while True:
                data = yield
                self._put(bytes(data))

        taker = taking()
        next(taker)
        try:
            self._device = miniaudio.CaptureDevice(
                input_format=miniaudio.SampleFormat.SIGNED16,
                nchannels=1,
                sample_rate=RATE,
                buffersize_msec=_PIECE_MS,
                device_id=chosen["id"],
                app_name="Walesong",
            )
            self._device.start(taker)
        except miniaudio.MiniaudioError as error:
            self.close()
            raise SourceError(f"The microphone cannot be opened ({error}).") from error

    def close(self) -> None:
        """Give the microphone back."""
        if self._device is not None:
            self._device.close()
            self._device = None
        self._forget()


class SounddeviceMicrophone(_Queued):
    """The default capture device through sounddevice, where miniaudio is missing."""

    def __init__(self) -> None:
        """Prepare; nothing is opened before `open`."""
        super().__init__()
        self._stream: Any = None

    def open(self) -> None:
        """Open the default microphone; SourceError if there is none or it is taken."""
        try:
            import sounddevice  # noqa: PLC0415 (an optional extra)
        except (ImportError, OSError) as error:
            raise SourceError(
                "There is no library for the microphone: install the extra `sound`."
            ) from error
        self.close()

        def callback(data: Any, *_: Any) -> None:  # noqa: ANN401 (the library has no types)
            self._put(bytes(data))

        try:
            self._stream = sounddevice.RawInputStream(
                samplerate=RATE,
                channels=1,
                dtype="int16",
                blocksize=RATE * _PIECE_MS // 1000,
                callback=callback,
            )
            self._stream.start()
        except sounddevice.PortAudioError as error:
            self.close()
            raise SourceError(f"The microphone cannot be opened ({error}).") from error

    def close(self) -> None:
        """Give the microphone back."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None
        self._forget()
