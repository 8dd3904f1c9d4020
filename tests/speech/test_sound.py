"""Sound files and rates, against files and resampling made by other libraries."""

from __future__ import annotations

import contextlib
import io
import struct
import tracemalloc
from itertools import pairwise, product

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import resample_poly

from speech.hearing.sound import (
    RATE,
    Resampler,
    Sound,
    SoundError,
    at_pace,
    at_rate,
    for_the_model,
    level_db,
    pcm16,
    read_wav,
    streamed_for_the_model,
)


def tone(rate: int, seconds: float = 0.5, frequency: float = 440.0) -> np.ndarray:
    """Return a sine of half the full scale."""
    time = np.arange(round(rate * seconds)) / rate
    return np.asarray(0.5 * np.sin(2 * np.pi * frequency * time), dtype=np.float32)


def wav(samples: np.ndarray, rate: int, subtype: str = "PCM_16", format_: str = "WAV") -> bytes:
    """Write a sound file as another library does."""
    file = io.BytesIO()
    soundfile.write(file, samples, rate, format=format_, subtype=subtype)
    return file.getvalue()


RATES = (8000, 11025, 16000, 22050, 32000, 44100, 48000)
WIDTHS = ("PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE")


def test_every_plain_wav_is_read(subtests: pytest.Subtests) -> None:
    """Each usual rate, width and header gives the samples that were written (libsndfile wrote)."""
    for rate, subtype, format_ in product(RATES, WIDTHS, ("WAV", "WAVEX")):
        with subtests.test(rate=rate, subtype=subtype, format=format_):
            samples = tone(rate)
            read = read_wav(wav(samples, rate, subtype, format_))
            assert read.rate == rate
            assert read.seconds == pytest.approx(0.5, abs=1 / rate)
            allowed = 0.01 if subtype == "PCM_U8" else 1e-4
            assert np.max(np.abs(read.samples - samples)) < allowed


def test_stereo_is_mixed_down() -> None:
    """A voice on one channel only comes out at half its level, not at double speed."""
    both = np.stack([tone(16000), np.zeros(8000, dtype=np.float32)], axis=1)
    read = read_wav(wav(both, 16000))
    assert len(read.samples) == 8000
    assert np.max(np.abs(read.samples - tone(16000) / 2)) < 1e-3


@pytest.mark.parametrize("rate", [8000, 11025, 22050, 32000, 44100, 48000])
def test_a_tone_keeps_its_pitch_and_place_at_another_rate(rate: int) -> None:
    """At every rate a tone comes out as if it had been made at 16 kHz, sample by sample."""
    made = at_rate(Sound(tone(rate, 1.0, 1000.0), rate))
    assert len(made) == RATE
    assert np.max(np.abs(made - tone(RATE, 1.0, 1000.0))[300:-300]) < 1e-3


@pytest.mark.parametrize("rate", [22050, 44100, 48000])
def test_what_is_too_high_is_taken_out(rate: int) -> None:
    """A tone above half the new rate leaves nothing behind, 60 dB down at least."""
    made = at_rate(Sound(tone(rate, 1.0, 9000.0), rate))
    assert level_db(made[300:-300]) < -66


def test_resampling_agrees_with_another_library() -> None:
    """Noise below 6 kHz comes out as from SciPy's polyphase resampling."""
    dice = np.random.default_rng(3)
    slow = dice.standard_normal(6000).astype(np.float32) * 0.1
    fast = np.asarray(resample_poly(slow, 4, 1), dtype=np.float32)  # 12 kHz to 48 kHz
    ours = at_rate(Sound(fast, 48000))
    theirs = resample_poly(fast, 1, 3)
    assert np.max(np.abs(ours - theirs)[200:-200]) < 0.01


@given(st.lists(st.integers(0, 700), min_size=1, max_size=20), st.sampled_from([8000, 44100]))
def test_pieces_make_the_same_as_the_whole(lengths: list[int], rate: int) -> None:
    """However a stream is cut into pieces, the same samples come out."""
    samples = np.random.default_rng(1).standard_normal(sum(lengths)).astype(np.float32)
    whole = Resampler(rate)
    expected = np.concatenate([whole.feed(samples), whole.flush()])
    cut = Resampler(rate)
    places = np.cumsum([0, *lengths])
    pieces = [cut.feed(samples[a:b]) for a, b in pairwise(places)]
    assert np.allclose(np.concatenate([*pieces, cut.flush()]), expected, atol=1e-6)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "empty"),
        (b"Dear knitter, this is a letter.", "not a WAV file"),
        (wav(tone(16000), 16000, "ULAW"), "compressed"),
        (wav(tone(96000), 96000), "96000 samples a second"),
        (wav(np.zeros((8, 6), dtype=np.float32), 16000), "6 channels"),
        (wav(np.zeros(0, dtype=np.float32), 16000), "no sound"),
        (b"RIFF\x00\x00\x00\x00WAVE", "does not say how"),
        (b"RIFF\x00\x00\x00\x00WAVEfmt \x04\x00\x00\x00abcd", "cut short"),
    ],
)
def test_what_cannot_be_heard_gets_one_sentence(data: bytes, sentence: str) -> None:
    """A file that is no plain WAV with sound in it is refused with the reason."""
    with pytest.raises(SoundError, match=sentence):
        read_wav(data)


