"""What is known of the knitter's voice, as numbers: how loud it is where she sits, and how high.

It is learned from her commands, which are hardly ever said by chance. A short answer such as "no"
is said all the time by others: it counts only in her voice, and not in the middle of talk.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from speech.hearing.pitch import pitch_hz

if TYPE_CHECKING:
    from speech.hearing.sound import Samples
    from speech.hearing.voice_check import HerNumbers


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """The rules by which a voice is hers; levels in dB, times in seconds."""

    below: float = 14.0
    """A voice that is so much quieter than hers is not hers."""
    known_after: int = 3
    """Her level is known after so many commands."""
    answer_within: float = 8.0
    """A short answer is no louder and no quieter than her commands by more than this,"""
    answer_pitch: float = 1.5
    """no higher and no lower than they by more than this factor,"""
    after_talk_s: float = 1.5
    """and nobody has said anything else for so long before it."""


class HerVoice:
    """Learns a voice from what was taken, and compares others with it."""

    def __init__(self, settings: VoiceSettings) -> None:
        """Begin without knowing anything."""
        self._settings = settings
        self._levels: deque[float] = deque(maxlen=20)
        self._pitches: deque[float] = deque(maxlen=20)
        self._talk_until_s = -math.inf
        self._numbers: HerNumbers | None = None

    def know(self, numbers: HerNumbers) -> None:
        """Use what a voice check has learned; how loud she is, is learned anew each time."""
        self._numbers = numbers

    def forget(self) -> None:
        """Begin anew: somebody else may knit now."""
        self._levels.clear()
        self._pitches.clear()
        self._talk_until_s = -math.inf

    @property
    def level_db(self) -> float | None:
        """How loud her commands are at their loudest, once that is known."""
        if len(self._levels) < self._settings.known_after:
            return None
        return float(np.median(self._levels))

    @property
    def pitch_hz(self) -> float | None:
        """How high her voice is, if anything is known of it."""
        if self._pitches:
            return float(np.median(self._pitches))
        return None if self._numbers is None else self._numbers.pitch_hz

    def learn(self, level_db: float, voice: Samples) -> float | None:
        """Learn from a command that was taken; return how high it was, if that can be told."""
        self._levels.append(level_db)
        pitch = pitch_hz(voice)
        if pitch is not None:
            self._pitches.append(pitch)
        return pitch

    def talked(self, until_s: float) -> None:
        """Take note that something was said until then which was nothing for us."""
        self._talk_until_s = until_s

    def far_away(self, level_db: float) -> bool:
        """Whether a voice is much quieter than hers."""
        known = self.level_db
        below = self._settings.below if self._numbers is None else self._numbers.below_db
        return known is not None and level_db < known - below

    def answers(self, level_db: float, voice: Samples, since_s: float) -> bool:
        """
        Whether a short answer that begins at `since_s` is hers, as far as can be told.

        What is not known yet speaks against nobody.
        """
        settings = self._settings
        if since_s - self._talk_until_s < settings.after_talk_s:
            return False
        if self._levels and abs(level_db - np.median(self._levels)) > settings.answer_within:
            return False
        known, pitch = self.pitch_hz, pitch_hz(voice)
        if known is None or pitch is None:
            return True
        ratio = pitch / known
        return max(ratio, 1 / ratio) <= settings.answer_pitch
