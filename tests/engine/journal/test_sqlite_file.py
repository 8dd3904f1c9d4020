"""The journal's file: what it promises the disk, and what it refuses without touching it."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest

from engine.journal.errors import (
    BusyJournalError,
    DamagedJournalError,
    DiskFullError,
    GoneJournalError,
    JournalError,
    NewerJournalError,
    NotAJournalError,
    ReadOnlyJournalError,
    UnreachableJournalError,
)
from engine.journal.on_disk import beside
from engine.journal.sqlite import SqliteJournal
from engine.journal.sqlite_file import Durability
from engine.records import SCHEMA
from tests.made_up import CAP, knitted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where a journal may be."""
    return tmp_path / "hut evenings é #1?.walesong"


@pytest.fixture
def written(path: Path) -> Path:
    """Return a closed journal with a sleeve of three rows."""
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
    return path


def _plain(path: Path) -> sqlite3.Connection:
    """Return a connection that knows nothing of us."""
    return sqlite3.connect(path, isolation_level=None)


def _files(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.iterdir()}


# --- what is on the disk -------------------------------------------------------------------------


def test_opens_again_with_all_that_was_written(path: Path) -> None:
    """What one opening wrote the next reads; in between there is one file, and its note."""
    for row in range(1, 4):
        with SqliteJournal.open(path) as journal:
            journal.append(knitted(row))
        assert sorted(file.name for file in path.parent.iterdir()) == [
            path.name,
            f"{path.name}-last",
        ]
    with SqliteJournal.open(path) as journal:
        assert journal.records() == tuple(knitted(3))


def test_every_commit_is_synced(path: Path) -> None:
    """The connection runs with the settings under which SQLite promises durability."""
    with SqliteJournal.open(path) as journal:
        assert journal.durability is Durability.WRITE_AHEAD
        settings = {
            name: journal._connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous", "fullfsync", "checkpoint_fullfsync")
        }
        full = 2  # https://www.sqlite.org/pragma.html#pragma_synchronous
        assert settings == {
            "journal_mode": b"wal",
            "synchronous": full,
            "fullfsync": 1,
            "checkpoint_fullfsync": 1,
        }
        assert journal._connection.isolation_level is None


def test_is_marked_as_ours(written: Path) -> None:
    """The header of the file carries our number and the schema, at the places SQLite documents."""
    header = written.read_bytes()[:100]
    assert header[68:72] == b"WALE"
    assert int.from_bytes(header[60:64]) == SCHEMA


def test_says_how_new_it_is(path: Path) -> None:
    """The header carries the newest schema of a record in it, so old records stay readable."""
    old, new = (
        replace(record, schema=schema) for record, schema in zip(knitted(1), (1, 2), strict=True)
    )
    for records, schema in (([], 1), ([old], 1), ([new], 2), ([old], 2)):
        with SqliteJournal.open(path) as journal:
            journal.append(records)
        assert int.from_bytes(path.read_bytes()[60:64]) == schema


def test_a_record_is_never_changed_or_deleted(written: Path) -> None:
    """Even somebody with the file in another program cannot change, delete or replace a record."""
    with closing(_plain(written)) as plain:
        for statement in (
            "UPDATE record SET content = 'other'",
            "UPDATE record SET lamport = 7 WHERE lamport = 1",
            "DELETE FROM record",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="never"):
                plain.execute(statement)
        plain.execute("INSERT OR REPLACE INTO record SELECT piece, lamport, id, 'x' FROM record")
    with SqliteJournal.open(written) as journal:
        assert journal.records() == tuple(knitted(3))


def test_content_can_be_checked_by_anybody(written: Path) -> None:
    """In the file stand the very bytes whose SHA-256 is the id."""
    with closing(_plain(written)) as plain:
        rows = plain.execute("SELECT hex(id), content FROM record ORDER BY lamport").fetchall()
    assert [name.lower() for name, _ in rows] == [one.id for one in knitted(3)]
    assert all(content.startswith('{"after":[') for _, content in rows)


# --- what goes wrong while writing ---------------------------------------------------------------