def test_a_file_cut_short_is_read_as_far_as_it_goes() -> None:
    """Half a recording is heard by half, an odd last byte does no harm."""
    data = wav(tone(16000), 16000)
    assert len(read_wav(data[: len(data) // 2 + 1]).samples) == pytest.approx(4000, abs=20)


@given(st.binary(max_size=80))
def test_no_bytes_make_the_reader_fail(data: bytes) -> None:
    """Whatever is in a file, it is read or refused with a sentence."""
    head = b"RIFF" + struct.pack("<I", 40) + b"WAVEfmt "
    for candidate in (data, head + data):
        with contextlib.suppress(SoundError):
            assert len(read_wav(candidate).samples) > 0


def test_levels_are_in_decibels() -> None:
    """A full square wave is 0 dB, a sine 3 dB lower, silence the bottom of the scale."""
    assert level_db(np.ones(100, dtype=np.float32)) == pytest.approx(0)
    assert level_db(2 * tone(16000)) == pytest.approx(-3.01, abs=0.05)
    assert level_db(np.zeros(100, dtype=np.float32)) == -120


def test_loud_samples_are_cut_off_not_wrapped() -> None:
    """A sample beyond full scale becomes the loudest one, not its opposite."""
    assert np.frombuffer(pcm16(np.array([2.0, -2.0], dtype=np.float32)), "<i2").tolist() == [
        32767,
        -32767,
    ]


@pytest.mark.parametrize("pace", [0.9, 1.0, 1.1])
def test_a_voice_at_another_pace_is_as_much_longer_and_lower(pace: float) -> None:
    """A second of 1,000 Hz played slower lasts longer, and its pitch falls, by the same factor."""
    made = at_pace(tone(RATE, 1.0, 1000.0), pace)
    assert len(made) == pytest.approx(RATE / pace, abs=2)
    spectrum = np.abs(np.fft.rfft(made))
    assert np.argmax(spectrum) * RATE / len(made) == pytest.approx(1000 * pace, abs=2)


@pytest.mark.parametrize("rate", [8000, 16000, 22050, 44100, 48000])
@pytest.mark.parametrize("channels", [1, 2])
def test_a_stream_gives_what_the_whole_gives(rate: int, channels: int) -> None:
    """Sound that is read piece by piece is, sample for sample, the one that is read at once."""
    spoken = np.random.default_rng(3).standard_normal((rate * 2 + 7, channels)) * 0.2
    data = wav(spoken.astype(np.float32), rate)
    whole = for_the_model(read_wav(data))
    pieces = list(streamed_for_the_model(io.BytesIO(data)))
    assert len(pieces) > 1
    assert max(map(len, pieces)) <= 3 * (1 << 14)
    assert np.max(np.abs(np.concatenate(pieces) - whole)) < 1e-6
    assert len(whole) == round(len(spoken) * RATE / rate)


class Endless(io.RawIOBase):
    """An hour of 16 bit stereo at 48 kHz that nobody has written anywhere."""

    def __init__(self) -> None:
        """Begin with its header."""
        self.size = 3600 * 48000 * 4
        header = struct.pack("<HHIIHH", 1, 2, 48000, 192_000, 4, 16)
        self.head = b"RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00" + header
        self.head += b"data" + struct.pack("<I", self.size)
        self.most = 0

    def read(self, size: int = -1, /) -> bytes:
        """Give what is asked for, and remember the most."""
        if self.head:
            given, self.head = self.head[:size], self.head[size:]
            return given
        self.most = max(self.most, size)
        given = b"\x01" * min(size, self.size)
        self.size -= len(given)
        return given


def test_an_hour_is_never_held() -> None:
    """Of an hour at 48 kHz in stereo no more than a piece is asked for at any time."""
    file = Endless()
    pieces = streamed_for_the_model(file)  # type: ignore[arg-type]
    tracemalloc.start()
    given = sum(len(next(pieces)) for _ in range(200))
    held = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert given > 60 * RATE
    assert file.most <= 1 << 16
    assert held < 30_000_000


def test_a_minute_is_resampled_in_little_memory() -> None:
    """Changing the rate of a minute takes a few times the minute, not a window for each sample."""
    minute = Sound(np.zeros(60 * 44100, dtype=np.float32), 44100)
    tracemalloc.start()
    made = at_rate(minute)
    held = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(made) == 60 * RATE
    assert held < 60_000_000


@pytest.mark.parametrize("subtype", ["FLOAT", "DOUBLE"])
def test_float_samples_beyond_the_range_are_cut_off(subtype: str) -> None:
    """Samples louder than any sound, endless ones and those that are no number do no harm."""
    bits, kind = (32, "<f4") if subtype == "FLOAT" else (64, "<f8")
    body = np.array([1e30, -1e30, np.inf, -np.inf, np.nan, 0.5], dtype=kind).tobytes()
    if subtype == "DOUBLE":
        body += np.array([1e300, -1.7e308], dtype=kind).tobytes()
    header = struct.pack("<HHIIHH", 3, 1, 16000, 16000 * bits // 8, bits // 8, bits)
    data = b"RIFF\0\0\0\0WAVEfmt " + struct.pack("<I", 16) + header + b"data\0\0\0\0" + body
    samples = read_wav(data).samples
    assert samples[:6].tolist() == [1, -1, 1, -1, 0, 0.5]
    assert set(samples[6:].tolist()) <= {1, -1}
