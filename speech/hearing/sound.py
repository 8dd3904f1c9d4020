"""Sound as numbers: reading WAV files, mixing down to one channel, changing the rate.

Everything behind this module is mono float32 between -1 and 1 at `RATE`, the rate of the speech
model. Nothing here guesses: a rate that is not the true one makes speech unintelligible.
"""

from __future__ import annotations

import io
import math
import struct
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, BinaryIO, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE = 16000
"""Samples a second of all sound inside this room."""
LOWEST_RATE, HIGHEST_RATE = 8000, 48000
SILENCE_DB = -120.0
"""What digital silence counts as."""

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_READABLE = {(_PCM, 8), (_PCM, 16), (_PCM, 24), (_PCM, 32), (_FLOAT, 32), (_FLOAT, 64)}
_MOST_CHANNELS = 2
_MOST_CHUNKS = 1000
_LONGEST_FORMAT = 4096
_PIECE_FRAMES = 1 << 14
"""So much of a file is held at once: a third of a second at 48 kHz."""
_GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")
"""The fixed end of every sub-format in an extensible header (Microsoft, WAVEFORMATEXTENSIBLE)."""


class SoundError(ValueError):
    """A file that cannot be listened to; the sentence says why."""


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Mono samples (float32, -1 to 1) and how many of them make a second."""

    samples: Samples
    rate: int

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return len(self.samples) / self.rate


@dataclass(frozen=True, slots=True)
class _Format:
    code: int
    channels: int
    rate: int
    bits: int


def read_wav(data: bytes) -> Sound:
    """
    Read a short WAV file of 8 to 48 kHz, mono or stereo, in 8, 16, 24 or 32 bit PCM or float.

    Stereo is mixed down. A file that was cut short is read as far as it goes. SoundError with one
    sentence if it is not such a file or has no sound in it.
    """
    rate, pieces = _opened(io.BytesIO(data))
    return Sound(np.concatenate(list(pieces)), rate)


def streamed_for_the_model(file: BinaryIO) -> Iterator[Samples]:
    """
    Return the sound of a WAV file as `for_the_model` gives it, piece by piece.

    However long the file is, only some seconds of it are held. It is read on to the first sound at
    once, so that SoundError comes from here and not from the pieces.
    """
    rate, pieces = _opened(file)
    return _at_the_rate_of_the_model(rate, pieces)


def _opened(file: BinaryIO) -> tuple[int, Iterator[Samples]]:
    """Return the rate of a WAV file and its samples in pieces, of which there is at least one."""
    layout, left = _read_header(file)
    pieces = _read_pieces(file, layout, left)
    first = next(pieces, None)
    if first is None:
        raise SoundError("There is no sound in the WAV file.")
    return layout.rate, chain([first], pieces)


def _read_header(file: BinaryIO) -> tuple[_Format, int | None]:
    """Read up to the first sample; return the format and the bytes of sound (None: to the end)."""
    start = file.read(12)
    if not start:
        raise SoundError("The file is empty.")
    if start[:4] not in {b"RIFF", b"RF64"} or start[8:12] != b"WAVE":
        raise SoundError("This is not a WAV file, whatever its name says.")
    layout: _Format | None = None
    for _ in range(_MOST_CHUNKS):
        head = file.read(8)
        if len(head) < 8:  # noqa: PLR2004 (the head of a chunk)
            break
        kind, size = head[:4], struct.unpack("<I", head[4:])[0]
        if kind == b"data":
            if layout is None:
                break
            return layout, None if size in {0, 0xFFFFFFFF} else size
        content = file.read(min(size, _LONGEST_FORMAT)) if kind == b"fmt " else b""
        if kind == b"fmt ":
            layout = _read_format(content)
        _skip(file, size + size % 2 - len(content))
    if layout is None:
        raise SoundError("The WAV file does not say how its sound is stored.")
    raise SoundError("There is no sound in the WAV file.")


def _skip(file: BinaryIO, count: int) -> None:
    while count > 0 and (read := len(file.read(min(count, _PIECE_FRAMES)))):
        count -= read


def _read_pieces(file: BinaryIO, layout: _Format, left: int | None) -> Iterator[Samples]:
    """Yield the samples that follow; a frame that is cut off at the end is none."""
    frame = layout.bits // 8 * layout.channels
    rest = b""
    while left is None or left > 0:
        wanted = frame * _PIECE_FRAMES if left is None else min(frame * _PIECE_FRAMES, left)
        read = file.read(wanted)
        if not read:
            return
        left = None if left is None else left - len(read)
        rest += read
        whole = len(rest) // frame * frame
        if whole:
            yield _decode(rest[:whole], layout)
        rest = rest[whole:]


def _read_format(content: bytes) -> _Format:
    if len(content) < 16:  # noqa: PLR2004 (the least that the format allows)
        raise SoundError("The header of the WAV file is cut short.")
    code, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", content)
    if code == _EXTENSIBLE:
        if len(content) < 40 or content[26:40] != _GUID_TAIL:  # noqa: PLR2004 (its size)
            raise SoundError("The WAV file is packed in a way that cannot be read here.")
        code = struct.unpack_from("<H", content, 24)[0]
    if (code, bits) not in _READABLE:
        raise SoundError("The WAV file is compressed; it has to be plain PCM or float.")
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise SoundError(
            f"The WAV file has {rate} samples a second; "
            f"{LOWEST_RATE} to {HIGHEST_RATE} can be heard."
        )
    if not 1 <= channels <= _MOST_CHANNELS:
        raise SoundError(f"The WAV file has {channels} channels; one or two can be heard.")
    return _Format(code, channels, rate, bits)


def _decode(body: bytes, layout: _Format) -> Samples:
    width = layout.bits // 8
    values: Samples
    if layout.code == _FLOAT:
        kind = "<f4" if layout.bits == 32 else "<f8"  # noqa: PLR2004 (bits)
        # Cut off before it is made narrower: beyond the range there is no float32 for some.
        values = np.nan_to_num(np.clip(np.frombuffer(body, dtype=kind), -1, 1)).astype(np.float32)
    elif width == 1:
        values = (np.frombuffer(body, dtype=np.uint8).astype(np.float32) - 128) / np.float32(128)
    elif width == 3:  # noqa: PLR2004 (bytes)
        octets = np.frombuffer(body, dtype=np.uint8).reshape(-1, 3)
        wide = np.zeros((len(octets), 4), dtype=np.uint8)
        wide[:, 1:] = octets  # into the upper three bytes, which keeps the sign
        values = wide.view("<i4")[:, 0].astype(np.float32) / np.float32(2**31)
    else:
        kind = "<i2" if width == 2 else "<i4"  # noqa: PLR2004 (bytes)
        values = np.frombuffer(body, dtype=kind).astype(np.float32)
        values /= np.float32(2 ** (layout.bits - 1))
    mixed = values.reshape(-1, layout.channels).mean(axis=1, dtype=np.float32)
    return np.asarray(np.clip(mixed, -1, 1), dtype=np.float32)


# --- rate ----------------------------------------------------------------------------------------

_ZERO_CROSSINGS = 24
_KAISER_BETA = 9.0  # about 90 dB of attenuation outside the band (A. V. Oppenheim, R. W. Schafer)


class Resampler:
    """
    Changes the rate of a stream, piece by piece, with one windowed-sinc filter in polyphase form.

    The output is delayed by half the filter (`_ZERO_CROSSINGS` samples of the slower rate, 1.5 ms).
    """

    def __init__(self, source: int, target: int = RATE) -> None:
        """Prepare for a `source` rate; both in samples a second, both positive."""
        if source <= 0 or target <= 0:
            raise ValueError(f"A rate has to be positive, not {source} or {target}.")
        shared = math.gcd(source, target)
        self._up, self._down = target // shared, source // shared
        widest = max(self._up, self._down)
        half = _ZERO_CROSSINGS * widest
        taps = -(-(2 * half + 1) // self._up)  # per phase, rounded up
        filtered = np.zeros(taps * self._up, dtype=np.float32)
        for start in range(0, 2 * half + 1, _PIECE_FRAMES):  # for an odd rate it is long
            place = np.arange(start, min(start + _PIECE_FRAMES, 2 * half + 1)) - half
            window = np.i0(_KAISER_BETA * np.sqrt(1 - (place / half) ** 2)) / np.i0(_KAISER_BETA)
            filtered[start : start + len(place)] = np.sinc(place / widest) * window
        filtered *= np.float32(self._up / widest)
        self._phases = filtered.reshape(taps, self._up).T[:, ::-1]
        self._taps = taps
        self._half = half
        self._held: Samples = np.zeros(taps - 1, dtype=np.float32)
        # The place of the next output, in steps of 1/up of an input sample; it begins so that the
        # delay is a whole number of output samples.
        self._next = half % self._down

    @property
    def delay(self) -> int:
        """By how many output samples the output lags behind."""
        return 0 if self._up == self._down else self._half // self._down

    def feed(self, samples: Samples) -> Samples:
        """Return as much output as these samples allow."""
        if self._up == self._down:
            return samples
        if len(samples) > _PIECE_FRAMES:  # every output costs a window of its own meanwhile
            starts = range(0, len(samples), _PIECE_FRAMES)
            cut = [self.feed(samples[start : start + _PIECE_FRAMES]) for start in starts]
            return np.concatenate(cut)
        held = np.concatenate([self._held, samples])
        count = max(0, -(-(len(samples) * self._up - self._next) // self._down))
        places = self._next + self._down * np.arange(count)
        self._next += self._down * count - len(samples) * self._up
        self._held = held[len(held) - (self._taps - 1) :]
        if count == 0:
            return np.zeros(0, dtype=np.float32)
        windows = np.lib.stride_tricks.sliding_window_view(held, self._taps)
        made = np.einsum("ij,ij->i", windows[places // self._up], self._phases[places % self._up])
        return np.asarray(made, dtype=np.float32)

    def flush(self) -> Samples:
        """Return what the filter still holds; the stream is over."""
        if self._up == self._down:
            return np.zeros(0, dtype=np.float32)
        return self.feed(np.zeros(-(-self._half // self._up), dtype=np.float32))


def at_rate(sound: Sound, rate: int = RATE) -> Samples:
    """Return a whole sound at another rate, as long as it was and not delayed."""
    if sound.rate == rate:
        return sound.samples
    resampler = Resampler(sound.rate, rate)
    made = np.concatenate([resampler.feed(sound.samples), resampler.flush()])
    length = round(len(sound.samples) * rate / sound.rate)
    return made[resampler.delay : resampler.delay + length]


AIR_DB: Final = -65.0
"""How loud the air is that is laid over what a low rate cuts off, in dB below full scale."""
_AIR_TILE = 1 << 15  # two seconds, repeated


def for_the_model(sound: Sound) -> Samples:
    """
    Return a whole sound as the speech model can hear it: at `RATE`, with air above its own band.

    A recording at 8 kHz has nothing at all above 4 kHz, which no microphone of the model ever
    gave: of four "yes" in such a recording two were heard as "no". With a breath of noise there,
    and only there, all four are right, and a quiet recording loses nothing.
    """
    if sound.rate == RATE:
        return sound.samples
    return np.concatenate(list(_at_the_rate_of_the_model(sound.rate, [sound.samples])))


def _at_the_rate_of_the_model(rate: int, pieces: Iterable[Samples]) -> Iterator[Samples]:
    """Yield a sound of this rate at `RATE`, as long as it was and not delayed."""
    air = _air_above(rate) if rate < RATE else None
    resampler = Resampler(rate)
    taken, given, skipped = 0, 0, resampler.delay
    for piece in chain(pieces, [None]):
        taken += len(piece) if piece is not None else 0
        made = resampler.feed(piece) if piece is not None else resampler.flush()
        late, skipped = made[skipped:], max(skipped - len(made), 0)
        late = late[: round(taken * RATE / rate) - given]
        if air is not None:
            places = np.arange(given, given + len(late))
            late = np.asarray(late + np.take(air, places, mode="wrap"), dtype=np.float32)
        given += len(late)
        if len(late):
            yield late


def _air_above(rate: int) -> NDArray[np.float64]:
    """Return two seconds of noise that has nothing below half the rate."""
    dice = np.random.default_rng(0)
    empty = np.fft.rfftfreq(_AIR_TILE, 1 / RATE) > rate / 2
    spectrum = np.where(empty, np.exp(2j * np.pi * dice.random(len(empty))), 0)
    tile = np.fft.irfft(spectrum)
    tile *= 10 ** (AIR_DB / 20) / np.sqrt(np.mean(np.square(tile)))
    return np.asarray(tile, dtype=np.float64)


# --- level ---------------------------------------------------------------------------------------


def level_db(samples: Samples) -> float:
    """Return the level in dB below full scale (root mean square; 0 is the loudest square wave)."""
    if len(samples) == 0:
        return SILENCE_DB
    power = float(np.mean(np.square(samples, dtype=np.float32)))
    return max(SILENCE_DB, 10 * math.log10(power)) if power > 0 else SILENCE_DB


def at_pace(samples: Samples, pace: float) -> Samples:
    """Return sound played so much faster (slower below 1), its pitch with it."""
    at = np.arange(0.0, len(samples) - 1, pace)
    return np.asarray(np.interp(at, np.arange(len(samples)), samples), dtype=np.float32)


def pcm16(samples: Samples) -> bytes:
    """Return samples as 16 bit little-endian PCM, louder ones cut off at full scale."""
    return np.asarray(np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()
