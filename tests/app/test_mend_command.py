"""`walesong mend`: a damaged journal is whole again, and its user is told what became of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from engine.journal.sqlite import SqliteJournal
from tests.made_up import knitted

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """Return a journal with a sleeve of thirty rows."""
    path = tmp_path / "hut.walesong"
    with SqliteJournal.open(path) as opened:
        opened.append(knitted(30))
    return path


def _damage(path: Path, word: bytes) -> bytes:
    """Turn over a bit in the first occurrence of a word in the file."""
    content = bytearray(path.read_bytes())
    content[content.index(word)] ^= 1
    path.write_bytes(content)
    return bytes(content)


def test_mends(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A damaged beginning costs nothing: all records go on, the damaged file lies beside."""
    damaged = _damage(journal, b"SQLite")
    assert main(["mend", str(journal)]) == 0
    kept = journal.with_name("hut.damaged-1.walesong")
    said = capsys.readouterr().out
    assert "whole again, with 31 records" in said
    assert str(kept) in said
    assert "could not be read" not in said
    assert kept.read_bytes() == damaged
    with SqliteJournal.open(journal) as opened:
        assert opened.records() == tuple(knitted(30))


def test_tells_what_is_missing(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A damaged record is missing afterwards, and that is said."""
    _damage(journal, b'"payload":{"first":12,')
    assert main(["mend", str(journal)]) == 0
    said = capsys.readouterr().out
    assert "with 30 records" in said
    assert "At least 1 could not be read" in said


def test_leaves_a_whole_journal_alone(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is copied or changed when nothing is wrong."""
    before = journal.read_bytes()
    names = {file.name for file in journal.parent.iterdir()}
    assert main(["mend", str(journal)]) == 0
    assert "is whole; nothing was changed" in capsys.readouterr().out
    assert journal.read_bytes() == before
    assert {file.name for file in journal.parent.iterdir()} == names


def test_leaves_other_files_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A letter is not mended; one sentence and a status of its own say so."""
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear hut crew,")
    for wanted in (letter, tmp_path / "none.walesong"):
        assert main(["mend", str(wanted)]) == 4
        assert capsys.readouterr().err.startswith("walesong mend: ")
    assert [file.name for file in tmp_path.iterdir()] == ["letter.txt"]


def test_a_damaged_journal_says_how(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever meets the damage elsewhere is told of this command."""
    _damage(journal, b"SQLite")
    assert main(["replay", str(journal)]) == 4
    assert "walesong mend" in capsys.readouterr().err
