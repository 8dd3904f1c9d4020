"""The foreground gate on voices and rooms made of noise, so that their true edges are known."""

from __future__ import annotations

import numpy as np
import pytest

from speech.hearing.gate import Gate, GateSettings, Segment
from speech.hearing.sound import RATE


def voice(seconds: float, level: float, seed: int = 0) -> np.ndarray:
    """Return noise that rises and falls four times a second, as syllables do."""
    count = round(seconds * RATE)
    dice = np.random.default_rng(seed)
    syllables = 0.6 + 0.4 * np.sin(2 * np.pi * 4 * np.arange(count) / RATE)
    return np.asarray(level * syllables * dice.standard_normal(count), dtype=np.float32)


def room(seconds: float, level: float, seed: int = 9) -> np.ndarray:
    """Return steady noise."""
    dice = np.random.default_rng(seed)
    return np.asarray(level * dice.standard_normal(round(seconds * RATE)), dtype=np.float32)


def segments(sound: np.ndarray, settings: GateSettings | None = None) -> list[Segment]:
    """Return what the gate finds when every pause of 0.3 s ends a voice."""
    gate = Gate(settings or GateSettings())
    found = []
    for at in range(0, len(sound), 800):
        gate.feed(sound[at : at + 800])
        segment = gate.segment()
        if segment is not None and segment.silent_s >= 0.3:
            found.append(segment)
            gate.take(segment)
    return found


@pytest.mark.parametrize("loudness", [0.002, 0.02, 0.2])
def test_a_voice_in_a_quiet_room_has_its_edges(loudness: float) -> None:
    """Soft or loud, a voice is cut out to within a tenth of a second at both ends."""
    sound = room(4, loudness / 300)
    sound[RATE * 2 : RATE * 3] += voice(1, loudness)
    (segment,) = segments(sound)
    assert segment.start / RATE == pytest.approx(2, abs=0.1)
    assert segment.end / RATE == pytest.approx(3, abs=0.1)


def test_a_steady_noise_is_a_room_not_a_voice() -> None:
    """A fan that runs is never taken for somebody speaking, however loud it is."""
    assert segments(room(10, 0.1)) == []


def test_far_talk_does_not_stick_to_a_near_voice() -> None:
    """Talk ten decibels below goes on before, during and after, and is cut away."""
    sound = room(7, 0.0001) + voice(7, 0.03, seed=4)
    sound[RATE * 3 : RATE * 4] += voice(1, 0.2)
    near = [one for one in segments(sound) if one.peak_db > -25]
    assert len(near) == 1
    assert near[0].start / RATE == pytest.approx(3, abs=0.15)
    assert near[0].end / RATE == pytest.approx(4, abs=0.15)


@pytest.mark.parametrize(("below_db", "end"), [(4, 4), (20, 3)])
def test_in_a_loud_room_a_voice_is_followed_as_far_below_its_peak(below_db: int, end: int) -> None:
    """However loud the room, what is within 8 dB of the loudest part belongs to the voice."""
    sound = room(7, 0.0001)
    sound[RATE * 2 : RATE * 3] += voice(1, 0.1)
    sound[RATE * 3 : RATE * 4] += voice(1, 0.1 * 10 ** (-below_db / 20))
    (segment, *_) = segments(sound, GateSettings(above_room=60.0))
    assert segment.start / RATE == pytest.approx(2, abs=0.1)
    assert segment.end / RATE == pytest.approx(end, abs=0.2)


def test_two_sentences_are_two_segments() -> None:
    """A pause of half a second parts two voices, and the first is not heard twice."""
    sound = room(6, 0.0001)
    sound[RATE * 2 : RATE * 3] += voice(1, 0.1)
    sound[round(RATE * 3.6) : round(RATE * 4.6)] += voice(1, 0.1, seed=2)
    starts = [round(one.start / RATE, 1) for one in segments(sound)]
    assert starts == [2.0, 3.6]


def test_the_pieces_do_not_matter() -> None:
    """The same sound in pieces of any size gives the same segment."""
    sound = room(3, 0.0001)
    sound[RATE : RATE * 2] += voice(1, 0.1)
    found = set()
    for size in (100, 333, 800, 4000):
        gate = Gate(GateSettings())
        for at in range(0, len(sound), size):
            gate.feed(sound[at : at + size])
        segment = gate.segment()
        assert segment is not None
        found.add((segment.start, segment.end))
    assert len(found) == 1


def test_silence_and_nothing_at_all_are_no_voice() -> None:
    """Digital silence, a few samples and no samples give no segment."""
    gate = Gate(GateSettings())
    assert gate.segment() is None
    for sound in (np.zeros(0), np.zeros(5), np.zeros(RATE * 3)):
        gate.feed(sound.astype(np.float32))
        assert gate.segment() is None


def test_a_voice_that_goes_on_behind_a_pause_is_told_and_not_cut() -> None:
    """Behind a pause too long to bridge the second voice is announced, and kept from its start."""
    gate = Gate(GateSettings())
    pause_s = GateSettings().bridged_s + 0.2
    first, rest = voice(0.8, 0.2), voice(0.6, 0.05, seed=1)
    for part in (room(1.5, 1e-4), first, room(pause_s, 1e-4, 3), rest):
        gate.feed(np.asarray(part, dtype=np.float32))
    segment = gate.segment()
    assert segment is not None
    begins = round((1.5 + 0.8 + pause_s) * RATE)
    assert segment.next_start == pytest.approx(begins, abs=0.06 * RATE)
    gate.take(segment)
    second = gate.segment()
    assert second is not None
    assert second.start == pytest.approx(begins, abs=0.06 * RATE)
    assert second.next_start is None
