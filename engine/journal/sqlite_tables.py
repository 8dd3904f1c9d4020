"""
The tables of a journal in SQLite: what they look like, how they are made, written and checked.

The database itself refuses to change or delete a record, and passes over one that it has.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import contextmanager, suppress
from hashlib import sha256
from typing import TYPE_CHECKING, Final

from engine.journal.errors import DamagedJournalError
from engine.journal.journal import encoded

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from engine.records import Record

APPLICATION_ID: Final = 0x57414C45
"""The number that marks an SQLite file as ours ("WALE" in ASCII)."""

_TABLES: Final = (
    """CREATE TABLE record (
    piece TEXT NOT NULL,
    lamport INTEGER NOT NULL,
    id BLOB NOT NULL CHECK (length(id) = 32),
    content TEXT NOT NULL,
    PRIMARY KEY (piece, lamport, id)
) WITHOUT ROWID""",
    """CREATE TRIGGER kept_once BEFORE INSERT ON record
WHEN EXISTS (
    SELECT 1 FROM record WHERE piece = NEW.piece AND lamport = NEW.lamport AND id = NEW.id
)
BEGIN SELECT RAISE(IGNORE); END""",
    """CREATE TRIGGER never_changed BEFORE UPDATE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END""",
    """CREATE TRIGGER never_deleted BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END""",
)


def connect(path: Path, mode: str, wait_s: float) -> sqlite3.Connection:
    """Return a connection without transactions of its own, that reads text as bytes."""
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=wait_s, isolation_level=None
    )
    connection.text_factory = bytes  # Damaged text must not fail before it can be looked at.
    return connection


def make_tables(connection: sqlite3.Connection) -> None:
    """Make the tables of a journal, all or none, in a file that has none yet."""
    with transaction(connection):
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if not tables:
            for statement in _TABLES:
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute("PRAGMA user_version = 1")


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Commit what is done inside, or take back all of it when anything is raised."""
    settle(connection)
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        # If even this fails, the first error is the one to tell, and the next use does it again.
        with suppress(sqlite3.Error):
            settle(connection)
        raise


def settle(connection: sqlite3.Connection) -> None:
    """Take back what a failed transaction left open; SQLite may have done so itself."""
    if connection.in_transaction:
        connection.execute("ROLLBACK")


def insert(connection: sqlite3.Connection, records: Sequence[Record]) -> None:
    """
    Add the records, all or none; ValueError if one could not be read back.

    The file's `user_version` is the newest schema of a record in it, so that an older Walesong
    knows before it reads whether it can.
    """
    rows = [
        (record.piece, record.lamport, bytes.fromhex(record.id), encoded(record).decode())
        for record in records
    ]
    newest = max((record.schema for record in records), default=1)
    with transaction(connection):
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if newest > version:
            connection.execute(f"PRAGMA user_version = {newest}")
        connection.executemany("INSERT INTO record VALUES (?, ?, ?, ?)", rows)


def check(connection: sqlite3.Connection, path: Path) -> None:
    """
    Look at every page and every record; DamagedJournalError if any is not what was written.

    SQLite's own check looks at how the pages hang together, ours at what the records say.
    """
    (answer,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    tables = {text for (text,) in connection.execute("SELECT sql FROM sqlite_master")}
    if answer != b"ok" or not tables.issuperset(text.encode() for text in _TABLES):
        raise DamagedJournalError(f'The journal "{path}" is damaged.')
    for row in connection.execute("SELECT piece, lamport, id, content FROM record"):
        if not intact(*row):
            raise DamagedJournalError(f'A record in the journal "{path}" is damaged.')


def intact(piece: object, lamport: object, name: object, content: object) -> bool:
    """
    Tell whether a row is what was written: content that hashes to the id, and its own columns.

    In canonical JSON a quotation mark inside a string is escaped, so the two members can be found
    without reading the rest.
    """
    if not (isinstance(piece, bytes) and isinstance(lamport, int) and isinstance(content, bytes)):
        return False
    if sha256(content).digest() != name or b'"lamport":%d,' % lamport not in content:
        return False
    text = json.dumps(piece.decode(errors="replace"), ensure_ascii=False)
    return b'"piece":' + text.encode() in content
