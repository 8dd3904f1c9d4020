"""`walesong hear`: one JSON object an utterance, one sentence for what cannot be heard."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from app import resources
from app.command_line import main

RECORDINGS = Path(__file__).resolve().parent.parent / "speech" / "recordings"
FIELDS = {
    "file", "start_s", "end_s", "decided_s", "compute_s", "words", "accepted", "command", "value",
    "details", "candidates", "why", "reason",
}  # fmt: skip


def hear(
    capsys: pytest.CaptureFixture[str], *arguments: str
) -> tuple[int, list[dict[str, object]], str]:
    """Run the command; return its exit code, its JSON objects and what it complained of."""
    code = main(["hear", "--json", *arguments])
    printed = capsys.readouterr()
    return code, [json.loads(line) for line in printed.out.splitlines()], printed.err


@pytest.mark.model
def test_what_was_said_is_told_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    """Several files give their utterances in turn, numbers as numbers, lengths with units."""
    names = ["row-done", "three-rows", "eleven-centimetres", "not-for-us"]
    code, found, _ = hear(capsys, *(str(RECORDINGS / f"{name}.wav") for name in names))
    assert code == 0
    assert all(set(one) == FIELDS for one in found)
    accepted = [(one["command"], one["value"]) for one in found if one["accepted"]]
    assert accepted == [
        ("rows_done", 1),
        ("rows_done", 3),
        ("measure", {"value": 11, "unit": "cm"}),
    ]
    refused = [one for one in found if not one["accepted"]]
    assert refused
    assert all(one["why"] and one["command"] is None for one in refused)


@pytest.mark.model
def test_any_plain_recording_is_heard_alike(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The same sentence at 16 and 48 kHz, in stereo and with an extensible header is the same."""
    samples, _ = soundfile.read(RECORDINGS / "how-far.wav")
    for name, factor in (("a.wav", 3), ("b.wav", 1)):
        wide = np.interp(
            np.arange(len(samples) * factor) / factor, np.arange(len(samples)), samples
        )
        both = np.stack([wide, wide], axis=1)
        soundfile.write(tmp_path / name, both, 16000 * factor, format="WAVEX", subtype="PCM_24")
    code, found, _ = hear(capsys, str(tmp_path / "a.wav"), str(tmp_path / "b.wav"))
    assert code == 0
    assert [one["command"] for one in found] == ["how_far", "how_far"]


@pytest.mark.model
@pytest.mark.parametrize("data", [b"", b"row done, she wrote"])
def test_what_is_no_recording_gets_one_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, data: bytes
) -> None:
    """An empty file and a text named .wav end with a sentence and a code, and stop nothing else."""
    path = tmp_path / "note.wav"
    path.write_bytes(data)
    code, found, complaint = hear(capsys, str(path), str(RECORDINGS / "row-done.wav"))
    assert code == 3
    assert complaint.count("\n") == 1
    assert [one["command"] for one in found] == ["rows_done"]


def test_a_missing_model_gets_one_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Without a model nothing is heard, and the sentence says how to get one."""
    code, found, complaint = hear(
        capsys, "--model", str(tmp_path / "none"), str(RECORDINGS / "row-done.wav")
    )
    assert (code, found) == (3, [])
    assert "There is no speech model" in complaint
    assert complaint.count("\n") == 1
    assert resources.model_folder() != tmp_path
