"""Names and notes of others reach the terminal as text, whatever signs are in them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from app.command_line import main
from app.terminal.harmless_stream import harmless
from engine.events import RowNoted
from engine.journal.sqlite import SqliteJournal
from tests.made_up import knitted, record

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

STEERING = "\x1b]0;owned\x07\x1b[2Jcap\x9b31m\r\b\u202efed\u2066"


def test_letters_of_every_alphabet_pass() -> None:
    """Only what steers is replaced: letters, accents, tabs and new lines stay."""
    assert harmless("Mütze\t帽子\n½ ✓ 👒") == "Mütze\t帽子\n½ ✓ 👒"
    assert harmless("\x1b[31m") == "\\u001b[31m"


def test_an_escape_sequence_in_a_name_is_only_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Knitting, replay and merge print the signs as numbers, on both outputs; JSON stays JSON."""
    path = tmp_path / "hut.walesong"
    history = knitted(2, name=STEERING)
    with SqliteJournal.open(path) as journal:
        journal.append([*history, record(RowNoted(2, "note", STEERING), history)])
    words = tmp_path / "words.txt"
    words.write_text("row done\nshow my pieces\n")
    for command in (
        ["replay", str(path)],
        ["replay", "--json", str(path)],
        ["merge", str(path), "--into", str(tmp_path / "other.walesong")],
        ["knit", "--journal", str(path), "--typed", str(words)],
        ["knit", "--journal", str(path), "--typed", str(words), "--json"],
    ):
        assert main(command) == 0
        told = capsys.readouterr()
        for sign in "\x1b\x07\x9b\r\b\u202e\u2066":
            assert sign not in told.out + told.err, command
        if "--json" in command:
            name = "name" if command[0] == "replay" else "piece"
            assert STEERING in [json.loads(line)[name] for line in told.out.splitlines()]
