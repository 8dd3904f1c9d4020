"""A log that lost acknowledged rows: it is said what is missing and since when, or it is mended."""

from __future__ import annotations

import shutil
from contextlib import nullcontext
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

import pytest

from engine.journal import sqlite_file, sqlite_tables
from engine.journal.errors import DamagedJournalError
from engine.journal.journal import Gap
from engine.journal.last_kept import last_kept
from engine.journal.on_disk import LAST, beside
from engine.journal.salvage import mend
from engine.journal.sqlite import SqliteJournal
from tests.durability.damage import work
from tests.in_memory import folder_in_memory
from tests.made_up import CAP, knitted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from engine.records import Record

SUFFIXES = ("", "-wal", LAST)


@pytest.fixture
def records() -> list[Record]:
    """Return a piece of thirty rows, a minute each."""
    minute = enumerate(work(30))
    return [replace(one, wall=f"2026-01-10T18:{at:02}:00Z") for at, one in minute]


@pytest.fixture
def killed(records: list[Record]) -> Iterator[Path]:
    """Return its journal as a kill leaves it: file, log and the note of what was kept last."""
    with folder_in_memory() as folder:
        with SqliteJournal.open(folder / "running.walesong") as journal:
            journal.append(records[:10])
        with SqliteJournal.open(folder / "running.walesong") as journal:
            for one in records[10:]:
                journal.append([one])
            path = folder / "killed.walesong"
            for suffix in SUFFIXES:
                shutil.copy(beside(journal.path, suffix), beside(path, suffix))
        yield path


def _trial(killed: Path) -> Path:
    folder = killed.parent / "trial"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for suffix in SUFFIXES:
        shutil.copy(beside(killed, suffix), beside(folder / killed.name, suffix))
    return folder / killed.name


def test_a_whole_journal_lacks_nothing(killed: Path, records: list[Record]) -> None:
    """Killed and opened again, there is nothing to be said; nor after it is closed."""
    for _ in range(2):
        for opening in (SqliteJournal.open_to_read, SqliteJournal.open):
            with opening(killed) as journal:
                assert journal.gap is None
                assert set(journal.records()) == set(records)


def test_every_cut_that_loses_rows_is_told(killed: Path, records: list[Record]) -> None:
    """Cut anywhere, what is missing is counted to the record, with the times before and after."""
    dice, told = Random(2026), 0
    for _ in range(150):
        path = _trial(killed)
        log = beside(path, "-wal")
        log.write_bytes(log.read_bytes()[: dice.randrange(log.stat().st_size)])
        with SqliteJournal.open(path) as journal:
            there = len(journal.records())
            missing = len(records) - there
            if missing:
                told += 1
                since, until = f"2026-01-10T18:{there - 1:02}:00Z", records[-1].wall
                assert journal.gap == Gap(missing, since, until)
            else:
                assert journal.gap is None
    assert told > 100


def test_a_flipped_bit_in_the_last_transaction_is_found_and_mended(
    killed: Path, records: list[Record]
) -> None:
    """What was acknowledged is no torn commit: it is refused, and mending brings all of it back."""
    dice = Random(2027)
    size = beside(killed, "-wal").stat().st_size
    for _ in range(60):
        path = _trial(killed)
        log = beside(path, "-wal")
        content = bytearray(log.read_bytes())
        content[dice.randrange(size - 4096, size)] ^= 1 << dice.randrange(8)
        log.write_bytes(content)
        with pytest.raises(DamagedJournalError, match="log of the journal"):
            SqliteJournal.open(path)
        assert mend(path).saved >= len(records) - 1  # the bit may lie in the last record itself
        with SqliteJournal.open(path) as journal:
            assert journal.gap is None


def test_what_is_told_is_told_until_something_is_written(killed: Path) -> None:
    """Looked at twice the gap is there twice; with the next row the journal goes on from there."""
    log = beside(killed, "-wal")
    log.write_bytes(log.read_bytes()[:-9000])
    for _ in range(2):
        with SqliteJournal.open(killed) as journal:
            assert journal.gap is not None
    with SqliteJournal.open(killed) as journal:
        journal.append(knitted(1, CAP))
    with SqliteJournal.open(killed) as journal:
        assert journal.gap is None


def test_an_empty_file_in_place_of_a_journal_is_told(killed: Path, records: list[Record]) -> None:
    """Where file and log were emptied, the note still knows how much there was."""
    killed.write_bytes(b"")
    beside(killed, "-wal").unlink()
    for opening in (SqliteJournal.open_to_read, SqliteJournal.open):
        with opening(killed) as journal:
            assert journal.gap == Gap(len(records), "", records[-1].wall)
            assert str(journal.gap).startswith("33 records are missing: what was kept, up")


@pytest.mark.parametrize("content", [b"", b"\0" * 512, b"{}", b"0" * 16 + b"{}", b"\xff" * 600])
def test_a_torn_note_says_nothing(killed: Path, content: bytes) -> None:
    """A note that a power failure tore is as good as none: no false alarm, a new one follows."""
    beside(killed, LAST).write_bytes(content)
    with SqliteJournal.open(killed) as journal:
        assert journal.gap is None
        journal.append(knitted(1, CAP))
    noted = last_kept(killed)
    assert noted is not None
    assert noted.id == knitted(1, CAP)[-1].id


def test_where_no_note_can_be_written_the_journal_goes_on(tmp_path: Path) -> None:
    """A folder in the place of the note costs the note, not the row."""
    path = tmp_path / "hut.walesong"
    beside(path, LAST).mkdir()
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(2))
        assert journal.records() == tuple(knitted(2))


def test_two_programs_raise_no_false_alarm(tmp_path: Path) -> None:
    """Written in turns by two programs, the note may say too little, never too much."""
    path = tmp_path / "hut.walesong"
    sleeve, cap = knitted(9), knitted(9, CAP)
    with SqliteJournal.open(path) as one, SqliteJournal.open(path) as other:
        for mine, theirs in zip(sleeve, cap, strict=True):
            one.append([mine])
            other.append([theirs])
    with SqliteJournal.open(path) as journal:
        assert journal.gap is None
        assert len(journal.records()) == 20


def test_a_row_written_while_it_is_read_is_no_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is acknowledged after the reading began is neither damaged nor missing in it."""
    path = tmp_path / "hut.walesong"
    note = beside(path, LAST)
    with SqliteJournal.open(path) as journal:
        journal.append(tuple(knitted(50)))
        before = note.read_bytes()
        reader = sqlite_tables.connect(path, "ro", 0)
        reader.execute("BEGIN").execute("SELECT count(*) FROM record").fetchone()
        journal.append(tuple(knitted(51))[-1:])
        after = note.read_bytes()
        note.write_bytes(before)

        def acknowledged_now(*given: object) -> object:
            note.write_bytes(after)
            return sqlite_tables.check(*given)  # type: ignore[arg-type]

        # The log is read with the row in it, SQLite's reader began before it.
        readers = [reader, reader]
        monkeypatch.setattr(sqlite_file, "connect", lambda *_: readers.pop())
        monkeypatch.setattr(sqlite_file, "check", acknowledged_now)
        monkeypatch.setattr(sqlite_file, "closing", nullcontext)
        opened = sqlite_file.opened_to_read(path, 0)
        assert opened.gap is None
        opened.connection.close()
