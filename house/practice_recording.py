"""Make the practice recordings anew from their scripts, with free synthetic voices.

    python -m house.practice_recording

Needs the program flite (Carnegie Mellon University, a free licence; see the note beside the
recording). The voices of the others are a little farther away: quieter by 6 dB. A little noise of a
room is laid under everything, always the same, so that the recording can be made again exactly.
A script may say the `pause` after each line in seconds, and its `bits`: 8 to keep the file small.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import tomllib
import wave
from pathlib import Path
from typing import Final

import numpy as np

_FOLDER: Final = Path(__file__).resolve().parent.parent / "assets" / "practice"
_RATE: Final = 16_000
_PAUSE_S: Final = 1.6
_KNITTER_RMS: Final = 0.08
_OTHERS_DB: Final = -6.0
_ROOM_RMS: Final = 0.0006
_SMALL_BITS: Final = 8
_LOUDER: Final = 2.2
"""Eight bits are used to the full; the loudest peaks are cut, as they are by a microphone."""


def spoken(voice: str, says: str) -> np.ndarray:
    """Return a line as samples in -1..1 at 16 kHz, spoken by a flite voice."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "line.wav"
        subprocess.run(["flite", "-voice", voice, "-t", says, "-o", str(path)], check=True)
        with wave.open(str(path)) as file:
            if (file.getframerate(), file.getnchannels()) != (_RATE, 1):
                raise ValueError(f"flite's voice {voice} does not speak at {_RATE} Hz, mono.")
            samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
    return samples.astype(np.float64) / 32768


def recording(script: dict[str, object]) -> np.ndarray:
    """Return the whole recording as 16-bit samples."""
    voices, lines = script["voices"], script["line"]
    if not isinstance(voices, dict) or not isinstance(lines, list):
        raise TypeError("The script needs a table of voices and a list of lines.")
    pieces = [np.zeros(int(_RATE * 1.0))]
    for line in lines:
        samples = spoken(voices[line["voice"]], line["says"])
        level = _KNITTER_RMS * (1.0 if line["voice"] == "knitter" else 10 ** (_OTHERS_DB / 20))
        pieces.append(samples * level / max(float(np.sqrt(np.mean(samples**2))), 1e-9))
        pieces.append(
            np.zeros(int(_RATE * float(line.get("pause", script.get("pause", _PAUSE_S)))))
        )
    whole = np.concatenate(pieces)
    whole += np.random.default_rng(7).normal(0.0, _ROOM_RMS, len(whole))
    return (np.clip(whole, -1.0, 1.0) * 32767).astype("<i2")


def eight_bit(samples: np.ndarray) -> bytes:
    """Return 16-bit samples as a WAV file has them in 8 bits."""
    coarse = np.round(samples.astype(np.float64) / 256 * _LOUDER) + 128
    return bytes(np.clip(coarse, 0, 255).astype(np.uint8).tobytes())


def main() -> int:
    """Write every recording beside its script."""
    for path in sorted(_FOLDER.glob("*.toml")):
        script = tomllib.loads(path.read_text(encoding="utf-8"))
        samples = recording(script)
        small = script.get("bits") == _SMALL_BITS
        with wave.open(str(path.with_suffix(".wav")), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(1 if small else 2)
            file.setframerate(_RATE)
            file.writeframes(eight_bit(samples) if small else samples.tobytes())
        print(f"{path.stem}: {len(samples) / _RATE:.1f} s of practice recording written.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