def test_a_full_file_changes_nothing_and_the_journal_goes_on(path: Path) -> None:
    """When there is no room, nothing of the batch is kept; with room again it goes on."""
    sleeve, cap = knitted(5), knitted(500, CAP)
    with SqliteJournal.open(path) as journal:
        journal.append(sleeve)
        pages = journal._connection.execute("PRAGMA page_count").fetchone()[0]
        journal._connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        for _ in range(2):
            with pytest.raises(DiskFullError, match=r"no room left .* Free some space"):
                journal.append(cap)
            assert not journal._connection.in_transaction
            assert journal.records() == tuple(sleeve)
        journal._connection.execute("PRAGMA max_page_count = 1000000")
        journal.append(cap)
        assert journal.records(CAP) == tuple(cap)
    with SqliteJournal.open(path) as journal:
        assert set(journal.records()) == {*sleeve, *cap}


@pytest.mark.parametrize("after", [0, 1, 10, 100, 400])
def test_an_interruption_changes_nothing(path: Path, after: int) -> None:
    """Stopped at any step, even again while taking back: nothing is half done, and it goes on."""
    steps = iter(range(after))
    sleeve, cap = knitted(3), knitted(200, CAP)
    with SqliteJournal.open(path) as journal:
        journal.append(sleeve)
        journal._connection.set_progress_handler(lambda: next(steps, None) is None, 5)
        with pytest.raises(JournalError, match="SQLITE_INTERRUPT"):
            journal.append(cap)
        journal._connection.set_progress_handler(None, 0)
        assert journal.records() == tuple(sleeve)
        journal.append(cap)
        assert journal.records(CAP) == tuple(cap)


def test_waits_for_another_writer(written: Path) -> None:
    """A journal that is locked for too long says so, and nothing of the batch is written."""
    with SqliteJournal.open(written, wait_s=0.05) as journal, closing(_plain(written)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BusyJournalError, match=r"Another program .* Close the other"):
            journal.append(knitted(4)[-1:])
        assert journal.records() == tuple(knitted(3))
        other.execute("ROLLBACK")
        journal.append(knitted(4)[-1:])
        assert journal.records() == tuple(knitted(4))


def test_another_writer_keeps_it_from_opening(written: Path) -> None:
    """Somebody who writes without end keeps us from opening; we wait, then say so."""
    with closing(_plain(written)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BusyJournalError):
            SqliteJournal.open(written, wait_s=0.05)


def test_two_have_it_open(written: Path) -> None:
    """Two programs may have one journal open; each sees what the other has written, and that."""
    cap = knitted(1, CAP)
    with SqliteJournal.open(written) as one, SqliteJournal.open(written) as other:
        one.append(cap)
        assert other.changed_elsewhere()
        assert not other.changed_elsewhere()
        assert not one.changed_elsewhere()
        assert other.records(CAP) == tuple(cap)
        other.append(knitted(4))
        assert one.records()[-1] == knitted(4)[-1]
        assert one.pieces() == other.pieces()
        assert [piece.mark for piece in one.pieces()] == [piece.mark for piece in other.pieces()]
        assert one.pieces()[0].name == "mug sleeve"


@pytest.mark.parametrize("replaced", [False, True])
def test_notices_that_the_file_is_gone(written: Path, *, replaced: bool) -> None:
    """Written into a deleted file everything would be lost: that is refused with a sentence."""
    with SqliteJournal.open(written) as journal:
        moved = written.with_name("moved")
        written.rename(moved)
        if replaced:
            shutil.copy(moved, written)
        with pytest.raises(GoneJournalError, match="moved or deleted"):
            journal.append(knitted(4))
        written.unlink(missing_ok=True)
        moved.rename(written)
        journal.append(knitted(4))
    with SqliteJournal.open(written) as journal:
        assert journal.records() == tuple(knitted(4))


# --- what is refused -----------------------------------------------------------------------------


def _refusals(path: Path) -> Iterator[JournalError]:
    """Open the journal in both ways and return how each is refused."""
    for opening in (SqliteJournal.open, SqliteJournal.open_to_read):
        with pytest.raises(JournalError) as refused:
            opening(path)
        yield refused.value


@pytest.mark.parametrize(
    "content",
    [
        b"Row 12: k2, p2 to end. I do not like this yarn.\n" * 20,
        b"RIFF\x24\x08\x00\x00WAVE",
        b"SQLite format 3\x00",
        b"\0" * 5000,
    ],
)
def test_refuses_what_is_no_journal(path: Path, content: bytes) -> None:
    """A file of another kind is refused by name and left as it is."""
    path.write_bytes(content)
    for refusal in _refusals(path):
        assert isinstance(refusal, NotAJournalError)
        assert f'"{path}" is not a journal. Choose another file' in str(refusal)
    assert _files(path.parent) == {path.name: content}


