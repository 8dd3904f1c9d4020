"""Mending a damaged journal: the file is kept beside, and what can be read of it goes on."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from hashlib import sha256
from itertools import chain
from typing import TYPE_CHECKING

from engine.journal.carving import carved, played
from engine.journal.errors import DamagedJournalError
from engine.journal.journal import decoded
from engine.journal.on_disk import beside, holds_something, keep_beside, sync_file
from engine.journal.sqlite_errors import speaking
from engine.journal.sqlite_file import look, swap_in_mended
from engine.journal.sqlite_tables import check, connect, insert, make_tables, turns
from engine.records import in_order, missing
from engine.soundness import sentences, set_aside

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from engine.records import Record


@dataclass(frozen=True, slots=True)
class Mended:
    """
    What became of a damaged journal.

    `kept` is where the damaged file lies now; `saved` is how many records go on; `missing` are the
    ids of records that others came after but that could not be read; `aside` says of each record
    that is kept but cannot be why it counts for nothing.
    """

    kept: Path
    saved: int
    missing: tuple[str, ...]
    aside: tuple[str, ...] = ()


def mend(path: Path) -> Mended:
    """
    Keep the damaged journal beside and put a whole one with all its readable records in its place.

    No other program may have it open. Interrupted at any point it can be done again.
    Raises a `JournalError` when the file is no journal or newer than this Walesong, when nothing
    can be read from the disk, or when there is no room for the copy.
    """
    with speaking(path):
        with suppress(DamagedJournalError):
            look(path)
        kept = keep_beside(path, "damaged")
        saved = _readable(kept)
        part = beside(path, "-mending")
        part.unlink(missing_ok=True)
        _write(part, saved, _turns(kept))
        part.replace(beside(path, "-mended"))
        swap_in_mended(path)
    ordered = in_order(saved.values())
    aside = sentences(ordered, set_aside(ordered))
    return Mended(kept, len(saved), missing(ordered), aside)


def _readable(kept: Path) -> dict[str, Record]:
    log, image = (beside(kept, suffix) for suffix in ("-wal", "-image"))
    try:
        if kept.is_file():
            image.write_bytes(played(kept.read_bytes(), log.read_bytes() if log.is_file() else b""))
        rows = chain(
            carved(kept),
            carved(log),
            _rows(kept, "piece, lamport, id"),
            _rows(image, "piece, lamport, id"),
            _rows(image, "piece DESC, lamport DESC, id DESC"),
        )
        return {
            name.hex(): decoded(name.hex(), content)
            for name, content in rows
            if sha256(content).digest() == name
        }
    finally:
        image.unlink(missing_ok=True)


def _rows(file: Path, order: str) -> Iterator[tuple[bytes, bytes]]:
    """Read rows through SQLite up to the first place where it stumbles."""
    if not holds_something(file):
        return  # SQLite would throw away the log that may be beside it.
    stumbling = suppress(sqlite3.Error, UnicodeDecodeError)
    with stumbling, closing(connect(file, "ro", 0)) as connection:
        for name, content in connection.execute(
            f"SELECT id, content FROM record ORDER BY {order}"  # noqa: S608 (fixed orders, above)
        ):
            if isinstance(name, bytes) and isinstance(content, bytes):
                yield name, content
    beside(file, "-shm").unlink(missing_ok=True)


def _turns(kept: Path) -> dict[str, int]:
    """Return in which order this device worked on the pieces, if that can still be read."""
    if not holds_something(kept):
        return {}
    try:
        with closing(connect(kept, "ro", 0)) as connection:
            return turns(connection)
    except (sqlite3.Error, UnicodeDecodeError):
        return {}
    finally:
        beside(kept, "-shm").unlink(missing_ok=True)


def _write(part: Path, saved: dict[str, Record], worked: dict[str, int]) -> None:
    with closing(connect(part, "rwc", 0)) as connection:
        connection.execute("PRAGMA synchronous = EXTRA")
        make_tables(connection)
        insert(connection, [*saved.values()], worked=worked)
        check(connection, part)
    sync_file(part)
