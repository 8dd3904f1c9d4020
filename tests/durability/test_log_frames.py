"""Damage at chosen places of a journal's log: what is torn, what is lost work, what is found again.

The layout of a log is documented in https://www.sqlite.org/fileformat2.html, section 4.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from engine.events import PatternKept
from engine.journal.errors import DamagedJournalError
from engine.journal.on_disk import beside
from engine.journal.salvage import mend
from engine.journal.sqlite import SqliteJournal
from tests.durability.damage import journal_of, killed_journal_of, work
from tests.made_up import knitted, record

if TYPE_CHECKING:
    from engine.records import Record

HEADER, FRAME_HEADER, PAGE = 32, 24, 4096
SALT, CHECKSUM = 16, 16  # where they begin: in the log's header, and in a frame's


@pytest.fixture
def records() -> list[Record]:
    """Return a piece of twenty rows."""
    return work(20)


@pytest.fixture
def killed(records: list[Record], tmp_path: Path) -> Path:
    """Return its journal as a kill leaves it, the last records in the log, a commit each."""
    return killed_journal_of(records, tmp_path)


def commits(log: bytes) -> list[int]:
    """Return where the frames begin that end a transaction."""
    step = FRAME_HEADER + PAGE
    frames = range(HEADER, len(log) - step + 1, step)
    return [at for at in frames if any(log[at + 4 : at + 8])]


def turn_a_bit(file: Path, at: int) -> None:
    """Turn over one bit of a file."""
    content = bytearray(file.read_bytes())
    content[at] ^= 1
    file.write_bytes(content)


def test_a_last_commit_that_does_not_check_is_torn(killed: Path, records: list[Record]) -> None:
    """The last commit of many with a wrong checksum was being written: it alone is left out."""
    log = beside(killed, "-wal")
    ends = commits(log.read_bytes())
    assert len(ends) > 5
    turn_a_bit(log, ends[-1] + CHECKSUM)
    with SqliteJournal.open(killed) as journal:
        assert journal.records() == tuple(records[:-1])


def test_two_commits_that_would_be_forgotten_are_lost_work(
    killed: Path, records: list[Record]
) -> None:
    """From the second last commit on: one of the two was acknowledged, so the journal is mended."""
    log = beside(killed, "-wal")
    turn_a_bit(log, commits(log.read_bytes())[-2] + CHECKSUM)
    with pytest.raises(DamagedJournalError, match="log of the journal"):
        SqliteJournal.open(killed)
    assert mend(killed).saved == len(records)


def test_a_damaged_salt_hides_no_frames(killed: Path, records: list[Record]) -> None:
    """SQLite takes a log with a damaged salt for an empty one; its frames are found."""
    turn_a_bit(beside(killed, "-wal"), SALT)
    with pytest.raises(DamagedJournalError, match="log of the journal"):
        SqliteJournal.open(killed)
    assert mend(killed).saved == len(records)


def test_a_log_alone_still_holds_its_records(killed: Path, records: list[Record]) -> None:
    """The file is lost, its log is not: what the log holds in one piece goes on."""
    killed.unlink()
    mended = mend(killed)
    with SqliteJournal.open(killed) as journal:
        found = set(journal.records())
    in_log = set(records[len(records) * 2 // 3 :])
    assert found & in_log == {one for one in in_log if not isinstance(one.event, PatternKept)}
    assert mended.saved == len(found)


def test_a_journal_is_read_from_both_ends(tmp_path: Path) -> None:
    """A pattern text too long for one page lies behind a page that is gone: it is saved too."""
    rows = knitted(60)
    kept = record(PatternKept("0" * 64, "k2, p2 to end\n" * 700), rows)
    path = journal_of([*rows, kept], tmp_path)
    content = bytearray(path.read_bytes())
    page = content.index(bytes.fromhex(rows[30].id)) // PAGE
    content[page * PAGE : page * PAGE + 8] = bytes(8)
    path.write_bytes(content)
    mend(path)
    with SqliteJournal.open(path) as journal:
        assert kept in journal.records()


def test_the_old_log_is_gone_before_the_mended_file_has_its_name(
    killed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed in between, SQLite would play the damaged log into the whole file."""
    turn_a_bit(beside(killed, "-wal"), commits(beside(killed, "-wal").read_bytes())[0])
    logs: list[bool] = []
    replace = Path.replace

    def watched(file: Path, target: Path) -> Path:
        if file == beside(killed, "-mended"):
            logs.append(beside(killed, "-wal").exists())
        return replace(file, target)

    monkeypatch.setattr(Path, "replace", watched)
    mend(killed)
    assert logs == [False]


def _names(folder: Path) -> set[str]:
    return {file.name for file in folder.iterdir()}


def test_a_copy_is_on_disk_before_it_has_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Content first, then the name, then the folder: a power failure leaves all or nothing."""
    synced: list[set[str]] = []

    def sync(_: int) -> None:
        synced.append(_names(tmp_path))

    with SqliteJournal.open(tmp_path / "hut.walesong") as journal:
        journal.append(knitted(3))
        monkeypatch.setattr("engine.journal.on_disk.os.fsync", sync)
        journal.backup(tmp_path / "copy.walesong")
    before, aside, after = synced
    assert "copy.walesong" not in before
    assert "copy.walesong-part" in before
    assert "copy.walesong" not in aside
    assert "copy.walesong" in after


def test_a_row_that_moved_in_the_order_is_damage(killed: Path) -> None:
    """The columns that order the records are part of what is checked, not only the content."""
    with closing(sqlite3.connect(killed)) as connection:
        (trigger,) = connection.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'never_changed'"
        ).fetchone()
        connection.execute("DROP TRIGGER never_changed")
        connection.execute("UPDATE record SET lamport = lamport + 100 WHERE lamport = 3")
        connection.execute(trigger)
        connection.commit()
    with pytest.raises(DamagedJournalError, match="record in the journal"):
        SqliteJournal.open(killed)