def test_refuses_the_database_of_somebody_else(path: Path) -> None:
    """An SQLite file of another program is not ours to write in."""
    with closing(_plain(path)) as plain:
        plain.execute("CREATE TABLE yarn (colour)")
    before = _files(path.parent)
    for refusal in _refusals(path):
        assert isinstance(refusal, NotAJournalError)
    assert _files(path.parent) == before


def test_refuses_a_newer_format(written: Path) -> None:
    """A journal of a newer Walesong is refused and not one byte of it changes."""
    with closing(_plain(written)) as plain:
        plain.execute("PRAGMA journal_mode = DELETE")
        plain.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    before = _files(written.parent)
    for refusal in _refusals(written):
        assert isinstance(refusal, NewerJournalError)
        assert f"newer Walesong (schema {SCHEMA + 1}, this one reads {SCHEMA})" in str(refusal)
    assert _files(written.parent) == before


def test_refuses_a_newer_format_that_only_the_log_knows(written: Path) -> None:
    """The same when the newer Walesong was killed before its log went into the file."""
    with closing(_plain(written)) as newer:
        newer.execute("PRAGMA journal_mode = WAL")
        newer.execute(f"PRAGMA user_version = {SCHEMA + 1}")
        for name, content in _files(written.parent).items():
            (written.parent / f"killed {name}").write_bytes(content)
    for refusal in _refusals(written.parent / f"killed {written.name}"):
        assert isinstance(refusal, NewerJournalError)


def test_refuses_a_newer_record(written: Path) -> None:
    """A record of a newer schema in an older file is called that when it is read."""
    content = b'{"after":[],"lamport":9,"piece":"x","schema":99,"writer":"w"}'
    name = sha256(content).digest()
    with closing(_plain(written)) as plain:
        plain.execute("INSERT INTO record VALUES ('x', 9, ?, ?)", (name, content.decode()))
    with SqliteJournal.open(written) as journal:
        with pytest.raises(NewerJournalError, match="schema 99"):
            journal.records()
        with pytest.raises(NewerJournalError):
            journal.records("x")
        assert journal.records(knitted(0)[0].piece) == tuple(knitted(3))


def test_refuses_a_log_without_its_journal(written: Path) -> None:
    """When the file is lost but its log is there, the log is not thrown away with a new file."""
    kept = _files(written.parent)
    with SqliteJournal.open(written) as journal:
        journal.append(knitted(9))
        kept = _files(written.parent)
    written.unlink()
    log = beside(written, "-wal")
    log.write_bytes(kept[log.name])
    with pytest.raises(DamagedJournalError, match="its log is still there"):
        SqliteJournal.open(written)
    written.touch()
    for refusal in _refusals(written):
        assert isinstance(refusal, DamagedJournalError)
    assert log.read_bytes() == kept[log.name]


@pytest.mark.parametrize("where", ["folder", "no folder", "file as folder"])
def test_refuses_what_cannot_be_a_place(tmp_path: Path, where: str) -> None:
    """A folder in its place, or no folder to put it in, is said in one sentence."""
    (tmp_path / "a file").touch()
    places = {
        "folder": tmp_path,
        "no folder": tmp_path / "none" / "x.walesong",
        "file as folder": tmp_path / "a file" / "x.walesong",
    }
    for refusal in _refusals(places[where]):
        assert isinstance(refusal, UnreachableJournalError)
        assert str(refusal).count(". ") == 1
    assert [file.name for file in tmp_path.iterdir()] == ["a file"]


def test_reading_needs_a_journal(path: Path) -> None:
    """Opening only to read begins nothing."""
    with pytest.raises(UnreachableJournalError, match="There is no journal"):
        SqliteJournal.open_to_read(path)
    assert not path.exists()


def test_an_empty_file_is_a_beginning(path: Path) -> None:
    """A file that was made but never written to, as after a crash at the very start, will do."""
    path.touch()
    with SqliteJournal.open_to_read(path) as journal:
        assert (journal.records(), journal.pieces()) == ((), ())
        with pytest.raises(ReadOnlyJournalError):
            journal.append(knitted(1))
    assert path.stat().st_size == 0
    with SqliteJournal.open(path) as journal:
        assert journal.records() == ()


# --- reading only --------------------------------------------------------------------------------


