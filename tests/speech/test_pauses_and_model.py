"""Pauses inside a command, heard through the real speech model."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from engine.commands import CountSwatch, Recount
from speech.hearing.acceptance import Acceptance
from speech.hearing.events import Heard
from speech.hearing.sound import RATE, read_wav
from speech.hearing.vosk_decoder import VoskModel
from tests.speech.test_acceptance import BOOK, FILLERS, decided

if TYPE_CHECKING:
    from speech.hearing.sound import Samples


@pytest.fixture(scope="module")
def real() -> Acceptance:
    """Return acceptance with the real speech model."""
    return Acceptance(VoskModel(resources.model_folder()), BOOK, FILLERS)


def paused(request: pytest.FixtureRequest, first: str, rest: str, pause_s: float) -> Samples:
    """Return two pieces with a pause between them in a quiet room."""
    folder = request.path.parent / "recordings"
    pieces = [read_wav((folder / f"pause-{one}.wav").read_bytes()).samples for one in (first, rest)]
    gaps = [np.zeros(round(seconds * RATE), dtype=np.float32) for seconds in (1.5, pause_s, 1.5)]
    sound = np.concatenate([gaps[0], pieces[0], gaps[1], pieces[1], gaps[2]])
    room = 1e-4 * np.random.default_rng(3).standard_normal(len(sound))
    return np.asarray(sound + room, dtype=np.float32)


@pytest.mark.model
@pytest.mark.parametrize(
    ("pause_s", "heard"),
    [
        (0.3, [(Recount(127), False)]),
        (0.8, [(Recount(127), False)]),
        (1.2, [(Recount(127), False)]),
        (1.9, [(Recount(120), False)]),
    ],
)
def test_a_pause_inside_a_number(
    request: pytest.FixtureRequest,
    real: Acceptance,
    pause_s: float,
    heard: list[tuple[Recount, bool]],
) -> None:
    """Half a number is waited for: no answer drowns its end. What comes too late is lost."""
    real.start_over()
    events = decided(real, paused(request, "row-120", "seven", pause_s))
    taken = [(one.candidates[0], one.mends) for one in events if isinstance(one, Heard)]
    assert taken == heard


@pytest.mark.model
@pytest.mark.parametrize(("pause_s", "count"), [(0.3, 1), (0.8, 1), (1.2, 1), (1.9, 0)])
def test_a_pause_before_the_unit(
    request: pytest.FixtureRequest, real: Acceptance, pause_s: float, count: int
) -> None:
    """What was no command yet becomes one when its last word follows within a second and a half."""
    real.start_over()
    events = decided(real, paused(request, "swatch-44", "stitches", pause_s))
    taken = [one.candidates[0] for one in events if isinstance(one, Heard)]
    assert taken == [CountSwatch(44, None)] * count
