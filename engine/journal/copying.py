"""
Copies of a journal: made aside, read back whole, and only then moved into place; and put back.

What lies in that place and holds anything that the new file does not is kept beside under another
name, with its log: a log that stayed would be played into the new file.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.journal.errors import (
    BusyJournalError,
    DamagedJournalError,
    JournalError,
    NameTakenError,
    NotAJournalError,
    UnreachableJournalError,
)
from engine.journal.exchange import read_file
from engine.journal.on_disk import (
    COPIES,
    anything_at,
    beside,
    dated_copies,
    keep_beside,
    sync_file,
)
from engine.journal.sqlite_errors import speaking
from engine.journal.sqlite_file import look, opened_to_read, refuse_no_file, swap_in_mended
from engine.journal.sqlite_tables import check, connect, insert, make_tables, settle

if TYPE_CHECKING:
    from pathlib import Path

    from engine.records import Record

_KEPT_COPIES: Final = 7
"""So many dated copies are kept, and the largest one besides."""
_ROOM: Final = 10
"""A dated copy is made where there is room for so many."""
_WAIT_S: Final = 5.0
_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Copied:
    """
    What is in place now.

    `records` is how many it holds; `kept` is where the file lies that was there before (None: there
    was none, or all of it is in the new one), `only_there` how many records only that one holds
    (None: it cannot be read whole).
    """

    records: int
    kept: Path | None = None
    only_there: int | None = 0


def copied(connection: sqlite3.Connection, path: Path, to: Path, *, replace: bool) -> Copied:
    """
    Copy all of the journal `path` to the file `to`.

    Raises a `JournalError` when there is a file of that name and it is not to be replaced, when it
    is no journal, or when the copy does not read back whole; all is then as it was.
    """
    with speaking(path):
        if to.exists() and to.samefile(path):
            raise ValueError("A journal cannot be its own backup.")
        settle(connection)
        wanted = _ids(connection)
    with speaking(to):
        refuse_taken(to, replace=replace)
        part = _fresh_part(to)
        try:
            with closing(connect(part, "rwc", 0)) as copy:
                connection.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
            return _moved(part, to, wanted)
        except BaseException:
            part.unlink(missing_ok=True)
            raise


def restored(backup: Path, to: Path) -> Copied:
    """
    Put what a backup holds (a journal, or lines of JSON) in the place of the journal `to`.

    What is there now is kept beside unless the backup holds all of it. The backup is only read.
    Raises a `JournalError` when it is not whole or another program has `to` open.
    """
    with speaking(to):
        if to.exists() and to.samefile(backup):
            raise ValueError("A journal cannot be restored from itself.")
        refuse_no_file(to)
        part = _fresh_part(to)
        try:
            _write_part(part, backup)
            with closing(connect(part, "ro", 0)) as made:
                wanted = _ids(made)
            return _moved(part, to, wanted)
        except BaseException:
            part.unlink(missing_ok=True)
            raise


def only_in(path: Path, copy: Path) -> int | None:
    """Count the records that only the journal `path` holds; None if it cannot be read whole."""
    if not anything_at(path):
        return None
    with closing(opened_to_read(copy, _WAIT_S).connection) as other:
        known = _ids(other)
    try:
        with closing(opened_to_read(path, _WAIT_S).connection) as own:
            return len(_ids(own) - known)
    except JournalError:
        return None


def dated_copy(path: Path, today: str) -> Path | None:
    """
    Copy the journal `path` into the folder of its dated copies, at most once a day.

    `today` is a date in ISO 8601. Returns the new copy; None if there is one of today, nothing to
    copy, too little room beside it, or `today` is no date. Older copies than the newest few are
    removed, never the largest.
    Raises a `JournalError` when the journal cannot be read or the copy not be written.
    """
    to = beside(path, COPIES) / f"{today}{path.suffix}"
    if not _DATE.fullmatch(today) or to.exists() or not path.is_file():
        return None
    with speaking(path):
        if shutil.disk_usage(path.parent).free < _ROOM * path.stat().st_size:
            return None  # The room that is left is for the rows to come.
    with closing(opened_to_read(path, _WAIT_S).connection) as connection:
        if not _ids(connection):
            return None
        with speaking(to):
            to.parent.mkdir(exist_ok=True)
        copied(connection, path, to, replace=False)
    with speaking(to):
        known = dated_copies(path)
        largest = max(known, key=lambda copy: copy.stat().st_size)
        for old in known[_KEPT_COPIES:]:
            if old != largest:
                old.unlink(missing_ok=True)
        for unfinished in (*to.parent.glob("*-part"), *to.parent.glob("*-mended")):
            unfinished.unlink(missing_ok=True)
    return to


def refuse_taken(to: Path, *, replace: bool) -> None:
    """Refuse a place that cannot take a copy: a folder, another kind of file, a name in use."""
    try:
        look(to)
    except DamagedJournalError:
        if not replace:
            raise NameTakenError(f'There is a damaged journal "{to}" already.') from None
    if not replace and anything_at(to):
        raise NameTakenError(f'There is a file "{to}" already, or the log of one.')


# --- the steps -----------------------------------------------------------------------------------


def _fresh_part(to: Path) -> Path:
    if not to.absolute().parent.is_dir():
        raise UnreachableJournalError(f'There is no folder "{to.parent}".')
    part = beside(to, "-part")
    for suffix in ("", "-wal", "-journal", "-shm"):
        beside(part, suffix).unlink(missing_ok=True)
    return part


def _write_part(part: Path, backup: Path) -> None:
    """Write a whole journal with everything that the backup holds."""
    try:
        with (
            closing(opened_to_read(backup, _WAIT_S).connection) as connection,
            closing(connect(part, "rwc", 0)) as copy,
        ):
            connection.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
    except NotAJournalError:
        reading = read_file(backup)
        if reading.bad_lines:
            raise DamagedJournalError(f'"{backup}": {reading.bad_lines[0]}') from None
        part.unlink(missing_ok=True)
        _write_records(part, reading.records)


def _write_records(part: Path, records: tuple[Record, ...]) -> None:
    with closing(connect(part, "rwc", 0)) as connection:
        connection.execute("PRAGMA synchronous = EXTRA")
        make_tables(connection)
        insert(connection, records)


def _ids(connection: sqlite3.Connection) -> set[bytes]:
    return {name for (name,) in connection.execute("SELECT id FROM record")}


def _moved(part: Path, to: Path, wanted: set[bytes]) -> Copied:
    """Read the new file back whole; keep what it would hide; put it in place."""
    with closing(connect(part, "ro", 0)) as made:
        check(made, part)
        found = _ids(made)
    if not wanted <= found:
        raise DamagedJournalError(f'The copy "{to}" did not read back whole.')
    sync_file(part)
    kept, only_there = _kept(to, found)
    try:
        _nobody_has_it_open(to)
    except BaseException:
        if kept is not None:
            for suffix in ("", "-wal", "-journal"):
                beside(kept, suffix).unlink(missing_ok=True)
        raise
    part.replace(beside(to, "-mended"))
    swap_in_mended(to)
    return Copied(len(found), kept, only_there)


def _kept(to: Path, found: set[bytes]) -> tuple[Path | None, int | None]:
    """Keep beside what is in the place of the new file, unless that holds all of it."""
    if not anything_at(to):
        return None, 0
    try:
        with closing(opened_to_read(to, _WAIT_S).connection) as old:
            only_there: int | None = len(_ids(old) - found)
    except JournalError:
        only_there = None  # What cannot be read whole is kept.
    if only_there == 0:
        return None, 0
    return keep_beside(to, "before"), only_there


def _nobody_has_it_open(to: Path) -> None:
    """Raise BusyJournalError where another program works in the file."""
    if not to.is_file():
        return
    try:
        with closing(connect(to, "rw", 0)) as connection:
            connection.execute("PRAGMA locking_mode = EXCLUSIVE")
            connection.execute("BEGIN EXCLUSIVE")
            connection.execute("ROLLBACK")
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY:
            raise BusyJournalError(f'Another program has the journal "{to}" open.') from error
    except sqlite3.DatabaseError:
        pass  # It is damaged: nobody can open it.