def test_reading_changes_nothing(written: Path) -> None:
    """A journal opened to be read refuses to be written and leaves no trace."""
    before = _files(written.parent)
    with SqliteJournal.open_to_read(written) as journal:
        assert journal.durability is None
        assert journal.records() == tuple(knitted(3))
        assert [piece.name for piece in journal.pieces()] == ["mug sleeve"]
        with pytest.raises(ReadOnlyJournalError, match="may not be written"):
            journal.append(knitted(4))
    assert _files(written.parent) == before


def test_reading_while_somebody_writes(written: Path) -> None:
    """A reader sees what a running program has committed, though it is still in the log."""
    with SqliteJournal.open(written) as writing:
        writing.append(knitted(4))
        with SqliteJournal.open_to_read(written) as reading:
            assert reading.records() == tuple(knitted(4))


# --- where there is no shared memory -------------------------------------------------------------


@pytest.fixture
def without_shared_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    """Open files as on a file system that cannot share memory (SQLite's "unix-dotfile")."""
    if os.name != "posix":
        pytest.skip("this way of looking at files is only in SQLite for POSIX")
    real = sqlite3.connect

    def connect(name: str, **options: object) -> sqlite3.Connection:
        return real(f"{name}&vfs=unix-dotfile", **options)  # type: ignore[call-overload,no-any-return]

    monkeypatch.setattr(sqlite3, "connect", connect)


@pytest.mark.usefixtures("without_shared_memory")
def test_does_without_a_log(path: Path) -> None:
    """There the rollback journal takes the log's place, with its strictest sync, and says so."""
    for row in range(1, 4):
        with SqliteJournal.open(path) as journal:
            assert journal.durability is Durability.ROLLBACK
            (synchronous,) = journal._connection.execute("PRAGMA synchronous").fetchone()
            assert synchronous == 3  # EXTRA
            journal.append(knitted(row))
            assert journal.records() == tuple(knitted(row))


def test_brings_a_log_over(path: Path, request: pytest.FixtureRequest) -> None:
    """A journal brought there with a log that is not in the file yet loses nothing."""
    killed = path.with_name("killed.walesong")
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(7))
        for suffix in ("", "-wal"):
            shutil.copy(beside(path, suffix), beside(killed, suffix))
    request.getfixturevalue("without_shared_memory")
    with SqliteJournal.open(killed) as journal:
        assert journal.durability is Durability.ROLLBACK
        assert journal.records() == tuple(knitted(7))
        journal.append(knitted(8))
        assert journal.records() == tuple(knitted(8))


# --- copies --------------------------------------------------------------------------------------


def test_a_backup_is_whole_without_its_log(written: Path, tmp_path: Path) -> None:
    """A backup of a journal in use holds everything, in one file that opens anywhere."""
    to = tmp_path / "copies" / "backup.walesong"
    to.parent.mkdir()
    with SqliteJournal.open(written) as journal:
        journal.append(knitted(4))
        journal.backup(to)
        journal.append(knitted(5))
        assert [file.name for file in to.parent.iterdir()] == [to.name]
        with SqliteJournal.open_to_read(to) as copy:
            assert copy.records() == tuple(knitted(4))
        journal.backup(to, replace=True)
    with SqliteJournal.open(to) as copy:
        assert copy.records() == tuple(knitted(5))
        assert copy.durability is Durability.WRITE_AHEAD


def test_a_backup_replaces_only_a_journal(written: Path, tmp_path: Path) -> None:
    """A slip of the finger does not overwrite a file of another kind, nor the journal itself."""
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear hut crew,")
    with SqliteJournal.open(written) as journal:
        with pytest.raises(NotAJournalError):
            journal.backup(letter)
        with pytest.raises(ValueError, match="its own backup"):
            journal.backup(written)
        with pytest.raises(UnreachableJournalError):
            journal.backup(tmp_path / "none" / "backup.walesong")
        assert journal.records() == tuple(knitted(3))
    assert letter.read_text() == "Dear hut crew,"
    names = [written.name, f"{written.name}-last", letter.name]
    assert sorted(file.name for file in tmp_path.iterdir()) == sorted(names)


# --- sentences -----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", JournalError.__subclasses__())
def test_every_error_says_what_happened_and_what_helps(kind: type[JournalError]) -> None:
    """Every error is two sentences: what happened, and what to do."""
    error = kind("It did not work.")
    assert str(error) == f"It did not work. {kind.remedy}"
    assert error.remedy.endswith(".")
    assert error.remedy != JournalError.remedy
