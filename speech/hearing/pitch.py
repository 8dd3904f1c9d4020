"""How high a voice is: the median of its fundamental frequency, from the autocorrelation.

A voice is told from another one by little else that a single short word holds. The normalised
autocorrelation of a frame is highest at the period of the voice (L. R. Rabiner, IEEE Trans. ASSP
25 (1977) 24-33); frames without a clear period are no voice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from speech.hearing.sound import RATE

if TYPE_CHECKING:
    from speech.hearing.sound import Samples

_FRAME, _HOP = RATE // 25, RATE // 100  # 40 and 10 ms
_LOWEST_HZ, _HIGHEST_HZ = 75, 400
_CLEAR = 0.6
"""Of 1, how much a frame has to be like itself one period later."""
_LEAST_FRAMES = 6
"""Frames with a clear period that are needed."""


def pitch_hz(voice: Samples) -> float | None:
    """Return the median fundamental frequency of a voice; None if hardly anything is voiced."""
    if len(voice) < 2 * _FRAME:
        return None
    frames = np.lib.stride_tricks.sliding_window_view(voice, 2 * _FRAME)[::_HOP]
    power = np.mean(np.square(frames), axis=1)
    frames = frames[power > float(power.max()) * 0.03]
    frames = frames - frames.mean(axis=1, keepdims=True)
    spectra = np.fft.rfft(frames, 4 * _FRAME)
    likeness = np.fft.irfft(np.square(np.abs(spectra)))
    shortest, longest = RATE // _HIGHEST_HZ, RATE // _LOWEST_HZ
    overlap = 1 - np.arange(longest + 1) / (2 * _FRAME)
    normal = likeness[:, : longest + 1] / (likeness[:, :1] + 1e-12) / overlap
    searched = normal[:, shortest:]
    best = searched.max(axis=1)
    clear = best > _CLEAR
    # The first top that is nearly as high as the highest: twice the period fits as well.
    inner = searched[:, 1:-1]
    tops = (inner >= searched[:, :-2]) & (inner >= searched[:, 2:]) & (inner >= 0.9 * best[:, None])
    clear &= tops.any(axis=1)
    if int(clear.sum()) < _LEAST_FRAMES:
        return None
    return float(np.median(RATE / (np.argmax(tops[clear], axis=1) + 1 + shortest)))
