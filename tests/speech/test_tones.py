"""The three tones are told apart by pitch and by rhythm, also from under a heap of wool."""

from __future__ import annotations

import io
import wave
from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile
from scipy import ndimage, signal

from app import resources
from engine.replies import Tone
from house.make_tones import PEAK, RATE_HZ, melody, wav
from speech.speaking.tones import MELODIES, ToneFileError, read_tones, tone_seconds

if TYPE_CHECKING:
    from numpy.typing import NDArray

FILES = {tone: resources.data(f"assets/tones/{tone}.wav") for tone in Tone}


def shipped(tone: Tone) -> NDArray[np.float64]:
    """Return a tone that is shipped, read by another library."""
    samples, rate = soundfile.read(io.BytesIO(FILES[tone]))
    assert rate == RATE_HZ
    return np.asarray(samples, dtype=np.float64)


def under_wool(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sound as it comes out of a bag of yarn: dull, weak and in the noise of a room.

    Wool is taken for a low-pass of the second order at 700 Hz with 20 dB of loss; the room for
    white noise 50 dB below full scale. Common practice, no source.
    """
    padded = np.concatenate([np.zeros(RATE_HZ // 5), sound, np.zeros(RATE_HZ // 5)])
    dull = signal.sosfilt(signal.butter(2, 700, fs=RATE_HZ, output="sos"), padded)
    noise = np.random.default_rng(7).normal(scale=10 ** (-50 / 20), size=len(padded))
    return np.asarray(0.1 * dull + noise)


def strokes(sound: NDArray[np.float64]) -> list[tuple[float, float]]:
    """Return what can be made out: (beginning in seconds, pitch in Hz) of each stroke."""
    band = signal.butter(2, (350, 1400), btype="band", fs=RATE_HZ, output="sos")
    heard = signal.sosfiltfilt(band, sound)
    window = RATE_HZ // 50
    level = np.sqrt(np.convolve(heard**2, np.ones(window) / window, mode="same"))
    loud = level > 0.35 * level.max()
    loud = ndimage.binary_opening(loud, np.ones(RATE_HZ // 50))  # what is shorter is no stroke
    edges = np.flatnonzero(np.diff(np.concatenate([[False], loud, [False]]).astype(int)))
    found = []
    for begin, end in edges.reshape(-1, 2):
        spectrum = np.abs(np.fft.rfft(heard[begin:end], 4 * RATE_HZ))
        found.append((begin / RATE_HZ, float(spectrum.argmax()) / 4))
    return found


@pytest.mark.parametrize("tone", list(Tone))
@pytest.mark.parametrize("muffled", [False, True], ids=["near", "under wool"])
def test_rhythm_and_pitch_come_through(tone: Tone, *, muffled: bool) -> None:
    """From the sound alone every stroke can be counted and its pitch told."""
    sound = shipped(tone)
    made_out = strokes(under_wool(sound) if muffled else sound)
    assert len(made_out) == len(MELODIES[tone])
    for (_, pitch), beat in zip(made_out, MELODIES[tone], strict=True):
        assert pitch == pytest.approx(beat.pitch_hz, rel=0.06)


@pytest.mark.parametrize(("one", "other"), list(permutations(Tone, 2)))
def test_any_two_differ_in_rhythm_and_in_pitch(one: Tone, other: Tone) -> None:
    """The rhythm alone, or only whether it rises or falls, tells any two apart."""
    assert len(MELODIES[one]) != len(MELODIES[other])
    assert _course(one) != _course(other)


def _course(tone: Tone) -> int:
    """Return 1 for a rising tone, -1 for a falling one, 0 for a level one."""
    pitches = [beat.pitch_hz for beat in MELODIES[tone]]
    return (pitches[-1] > pitches[0]) - (pitches[-1] < pitches[0])


@pytest.mark.parametrize("tone", list(Tone))
def test_tones_are_short_and_soft_and_do_not_click(tone: Tone) -> None:
    """At most half a second, 12 dB below full scale, beginning and ending at rest."""
    sound = shipped(tone)
    assert tone_seconds(tone) <= 0.5
    assert np.abs(sound).max() == pytest.approx(PEAK, abs=1e-3)
    assert np.abs(sound[[0, -1]]).max() < 1e-3
    assert np.abs(np.diff(sound)).max() < 0.06


@pytest.mark.parametrize("tone", list(Tone))
def test_the_files_are_what_the_program_makes(tone: Tone) -> None:
    """Anybody can make the files again (to the last bit but one: sines differ by machine)."""
    with wave.open(io.BytesIO(wav(tone))) as made, wave.open(io.BytesIO(FILES[tone])) as kept:
        assert made.getparams() == kept.getparams()
    assert np.abs(melody(tone) - shipped(tone)).max() < 2 / 32768


def test_the_reader_agrees_with_another_library() -> None:
    """What we read of the files is what soundfile reads."""
    for tone, sound in read_tones(FILES).items():
        ours = np.frombuffer(sound.samples, "<i2") / 32768
        assert sound.rate_hz == RATE_HZ
        assert sound.seconds == pytest.approx(tone_seconds(tone), abs=1e-3)
        assert (ours == shipped(tone)).all()


def stereo() -> bytes:
    """Return a WAV file with two channels."""
    file = io.BytesIO()
    soundfile.write(file, np.zeros((10, 2)), RATE_HZ, format="WAV", subtype="PCM_16")
    return file.getvalue()


def slow() -> bytes:
    """Return a WAV file at another rate."""
    file = io.BytesIO()
    soundfile.write(file, np.zeros(10), 8000, format="WAV", subtype="PCM_16")
    return file.getvalue()


@pytest.mark.parametrize(
    ("files", "sentence"),
    [
        ({Tone.HEARD: FILES[Tone.HEARD]}, "There is no sound for the tone 'not_heard'."),
        ({**FILES, Tone.HEARD: b"no sound"}, "The tone 'heard' is not a WAV file"),
        ({**FILES, Tone.HEARD: b""}, "The tone 'heard' is not a WAV file"),
        ({**FILES, Tone.HEARD: stereo()}, "The tone 'heard' is not mono with 16 bits."),
        ({**FILES, Tone.HEARD: slow()}, "The three tones are recorded at different rates."),
    ],
    ids=["missing", "text", "empty", "stereo", "another rate"],
)
def test_a_wrong_file_is_one_sentence(files: dict[Tone, bytes], sentence: str) -> None:
    """Whatever is wrong with the files is told in one sentence that names the tone."""
    with pytest.raises(ToneFileError, match=sentence):
        read_tones(files)
