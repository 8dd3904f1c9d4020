"""A damaged journal: read exactly, refused, or mended, but never read wrongly."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import TYPE_CHECKING

import pytest

from engine.journal.errors import DamagedJournalError, JournalError, NotAJournalError
from engine.journal.on_disk import beside
from engine.journal.salvage import mend
from engine.journal.sqlite import SqliteJournal
from tests.durability.damage import journal_of, killed_journal_of, opened_after, work
from tests.in_memory import folder_in_memory
from tests.made_up import knitted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_TRIALS = 120


@pytest.fixture
def quick_folder() -> Iterator[Path]:
    """Return a folder in memory: damage comes after the disk, so hundreds of trials need none."""
    with folder_in_memory() as folder:
        yield folder


def test_a_damaged_log(quick_folder: Path) -> None:
    """The log cut off or with bits turned over: an exact prefix, or a refusal and then mended."""
    records = work(20)
    path = killed_journal_of(records, quick_folder)
    dice = Random(2026)
    outcomes = Counter(
        opened_after(path, beside(path, "-wal"), dice, records) for _ in range(_TRIALS)
    )
    assert {"a prefix", "mended whole"} <= set(outcomes)


def test_a_damaged_file(quick_folder: Path) -> None:
    """The file cut off or with bits turned over: whole, or a refusal and then mended."""
    records = work(20)
    path = journal_of(records, quick_folder)
    dice = Random(2027)
    outcomes = Counter(opened_after(path, path, dice, records) for _ in range(_TRIALS))
    assert {"whole", "mended in part"} <= set(outcomes)
    assert "a prefix" not in outcomes


def test_a_torn_last_command_is_no_damage(tmp_path: Path) -> None:
    """Power that failed in the middle of a commit loses that command and alarms nobody."""
    records = work(6)
    path = killed_journal_of(records, tmp_path)
    log = beside(path, "-wal")
    log.write_bytes(log.read_bytes()[:-10])
    with SqliteJournal.open(path) as journal:
        assert journal.records() == tuple(records[:-1])


def test_work_behind_damage_in_the_log_is_not_forgotten(tmp_path: Path) -> None:
    """One bit flipped early in the log: SQLite alone drops all that follows, mending saves it."""
    records = work(20)
    path = killed_journal_of(records, tmp_path)
    log = beside(path, "-wal")
    content = bytearray(log.read_bytes())
    content[100] ^= 1
    log.write_bytes(content)
    for opening in (SqliteJournal.open, SqliteJournal.open_to_read):
        with pytest.raises(DamagedJournalError, match="log of the journal"):
            opening(path)
    mended = mend(path)
    assert (mended.saved, mended.missing) == (len(records), ())
    with SqliteJournal.open(path) as journal:
        assert journal.records() == tuple(records)


def test_every_mending_keeps_its_own_copy(tmp_path: Path) -> None:
    """Mended twice, both damaged files are kept under names of their own, said in the result."""
    path = journal_of(knitted(3), tmp_path)
    kept = []
    for _ in range(2):
        content = bytearray(path.read_bytes())
        content[0] ^= 1
        path.write_bytes(content)
        kept.append(mend(path).kept)
        assert kept[-1].read_bytes() == content
    assert [file.name for file in kept] == ["whole.damaged-1.walesong", "whole.damaged-2.walesong"]


def test_what_is_no_journal_is_not_mended(tmp_path: Path) -> None:
    """A file of another kind is not taken apart, nor is anything put in its place."""
    letter = tmp_path / "letter.walesong"
    letter.write_text("Dear hut crew,")
    with pytest.raises(NotAJournalError):
        mend(letter)
    assert letter.read_text() == "Dear hut crew,"
    assert [file.name for file in tmp_path.iterdir()] == [letter.name]


@pytest.mark.parametrize("swapped", ["nothing", "the logs", "everything"])
def test_a_mending_that_was_interrupted(tmp_path: Path, swapped: str) -> None:
    """Killed between any two steps of the last swap, the next opening ends it and loses nothing."""
    records = work(20)
    path = killed_journal_of(records, tmp_path)
    whole = tmp_path / "mended.walesong"
    with SqliteJournal.open(whole) as journal:
        journal.append(records)
    whole.rename(beside(path, "-mended"))
    if swapped != "nothing":
        beside(path, "-wal").unlink()
    if swapped == "everything":
        beside(path, "-mended").replace(path)
    with SqliteJournal.open_to_read(path) as journal:
        assert journal.records() == tuple(records)
    with SqliteJournal.open(path) as journal:
        assert journal.records() == tuple(records)
    assert not beside(path, "-mended").exists()


def test_a_mending_without_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the copy cannot be made, the damaged file stays where it is and as it is."""
    path = journal_of(knitted(3), tmp_path)
    content = bytearray(path.read_bytes())
    content[0] ^= 1
    path.write_bytes(content)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copy2", full)
    with pytest.raises(JournalError, match="no room left"):
        mend(path)
    assert path.read_bytes() == content
