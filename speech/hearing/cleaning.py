"""Steady noise taken out of an utterance, gently: a Wiener filter from the sound just before it.

The a-priori ratio of speech to noise is followed from frame to frame by the decision-directed rule
of Y. Ephraim and D. Malah (IEEE Trans. ASSP 32 (1984) 1109-1121), which leaves no musical tones.
Nothing is lowered further than `FLOOR`: the speech model knows noise, it does not know holes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from speech.hearing.sound import Samples

FLOOR = 0.1
"""The least that is left of any frequency, as a factor (-20 dB)."""
_WINDOW, _HOP = 512, 128  # 32 and 8 ms
_FOLLOWS = 0.96  # how much of the a-priori ratio comes from the frame before
_LEAST_RATIO = 0.003
_TAPER = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
_NEIGHBOURS = 2  # bins on each side over which the noise is averaged
LEAST_NOISE = 2 * _WINDOW
"""Samples of the room that are needed to know its noise."""


def cleaned(voice: Samples, room: Samples) -> Samples:
    """
    Return `voice` with the steady noise of `room` (the sound just before it) lowered.

    Both at `sound.RATE`; a room shorter than `LEAST_NOISE` or a very short voice changes nothing.
    """
    if len(room) < LEAST_NOISE or len(voice) < _WINDOW:
        return voice
    noise = _smooth(np.mean(np.square(np.abs(_spectra(room))), axis=0)) + 1e-12
    padded = np.concatenate(
        [np.zeros(_WINDOW, np.float32), voice, np.zeros(2 * _WINDOW, np.float32)]
    )
    spectra = _spectra(padded)
    ratios = np.square(np.abs(spectra)) / noise
    gains = np.empty_like(ratios)
    kept = np.zeros(ratios.shape[1])
    for at, ratio in enumerate(ratios):
        prior = _FOLLOWS * kept + (1 - _FOLLOWS) * np.maximum(ratio - 1, 0)
        prior = np.maximum(prior, _LEAST_RATIO)
        gain = prior / (1 + prior)
        kept = np.square(gain) * ratio
        gains[at] = np.maximum(gain, FLOOR)
    return _joined(spectra * gains, len(padded))[_WINDOW : _WINDOW + len(voice)]


def _spectra(samples: Samples) -> NDArray[np.complexfloating]:
    windows = np.lib.stride_tricks.sliding_window_view(samples, _WINDOW)[::_HOP]
    return np.asarray(np.fft.rfft(windows * _TAPER))


def _smooth(power: NDArray[np.floating]) -> NDArray[np.floating]:
    """Average over neighbouring frequencies: a second of noise tells each of them only roughly."""
    width = 2 * _NEIGHBOURS + 1
    padded = np.pad(power, _NEIGHBOURS, mode="edge")
    return np.convolve(padded, np.full(width, 1 / width), mode="valid")


def _joined(spectra: NDArray[np.complexfloating], length: int) -> Samples:
    """Put frames together again (overlap and add, weighted by the squared window)."""
    frames = np.fft.irfft(spectra) * _TAPER
    joined = np.zeros(length)
    weight = np.full(length, 1e-3)
    for at, frame in enumerate(frames):
        place = slice(at * _HOP, at * _HOP + _WINDOW)
        joined[place] += frame
        weight[place] += np.square(_TAPER)
    return np.asarray(joined / weight, dtype=np.float32)
