"""
Makes the three tones in assets/tones from their melodies: `python -m house.make_tones FOLDER`.

Every stroke is a sine with a little of its octave, struck softly and dying away, as of a small
wooden bar. The same melodies always give the same bytes.
"""

from __future__ import annotations

import io
import sys
import wave
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from engine.replies import Tone
from speech.speaking.tones import MELODIES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from speech.speaking.tones import Beat

RATE_HZ = 44_100
PEAK = 0.25
"""Of full scale, 12 dB below it: soft beside a voice at full scale."""

_ATTACK_S = 0.006
_RELEASE_S = 0.012
_OCTAVE = 0.18
_DECAY = 2.2
"""How many times over a stroke falls by a factor e before it ends."""


def stroke(beat: Beat) -> NDArray[np.float64]:
    """Return one stroke without its rest: samples between -1 and 1."""
    count = round(beat.length_s * RATE_HZ)
    time = np.arange(count) / RATE_HZ
    angle = 2 * np.pi * beat.pitch_hz * time
    sound: NDArray[np.float64] = np.sin(angle) + _OCTAVE * np.sin(2 * angle)
    sound *= np.exp(-_DECAY * time / beat.length_s)
    attack, release = round(_ATTACK_S * RATE_HZ), round(_RELEASE_S * RATE_HZ)
    # Raised cosines: an edge would click, and a click sounds like every other tone.
    sound[:attack] *= 0.5 - 0.5 * np.cos(np.pi * np.arange(attack) / attack)
    sound[-release:] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(release) / release)
    return sound


def melody(tone: Tone) -> NDArray[np.float64]:
    """Return a whole tone: samples with the common peak."""
    parts: list[NDArray[np.float64]] = []
    for beat in MELODIES[tone]:
        parts += [np.zeros(round(beat.rest_s * RATE_HZ)), stroke(beat)]
    sound = np.concatenate(parts)
    peak: float = np.abs(sound).max()
    return PEAK / peak * sound


def wav(tone: Tone) -> bytes:
    """Return a whole tone as a WAV file: mono, 16 bits."""
    file = io.BytesIO()
    with wave.open(file, "wb") as recording:
        recording.setnchannels(1)
        recording.setsampwidth(2)
        recording.setframerate(RATE_HZ)
        recording.writeframes(np.round(melody(tone) * 32767).astype("<i2").tobytes())
    return file.getvalue()


def main() -> None:
    """Write the three files into the folder that the command line names."""
    folder = Path(sys.argv[1])
    for tone in Tone:
        (folder / f"{tone}.wav").write_bytes(wav(tone))


if __name__ == "__main__":
    main()
