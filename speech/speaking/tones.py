"""
The three tones: how they sound and feel, and their recordings.

They differ in rhythm and in pitch, so that one of the two is enough: through wool the higher
partials are lost and the rhythm stays, beside a running tap it is the other way round. The same
rhythm is what a telephone vibrates. All pitches lie between 400 and 1200 Hz: low enough to pass
through wool, high enough for the loudspeaker of a phone (common practice, no source).
"""

from __future__ import annotations

import io
import wave
from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.replies import Tone

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Beat:
    """One stroke of a tone: after `rest_s` of silence, `length_s` at `pitch_hz`."""

    rest_s: float
    length_s: float
    pitch_hz: float


MELODIES: Mapping[Tone, tuple[Beat, ...]] = {
    # A tick, like one needle on the other: it is heard a hundred times an evening.
    Tone.HEARD: (Beat(0.0, 0.07, 660.0),),
    # Two strokes falling, as a voice does that gives up.
    Tone.NOT_HEARD: (Beat(0.0, 0.12, 560.0), Beat(0.05, 0.16, 420.0)),
    # Three strokes rising: look up, something comes.
    Tone.NEXT_DIFFERS: (
        Beat(0.0, 0.09, 620.0),
        Beat(0.06, 0.09, 830.0),
        Beat(0.06, 0.14, 1100.0),
    ),
}


def tone_seconds(tone: Tone) -> float:
    """Return how many seconds `tone` lasts."""
    return sum(beat.rest_s + beat.length_s for beat in MELODIES[tone])


@dataclass(frozen=True, slots=True)
class ToneSound:
    """One tone as sound: mono, 16-bit little-endian samples, `rate_hz` of them in a second."""

    samples: bytes
    rate_hz: int

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return len(self.samples) / 2 / self.rate_hz


class ToneFileError(ValueError):
    """A recording of a tone cannot be used; the sentence says which and why."""


def read_tones(files: Mapping[Tone, bytes]) -> dict[Tone, ToneSound]:
    """
    Read the three tones from the bytes of WAV files: mono, 16 bits, all at the same rate.

    Raises ToneFileError if one is missing, is of another kind, or is not a WAV file.
    """
    missing = [tone.value for tone in Tone if tone not in files]
    if missing:
        raise ToneFileError(f"There is no sound for the tone '{missing[0]}'.")
    sounds = {tone: _read(tone, files[tone]) for tone in Tone}
    if len({sound.rate_hz for sound in sounds.values()}) != 1:
        raise ToneFileError("The three tones are recorded at different rates.")
    return sounds


def _read(tone: Tone, file: bytes) -> ToneSound:
    try:
        with wave.open(io.BytesIO(file)) as recording:
            if (recording.getnchannels(), recording.getsampwidth()) != (1, 2):
                raise ToneFileError(f"The tone '{tone}' is not mono with 16 bits.")
            return ToneSound(recording.readframes(recording.getnframes()), recording.getframerate())
    except (wave.Error, EOFError) as error:
        raise ToneFileError(f"The tone '{tone}' is not a WAV file.") from error
