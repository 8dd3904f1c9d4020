"""
The SQLite file of a journal: how it is opened, and replaced by a mended one.

A file that is not whole, not ours or newer than we are is refused before anything in it changes.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from dataclasses import dataclass
from enum import StrEnum
from time import monotonic, sleep
from typing import TYPE_CHECKING, Final

from engine.journal.carving import carved, forgotten_commits
from engine.journal.errors import (
    DamagedJournalError,
    LostJournalError,
    NewerJournalError,
    NotAJournalError,
    ReadOnlyJournalError,
    UnreachableJournalError,
)
from engine.journal.last_kept import gap, last_kept
from engine.journal.on_disk import BESIDE, LAST, beside, dated_copies, holds_something, sync_folder
from engine.journal.sqlite_errors import may_write, speaking
from engine.journal.sqlite_tables import (
    APPLICATION_ID,
    add_later_tables,
    check,
    connect,
    make_tables,
)
from engine.records import SCHEMA

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from engine.journal.journal import Gap, Tally
    from engine.journal.last_kept import LastKept

_PAUSE_S: Final = 0.01

# https://www.sqlite.org/fileformat2.html, section 1.3: the database header.
_MAGIC: Final = b"SQLite format 3\x00"
_USER_VERSION: Final = slice(60, 64)
_APPLICATION: Final = slice(68, 72)
_WRITE_VERSION: Final = 18
_HEADER_BYTES: Final = 100
_WRITE_AHEAD: Final = 2


class Durability(StrEnum):
    """How the file system lets us keep our word that what was acknowledged is on disk."""

    WRITE_AHEAD = "write_ahead"
    """A write-ahead log, synced at every commit."""
    ROLLBACK = "rollback"
    """A rollback journal, synced with its folder at every commit; slower."""


# --- opening -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Opened:
    """An open file: what it holds of each piece, and what is missing of what was acknowledged."""

    connection: sqlite3.Connection
    tallies: dict[str, Tally]
    gap: Gap | None
    durability: Durability | None = None


def opened(path: Path, wait_s: float) -> Opened:
    """
    Open the journal file for writing, or make it where there is none, and check all of it.

    `wait_s` is how many seconds to wait for another program to let go.
    Raises a `JournalError` when that cannot be; the file is then as it was.
    """
    with speaking(path), _with_copy(path):
        _finish_mending(path)
        look(path)
        if not holds_something(path) and last_kept(path) is not None and dated_copies(path):
            raise LostJournalError(f'The journal "{path}" is gone.')
        for place in (path.parent, path):
            if place.exists() and not may_write(place):
                raise ReadOnlyJournalError(f'The journal "{path}" cannot be written there.')
        noted = last_kept(path)
        _look_at_log(path, noted, wait_s)
        connection = connect(path, "rwc", wait_s)
        try:
            tallies, durability = _prepare(connection, path, wait_s)
            sync_folder(path)
            missing = gap(noted, tallies, last_is_there=_last_is_there(connection, noted))
        except BaseException:
            connection.close()
            raise
        return Opened(connection, tallies, missing, durability)


def _last_is_there(connection: sqlite3.Connection, noted: LastKept | None) -> bool:
    if noted is None:
        return True
    found = connection.execute(
        "SELECT 1 FROM record WHERE piece = ? AND lamport = ? AND id = ?",
        (noted.piece, noted.lamport, bytes.fromhex(noted.id)),
    )
    return found.fetchone() is not None


def opened_to_read(path: Path, wait_s: float) -> Opened:
    """
    Open an existing journal file without changing anything, and check all of it; may raise.

    An empty file, as a kill leaves it that came while it was made, is a journal without records.
    Where putting a new file in its place was interrupted, the new one is read.
    """
    new = beside(path, "-mended")
    if new.is_file():
        return opened_to_read(new, wait_s)
    with speaking(path), _with_copy(path):
        if not path.is_file():
            raise UnreachableJournalError(f'There is no journal "{path}".')
        look(path)
        # Before all else that is read: somebody may be writing, and what is noted later is not yet
        # in what was read before.
        noted = last_kept(path)
        if path.stat().st_size == 0:
            return Opened(_empty(), {}, gap(noted, {}, last_is_there=False))
        with path.open("rb") as file:
            write_ahead = file.read(_HEADER_BYTES)[_WRITE_VERSION] == _WRITE_AHEAD
        # A reader of a write-ahead log has to make files beside it, which it cannot on a medium
        # that is read-only and need not where no log is: then nobody is writing.
        alone = write_ahead and not beside(path, "-wal").exists()
        _look_at_log(path, noted, wait_s)
        connection = connect(path, "ro&immutable=1" if alone else "ro", wait_s)
        try:
            _confirm(connection, path)
            tallies = check(connection, path)
            missing = gap(noted, tallies, last_is_there=_last_is_there(connection, noted))
        except BaseException:
            connection.close()
            raise
        return Opened(connection, tallies, missing)


@contextmanager
def _with_copy(path: Path) -> Iterator[None]:
    """Name the newest dated copy in what is said of a damaged journal."""
    try:
        yield
    except DamagedJournalError as error:
        error.copy = next((copy.stem for copy in dated_copies(path)), "")
        raise


def _empty() -> sqlite3.Connection:
    """Return a journal without records that nothing can be written to."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.text_factory = bytes
    make_tables(connection)
    connection.execute("PRAGMA query_only = ON")
    return connection


