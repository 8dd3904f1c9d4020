"""What every source of sound promises, whether it is a script, a recording or a microphone."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

import numpy as np
import pytest

from speech.hearing.microphone import MiniaudioMicrophone, SounddeviceMicrophone
from speech.hearing.sources import RecordingSource, ScriptedSource
from tests.contracts.listening import Case, SourceContract
from tests.virtual_microphone import MISSING, virtual_microphone

if TYPE_CHECKING:
    from collections.abc import Iterator

    from speech.hearing.sources import SoundSource

PIECES = [np.full(800, 0.1, dtype=np.float32)] * 40


@pytest.fixture(scope="module")
def microphone() -> Iterator[None]:
    """Have a virtual microphone that gives silence, which the libraries find by themselves."""
    if MISSING:
        pytest.skip(f"a virtual microphone needs {', '.join(MISSING)}")
    with virtual_microphone():
        yield


@pytest.fixture(
    params=[
        "scripted",
        "recording",
        "paced recording",
        pytest.param("miniaudio", marks=pytest.mark.microphone),
        pytest.param("sounddevice", marks=pytest.mark.microphone),
    ]
)
def case(request: pytest.FixtureRequest) -> Iterator[Case]:
    """Return each kind of source, opened."""
    if request.param in {"miniaudio", "sounddevice"}:
        request.getfixturevalue("microphone")
    sound = np.concatenate(PIECES)
    cases = {
        "scripted": lambda: Case(ScriptedSource(PIECES), hears_room=True, ends=True),
        "recording": lambda: Case(RecordingSource(sound, paced=False), hears_room=False, ends=True),
        "paced recording": lambda: Case(
            RecordingSource(sound, paced=True), hears_room=False, ends=True
        ),
        "miniaudio": lambda: Case(MiniaudioMicrophone(), hears_room=True, ends=False),
        "sounddevice": lambda: Case(_sounddevice(), hears_room=True, ends=False),
    }
    made = cases[request.param]()
    made.source.open()
    yield made
    made.source.close()


def _sounddevice() -> SoundSource:
    try:
        importlib.import_module("sounddevice")
    except (ImportError, OSError) as error:
        pytest.skip(f"the second library for microphones is not here: {error}")
    return SounddeviceMicrophone()


class TestEverySource(SourceContract):
    """One class for all: the fake is as good as the real ones."""
