"""Noises of the speech benchmark, each at a true signal-to-noise ratio and drawn by a seed.

"kitchen" is mixed from hum, water and knocks; "real" is a recording of a kitchen, if the variable
`WALESONG_KITCHEN` names one (Ogg or WAV, 16 kHz, mono). The mixed one is far too kind.

Ratios are between the level of the loud parts of speech (`voices.SPEECH_RMS`) and that of the
noise over its whole length (of talk: over its loud parts).
"""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
from scipy.signal import lfilter

from bench.voices import RATE, SPEECH_RMS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

LEAD_S, TAIL_S = 1.5, 1.2
"""Noise before and after each sentence."""
ROOM_RMS = SPEECH_RMS * 10 ** (-45 / 20)
"""A quiet room is never silent: 45 dB below the voice."""


def pink(length: int, dice: np.random.Generator) -> Sound:
    """Noise with a power that falls by 3 dB per octave (Kellet's filter)."""
    b = [0.049922035, -0.095993537, 0.050612699, -0.004408786]
    a = [1, -2.494956002, 2.017265875, -0.522189400]
    raw = lfilter(b, a, dice.standard_normal(length + RATE))[RATE:]
    return _unit(raw)


def white(length: int, dice: np.random.Generator) -> Sound:
    """Noise with the same power at every frequency."""
    return _unit(dice.standard_normal(length))


def kitchen(length: int, dice: np.random.Generator) -> Sound:
    """Mix a running fan (hum with harmonics), water, and now and then something put down."""
    time = np.arange(length) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * k * time + dice.uniform(0, 6)) / k for k in (1, 2, 3, 4, 6))
    sound = 0.4 * _unit(np.asarray(hum)) + 0.5 * pink(length, dice) + 0.25 * white(length, dice)
    for _ in range(dice.poisson(length / RATE * 0.7)):
        at = int(dice.integers(0, length))
        ring = np.arange(min(RATE // 4, length - at)) / RATE
        knock = sum(
            np.sin(2 * np.pi * f * ring) * np.exp(-ring * dice.uniform(25, 70))
            for f in dice.uniform(300, 5000, 6)
        )
        sound[at : at + len(ring)] += np.asarray(knock * dice.uniform(0.5, 2), dtype=np.float32)
    return _unit(sound)


def real_kitchen() -> Path | None:
    """Return the recording of a kitchen that is named, if one is."""
    named = os.environ.get("WALESONG_KITCHEN")
    return Path(named) if named else None


def room_noise(length: int, dice: np.random.Generator, path: Path, *, apart: bool = False) -> Sound:
    """Cut anywhere out of a recording of noise; its second half is held apart, as with talk."""
    whole = recorded(path)
    half = len(whole) // 2
    part = whole[half:] if apart else whole[:half]
    at = int(dice.integers(0, len(part)))
    return _unit(np.take(part, np.arange(at, at + length), mode="wrap"))


@cache
def recorded(path: Path) -> Sound:
    """Return a recording at `voices.RATE`, mono; it stays in memory."""
    samples, rate = soundfile.read(path, dtype="float32")
    assert rate == RATE
    return np.asarray(samples, dtype=np.float32)


def talk(
    length: int, dice: np.random.Generator, folder: Path, people: int, *, apart: bool = False
) -> Sound:
    """
    People talking over one another, cut anywhere out of the recordings of a folder.

    The second half of each recording is held apart: only with `apart` it is cut from there.
    """
    total = np.zeros(length, dtype=np.float32)
    paths = sorted(folder.glob("*.ogg"))
    for _ in range(people):
        whole = recorded(paths[int(dice.integers(0, len(paths)))])
        half = len(whole) // 2
        recording = whole[half:] if apart else whole[:half]
        at = int(dice.integers(0, len(recording) - length))
        total += recording[at : at + length]
    return np.asarray(total / loud_rms(total), dtype=np.float32)


def loud_rms(sound: Sound) -> float:
    """Return the root mean square of the loud parts of a sound."""
    frames = sound[: len(sound) // 160 * 160].reshape(-1, 160)
    power = (frames**2).mean(axis=1)
    active = power[power > power.max() * 10**-2.5]
    return float(np.sqrt(active.mean() + 1e-12))


def _unit(samples: NDArray[np.floating]) -> Sound:
    return np.asarray(samples / np.sqrt((samples**2).mean()), dtype=np.float32)


def in_room(
    speech: Sound, noise: str, seed: int, folder: Path | None, *, apart: bool = False
) -> Sound:
    """Put a sentence into a noise such as "quiet", "pink_10", "talk3_20" with lead and tail."""
    dice = np.random.default_rng(seed)
    lead, tail = int(LEAD_S * RATE), int(TAIL_S * RATE)
    length = lead + len(speech) + tail
    room = pink(length, dice) * ROOM_RMS
    room[lead : lead + len(speech)] += speech
    if noise == "quiet":
        return room
    kind, _, ratio = noise.rpartition("_")
    level = SPEECH_RMS * 10 ** (-float(ratio) / 20)
    match kind:
        case "pink":
            added = pink(length, dice)
        case "white":
            added = white(length, dice)
        case "kitchen":
            added = kitchen(length, dice)
        case "real":
            path = real_kitchen()
            assert path is not None
            added = room_noise(length, dice, path, apart=apart)
        case _:
            assert folder is not None
            added = talk(length, dice, folder, int(kind.removeprefix("talk")), apart=apart)
    return np.asarray(room + level * added, dtype=np.float32)