def refuse_no_file(path: Path) -> None:
    """Refuse what stands in the place of a journal and is no file: nothing may be put there."""
    if path.is_dir():
        raise UnreachableJournalError(f'"{path}" is a folder, not a journal.')
    if path.exists() and not path.is_file():
        raise UnreachableJournalError(f'"{path}" is a device or a pipe, not a journal.')


def look(path: Path) -> None:
    """Refuse what is no journal of ours by its first bytes, before SQLite touches anything."""
    refuse_no_file(path)
    if not path.parent.is_dir():
        raise UnreachableJournalError(f'There is no folder "{path.parent}".')
    size = path.stat().st_size if path.exists() else 0
    if size == 0:
        # SQLite would throw the log away.
        if holds_something(beside(path, "-wal")):
            raise DamagedJournalError(f'The journal "{path}" is lost, but its log is still there.')
        return
    if holds_something(beside(path, "-journal")):
        return  # An interrupted commit: only SQLite knows how the file really begins.
    with path.open("rb") as file:
        header = file.read(_HEADER_BYTES)
    ours = (
        header.startswith(_MAGIC)
        and int.from_bytes(header[_APPLICATION]) == APPLICATION_ID
        and len(header) == _HEADER_BYTES
    )
    _refuse(path, ours=ours, version=int.from_bytes(header[_USER_VERSION]))


def _look_at_log(path: Path, noted: LastKept | None, wait_s: float) -> None:
    """
    Refuse a journal that is damaged in its log or seen with it, before SQLite mends it its way.

    SQLite plays a log up to its first damaged frame and then forgets the rest without a word. One
    transaction there may be what was being written when the power failed, or is being written by
    somebody now, and was never acknowledged; more than one is work that would be lost, and so is
    one that is `noted` beside as acknowledged (before the log was read).
    """
    log = beside(path, "-wal")
    if not holds_something(log) or not holds_something(path):
        return
    in_file, in_log = path.read_bytes(), log.read_bytes()
    with closing(connect(path, "ro", wait_s)) as connection:
        try:
            known = {name for (name,) in connection.execute("SELECT id FROM record")}
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF in {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR}:
                return  # No shared memory here: the log will be played without it.
            raise
        check(connection, path)
    acknowledged = noted is not None and bytes.fromhex(noted.id) not in known
    if forgotten_commits(in_file, in_log, known) > (0 if acknowledged else 1):
        raise DamagedJournalError(f'The log of the journal "{path}" is damaged.')


def _refuse(path: Path, *, ours: bool, version: int) -> None:
    if not ours:
        if any(carved(path)) or any(carved(beside(path, "-wal"))):
            raise DamagedJournalError(f'The journal "{path}" is damaged at its beginning.')
        raise NotAJournalError(f'The file "{path}" is not a journal.')
    if version > SCHEMA:
        raise NewerJournalError(
            f'The journal "{path}" was written by a newer Walesong'
            f" (schema {version}, this one reads {SCHEMA})."
        )
    if version < 1:
        raise DamagedJournalError(f'The journal "{path}" is damaged.')


def _prepare(
    connection: sqlite3.Connection, path: Path, wait_s: float
) -> tuple[dict[str, Tally], Durability]:
    """Make the tables where there are none, prove that it can be written, check it, set the log."""
    _leave_log_without_shared_memory(connection)
    connection.execute("PRAGMA fullfsync = ON")
    connection.execute("PRAGMA checkpoint_fullfsync = ON")
    connection.execute("PRAGMA synchronous = EXTRA")
    make_tables(connection)
    _confirm(connection, path)
    tallies = check(connection, path)
    add_later_tables(connection)
    if not _writes_ahead(connection, wait_s):
        return tallies, Durability.ROLLBACK
    connection.execute("PRAGMA synchronous = FULL")
    return tallies, Durability.WRITE_AHEAD


def _writes_ahead(connection: sqlite3.Connection, wait_s: float) -> bool:
    """Set the write-ahead log; SQLite itself would not wait while another program does the same."""
    give_up = monotonic() + wait_s
    while True:
        try:
            (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or monotonic() > give_up:
                raise
            sleep(_PAUSE_S)
        else:
            return bool(mode == b"wal")


def _leave_log_without_shared_memory(connection: sqlite3.Connection) -> None:
    """
    Turn a write-ahead log into a rollback journal where the file system cannot share memory.

    Only a file that was brought there from elsewhere is in that state; with the file to itself
    SQLite needs no shared memory (https://www.sqlite.org/wal.html, section 8).
    """
    try:
        connection.execute("SELECT count(*) FROM sqlite_master")
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF not in {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR}:
            raise
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA locking_mode = NORMAL")
        connection.execute("SELECT count(*) FROM sqlite_master")


def _confirm(connection: sqlite3.Connection, path: Path) -> None:
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    _refuse(path, ours=application == APPLICATION_ID, version=version)


# --- another file in its place, the last step ----------------------------------------------------


def swap_in_mended(path: Path) -> None:
    """Put the complete new file (`path` with "-mended") in the place of the one that is there."""
    with speaking(path):
        sync_folder(path)
        _finish_mending(path)


def _finish_mending(path: Path) -> None:
    """
    Go on with a swap that may have been interrupted.

    The old log goes first: SQLite would play it into the new file.
    """
    mended = beside(path, "-mended")
    if not mended.is_file():
        return
    for suffix in (*BESIDE, LAST):
        beside(path, suffix).unlink(missing_ok=True)
    mended.replace(path)
    sync_folder(path)
