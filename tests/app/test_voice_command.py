"""`walesong voice`: ten sentences in a recording, and what is made of them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from app.command_line import main
from tests.app.test_listening_modes import RECORDINGS, sound, written

if TYPE_CHECKING:
    from pathlib import Path

    from speech.hearing.sound import Samples

NAMES = (
    "how-far",
    "row-done",
    "eleven-centimetres",
    "three-rows",
    "fifty-stitches",
    "row-127-paused",
    "what-comes-next",
    "ripped-back-sixteen",
    "four-three-eighths",
    "take-that-back",
)


def tried(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, samples: Samples
) -> tuple[int, dict[str, object]]:
    """Return the exit code and the result for a recording."""
    path = written(tmp_path / "ten.wav", samples)
    code = main(["voice", "--json", "--from", str(path)])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.model
def test_a_good_voice_is_heard_well(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Ten sentences in quiet: all understood, far above the room."""
    code, found = tried(capsys, tmp_path, sound(*NAMES))
    assert (code, found["advice"], found["understood"]) == (0, "all_well", 10)
    assert isinstance(found["margin_db"], float)
    assert found["margin_db"] > 25


@pytest.mark.model
def test_a_loud_room_is_told(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The same voice in noise: the advice is what helps there, and the margin says so."""
    quiet = sound(*NAMES)
    noise = np.random.default_rng(5).standard_normal(len(quiet)).astype(np.float32)
    code, found = tried(capsys, tmp_path, (quiet + 0.1 * noise).astype(np.float32))
    assert (code, found["advice"]) == (1, "loud_room")
    assert isinstance(found["margin_db"], float)
    assert found["margin_db"] < 25


@pytest.mark.model
def test_a_faint_and_an_overdriven_voice_are_told_apart(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Hardly heard: come closer; clipped: move back."""
    quiet = sound(*NAMES)
    assert tried(capsys, tmp_path, quiet * 0.004)[1]["advice"] in {"too_quiet", "loud_room"}
    loud = np.clip(quiet * 12, -1, 1).astype(np.float32)
    code, found = tried(capsys, tmp_path, loud)
    assert (code, found["advice"], found["clipped"]) == (1, "too_loud", True)


@pytest.mark.model
def test_the_prompts_and_the_result_are_plain_words(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """One sentence is asked for after the other, and the result is a sentence with figures."""
    path = written(tmp_path / "ten.wav", sound(*NAMES))
    assert main(["voice", "--from", str(path)]) == 0
    printed = capsys.readouterr().out
    assert printed.index("Say: how far left") < printed.index("✓ “how far left”")
    assert printed.index("Say: take that back") < printed.index("You are heard well.")
    assert "10 of 10 understood" in printed


@pytest.mark.model
def test_too_short_a_recording_is_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    """A recording of one sentence cannot answer for ten."""
    assert main(["voice", "--from", str(RECORDINGS / "row-done.wav")]) == 3
    assert "Only 1 of 10 sentences" in capsys.readouterr().err


def test_what_is_no_recording_is_a_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A missing file and a missing model are each one sentence, and exit code 3."""
    assert main(["voice", "--from", str(tmp_path / "none.wav")]) == 3
    assert "cannot be read" in capsys.readouterr().err
    practice = str(resources.path("assets/practice/mug-sleeve.wav"))
    assert main(["voice", "--from", practice, "--model", str(tmp_path)]) == 3
    assert capsys.readouterr().err.startswith("walesong voice: ")
