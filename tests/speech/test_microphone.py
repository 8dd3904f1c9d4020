"""The microphone of this machine: which one is taken, and what happens when it is pulled out."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import numpy as np
import pytest

from speech.hearing.microphone import MiniaudioMicrophone, microphone, microphones
from speech.hearing.sound import RATE
from speech.hearing.sources import SourceError
from tests.virtual_microphone import MISSING, VirtualMicrophone, pactl, virtual_microphone

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from speech.hearing.sound import Samples
    from speech.hearing.sources import SoundSource

pytestmark = [
    pytest.mark.microphone,
    pytest.mark.skipif(bool(MISSING), reason=f"a virtual microphone needs {', '.join(MISSING)}"),
]

TONE_HZ = 440
PATIENCE_S = 60.0


@pytest.fixture(scope="module")
def plugged() -> Iterator[VirtualMicrophone]:
    """Return a virtual microphone that is plugged in."""
    with virtual_microphone() as running:
        yield running


def _listen(source: SoundSource, enough: Callable[[Samples], bool]) -> Samples:
    """Return what comes until it is enough; how long that takes is the machine's business."""
    heard = np.zeros(0, dtype=np.float32)
    deadline = time.monotonic() + PATIENCE_S
    while not enough(heard):
        assert time.monotonic() < deadline, f"only {len(heard) / RATE:.1f} s are heard"
        piece = source.read(0.1)
        if piece is not None:
            heard = np.concatenate([heard, piece])
    return heard


def _silent(source: SoundSource) -> bool:
    """Tell whether nothing comes, asked many times."""
    return all(source.read(0.1) is None for _ in range(6))


def _half_a_second_of_voice(heard: Samples) -> bool:
    loud = np.flatnonzero(np.abs(heard) > 0.05)
    return len(loud) > 0 and len(heard) - loud[0] >= RATE // 2


def test_what_is_said_is_heard(plugged: VirtualMicrophone) -> None:
    """A tone spoken into the microphone arrives with its own pitch and its own loudness."""
    source = microphone()
    assert isinstance(source, MiniaudioMicrophone)
    source.open()
    try:
        tone = 0.25 * np.sin(2 * np.pi * TONE_HZ * np.arange(RATE) / RATE)
        plugged.say((tone * 32767).astype("<i2").tobytes())
        heard = _listen(source, _half_a_second_of_voice)
    finally:
        source.close()
    loud = heard[np.flatnonzero(np.abs(heard) > 0.05)[0] :][: RATE // 2]
    spectrum = np.abs(np.fft.rfft(loud))
    assert np.argmax(spectrum) * RATE / len(loud) == pytest.approx(TONE_HZ, abs=3)
    assert np.abs(loud).max() == pytest.approx(0.25, abs=0.02)


def test_the_system_s_choice_is_taken(plugged: VirtualMicrophone) -> None:
    """Of two microphones the one that the system is set to is named and opened."""
    del plugged
    names = set()
    module = pactl(
        "load-module", "module-remap-source", "master=hut_microphone", "source_name=other"
    ).strip()
    try:
        for source in ("other", "hut_microphone"):
            pactl("set-default-source", source)
            names.add(microphones().sentence)
    finally:
        pactl("unload-module", module)
    assert len(names) == 2
    assert sum("Remapped" in name for name in names) == 1


def test_what_only_hears_ourselves_is_no_microphone(plugged: VirtualMicrophone) -> None:
    """Set to the loudspeaker's monitor, the system has us open the microphone all the same."""
    del plugged
    pactl("set-default-source", "out.monitor")
    try:
        found = microphones()
    finally:
        pactl("set-default-source", "hut_microphone")
    assert found.there
    assert "onitor" not in found.sentence


def test_pulled_out_it_falls_silent_and_can_be_found_again(plugged: VirtualMicrophone) -> None:
    """Nothing is read from another device instead; it cannot be opened until it is back."""
    source = MiniaudioMicrophone()
    source.open()
    assert len(_listen(source, lambda heard: len(heard) > 0)) > 0
    plugged.pull_out()
    try:
        while not _silent(source):  # what was still on its way
            pass
        assert _silent(source)
        with pytest.raises(SourceError, match="plug one in"):
            source.open()
        assert not microphones().there
        assert "no microphone" in microphones().sentence
    finally:
        plugged.plug_in()
    source.open()
    assert len(_listen(source, lambda heard: len(heard) > 0)) > 0
    source.close()
