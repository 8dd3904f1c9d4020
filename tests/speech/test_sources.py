"""Recordings at their pace or faster, and the scripted source that stands in for a microphone."""

from __future__ import annotations

import time

import numpy as np
import pytest

from speech.hearing.sound import AIR_DB, RATE, Sound, at_rate, for_the_model, level_db
from speech.hearing.sources import PIECE_S, TAIL_S, RecordingSource, ScriptedSource, SourceError

ONE_SECOND = np.linspace(-1, 1, RATE, dtype=np.float32)


def test_a_recording_is_given_whole_with_silence_behind_it() -> None:
    """Nothing is lost or added but the silence in which the last word can end."""
    source = RecordingSource(ONE_SECOND, paced=False)
    source.open()
    pieces = []
    while (piece := source.read(0.0)) is not None:
        pieces.append(piece)
    heard = np.concatenate(pieces)
    assert np.array_equal(heard[:RATE], ONE_SECOND)
    assert len(heard) == round((1 + TAIL_S) * RATE)
    assert not heard[RATE:].any()
    assert source.ended


def test_a_paced_recording_takes_its_time() -> None:
    """No piece comes before its last sample would have been spoken."""
    source = RecordingSource(ONE_SECOND, paced=True)
    source.open()
    begun = time.monotonic()
    for number in range(1, 7):
        while source.read(0.1) is None:
            pass
        assert time.monotonic() - begun >= number * PIECE_S - 0.001


def test_a_paced_recording_that_is_closed_waits() -> None:
    """Closed and opened again it goes on where it was, without hurrying to catch up."""
    source = RecordingSource(ONE_SECOND, paced=True)
    source.open()
    while source.read(0.1) is None:
        pass
    source.close()
    time.sleep(0.3)
    source.open()
    assert source.read(0.0) is None
    second = None
    while second is None:
        second = source.read(0.1)
    assert np.array_equal(second, ONE_SECOND[len(second) : 2 * len(second)])


def test_the_script_refuses_as_a_lost_microphone_does() -> None:
    """The first opening works, then so many are refused, then it opens again."""
    source = ScriptedSource([ONE_SECOND], refusals=2)
    source.open()
    for _ in range(2):
        with pytest.raises(SourceError):
            source.open()
    source.open()
    assert source.opened == 2


def test_a_low_rate_gets_air_where_it_has_nothing() -> None:
    """Above the band of a telephone recording lies a breath of noise, below it nothing is added."""
    sound = Sound(np.sin(np.arange(8000) * 2 * np.pi * 440 / 8000).astype(np.float32), 8000)
    added = for_the_model(sound) - at_rate(sound)
    assert level_db(added) == pytest.approx(AIR_DB, abs=0.5)
    power = np.abs(np.fft.rfft(added)) ** 2
    below = np.fft.rfftfreq(len(added), 1 / RATE) < 3950
    assert power[below].sum() < 1e-3 * power.sum()


def test_a_full_band_is_left_as_it_is() -> None:
    """At the model's own rate or above it nothing is added."""
    assert for_the_model(Sound(ONE_SECOND, RATE)) is ONE_SECOND
    fast = Sound(np.repeat(ONE_SECOND, 3), 48_000)
    assert np.array_equal(for_the_model(fast), at_rate(fast))
