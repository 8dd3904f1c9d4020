"""Where what a voice check has learned is kept on this device: two numbers, never a sound."""

from __future__ import annotations

import json
import math

from app import resources
from speech.hearing.voice_check import HerNumbers

_FILE = "her-voice.json"
_PITCHES, _BELOW = (50.0, 600.0), (10.0, 30.0)
"""What a voice can be like; other numbers are none of ours."""


def keep_numbers(numbers: HerNumbers) -> None:
    """Keep what is known of her voice; what cannot be kept holds until the end."""
    kept = {"pitch_hz": numbers.pitch_hz, "below_db": numbers.below_db}
    resources.KeptText(_FILE, resources.data_folder()).save(json.dumps(kept) + "\n")


def kept_numbers() -> HerNumbers | None:
    """Return what is kept; None where nothing is, or nothing that can be used."""
    text = resources.KeptText(_FILE, resources.data_folder()).load()
    try:
        kept = json.loads(text or "")
        pitch, below = kept["pitch_hz"], float(kept["below_db"])
        pitch = None if pitch is None else float(pitch)
    except (ValueError, TypeError, KeyError, RecursionError):
        return None
    if not _within(below, _BELOW) or not (pitch is None or _within(pitch, _PITCHES)):
        return None
    return HerNumbers(pitch, below)


def _within(value: float, bounds: tuple[float, float]) -> bool:
    return math.isfinite(value) and bounds[0] <= value <= bounds[1]
