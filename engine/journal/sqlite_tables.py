"""
The tables of a journal in SQLite: what they look like, how they are made, written and checked.

The database itself refuses to change or delete a record, and passes over one that it has.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing, contextmanager, suppress
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from engine.journal.errors import DamagedJournalError
from engine.journal.journal import BEGUN, Tally, encoded

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from engine.records import Record

_NONE: Final[Mapping[str, int]] = MappingProxyType({})

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

_WORKED: Final = """CREATE TABLE worked (
    piece TEXT PRIMARY KEY NOT NULL,
    turn INTEGER NOT NULL
) WITHOUT ROWID"""
"""In which order this device worked on the pieces; older journals get it when they are opened."""
_MOST_TURNS: Final = 10**12
"""No hand goes to another piece so often; a larger number is damage, and would use up all."""


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
            for statement in (*_TABLES, _WORKED):
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


def add_later_tables(connection: sqlite3.Connection) -> None:
    """Add what a journal of an older Walesong lacks; it can still be opened by that one."""
    if not _has_turns(connection):
        with transaction(connection):
            connection.execute(_WORKED)


def _has_turns(connection: sqlite3.Connection) -> bool:
    known = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'worked'")
    return known.fetchone() is not None


def turns(connection: sqlite3.Connection) -> dict[str, int]:
    """
    Return the turn of each piece that was worked on here; the largest was the last.

    A damaged turn is passed over: it is only for the order of a list, and stops no writing.
    """
    if not _has_turns(connection):
        return {}
    return {
        piece.decode(errors="replace"): turn
        for piece, turn in connection.execute("SELECT piece, turn FROM worked")
        if isinstance(piece, bytes) and isinstance(turn, int) and 0 < turn <= _MOST_TURNS
    }


def set_turns(connection: sqlite3.Connection, kept: Mapping[str, int]) -> None:
    """Write down the turns of pieces, inside a transaction."""
    connection.executemany("INSERT OR REPLACE INTO worked VALUES (?, ?)", kept.items())


def insert(
    connection: sqlite3.Connection, records: Sequence[Record], *, worked: Mapping[str, int] = _NONE
) -> list[tuple[Record, bytes]]:
    """
    Add the records, all or none, and return the new ones among them with their content.

    `worked` are the turns to be written down with them. ValueError if a record could not be read
    back. The file's `user_version` is the newest schema of a record in it, so that an older
    Walesong knows before it reads whether it can.
    """
    contents = [(record, encoded(record)) for record in records]
    newest = max((record.schema for record in records), default=1)
    with transaction(connection):
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if newest > version:
            connection.execute(f"PRAGMA user_version = {newest}")
        new = [
            (record, content)
            for record, content in contents
            if connection.execute(
                "INSERT INTO record VALUES (?, ?, ?, ?)",
                (record.piece, record.lamport, bytes.fromhex(record.id), content.decode()),
            ).rowcount
        ]
        if worked:
            set_turns(connection, worked)
    return new


def check(connection: sqlite3.Connection, path: Path) -> dict[str, Tally]:
    """
    Look at every page and every record; DamagedJournalError if any is not what was written.

    SQLite's own check looks at how the pages hang together, ours at what the records say. A trigger
    or an index that is not ours could keep records from being written. Returns what is there of
    each piece.
    """
    (answer,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    if answer != b"ok" or not _tables_are_ours(connection):
        raise DamagedJournalError(f'The journal "{path}" is damaged.')
    # Closed for certain: an unfinished query would keep the file's log from being put away.
    with closing(connection.execute("SELECT piece, lamport, id, content FROM record")) as rows:
        return _tallied(rows, path)


def _tallied(rows: Iterable[tuple[Any, ...]], path: Path) -> dict[str, Tally]:
    """Check the rows, which come in order, and count them; written out, for it is all the cost."""
    tallies: dict[str, Tally] = {}
    for piece, group in groupby(rows, itemgetter(0)):
        named = _named(piece) if isinstance(piece, bytes) else None
        count = total = 0
        last = begun = (-1, b"", b"{}")
        for row in group:
            _, lamport, name, content = row
            if (
                type(lamport) is not int
                or type(content) is not bytes
                or sha256(content).digest() != name
                or b'"lamport":%d,' % lamport not in content
                or named is None
                or named not in content
            ):
                raise DamagedJournalError(f'A record in the journal "{path}" is damaged.')
            count += 1
            total += int.from_bytes(name)
            last = row[1:]
            if BEGUN in content:
                begun = last
        tallies[piece.decode(errors="replace")] = Tally(count, total, last, begun)
    return tallies


def _tables_are_ours(connection: sqlite3.Connection) -> bool:
    """Tell whether what was made there is all that is there, but for SQLite's own statistics."""
    found = set(connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master"))
    needed = {_made(statement) for statement in _TABLES}
    return found >= needed and all(
        kind == b"table" and name.startswith(b"sqlite_stat")
        for kind, name, _, _ in found - needed - {_made(_WORKED)}
    )


def _made(statement: str) -> tuple[bytes, ...]:
    """Return the row of SQLite's own table of tables that a statement of ours makes."""
    kind, name = statement.split()[1:3]
    table = name if kind == "TABLE" else "record"
    return tuple(one.encode() for one in (kind.lower(), name, table, statement))


def intact(piece: object, lamport: object, name: object, content: object) -> bool:
    """
    Tell whether a row is what was written: content that hashes to the id, and its own columns.

    In canonical JSON a quotation mark inside a string is escaped, so the two members can be found
    without reading the rest.
    """
    return isinstance(piece, bytes) and _intact(_named(piece), lamport, name, content)


def _named(piece: bytes) -> bytes:
    text = json.dumps(piece.decode(errors="replace"), ensure_ascii=False)
    return b'"piece":' + text.encode()


def _intact(named: bytes, lamport: object, name: object, content: object) -> bool:
    return (
        isinstance(lamport, int)
        and isinstance(content, bytes)
        and sha256(content).digest() == name
        and b'"lamport":%d,' % lamport in content
        and named in content
    )
