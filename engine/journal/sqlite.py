"""
The journal in one SQLite file.

A commit is on disk when it returns: write-ahead log with `synchronous=FULL`, and `fullfsync` where
the system's own sync is not one (macOS). Where a file system has no shared memory for the log, the
rollback journal with `synchronous=EXTRA` takes its place; `durability` says which. Transactions
are begun and ended by hand, never by the driver: its own would stay open after a failed write and
take later work with them.

The column `content` holds exactly the bytes whose SHA-256 is the column `id`, so a changed record
gives itself away even where SQLite, which keeps no checksums of its pages, sees nothing wrong. The
primary key is the order of reading, so an append goes to the end of its piece.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Self

from engine.journal import sqlite_file
from engine.journal.copying import copied
from engine.journal.errors import DamagedJournalError, GoneJournalError
from engine.journal.journal import KeptPiece, OneThread, Tally, decoded, listed
from engine.journal.last_kept import LastKeptFile
from engine.journal.sqlite_errors import speaking
from engine.journal.sqlite_tables import check, insert, intact, settle, turns

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Sequence
    from pathlib import Path
    from types import TracebackType

    from engine.journal.copying import Copied
    from engine.journal.journal import Gap
    from engine.journal.sqlite_file import Opened
    from engine.records import Record

WAIT_S: Final = 5.0
"""How long to wait for another program that is writing, in seconds."""
_TOPS: Final = """
WITH RECURSIVE known(piece) AS (
    SELECT min(piece) FROM record
    UNION ALL
    SELECT (SELECT min(piece) FROM record WHERE piece > known.piece) FROM known
    WHERE known.piece IS NOT NULL
)
SELECT piece, (SELECT max(lamport) FROM record WHERE record.piece = known.piece)
FROM known WHERE piece IS NOT NULL"""
"""From piece to piece along the key: it costs as much as there are pieces, not records."""


class SqliteJournal:
    """
    A `Journal` in the file `path`.

    `durability` tells how the file system lets it keep its word; None for a journal that is only
    read.
    """

    def __init__(self, path: Path, opened: Opened) -> None:
        """Take over an opened file; use `open` or `open_to_read`."""
        self.path = path
        self.durability = opened.durability
        self.gap: Gap | None = opened.gap
        self._connection = opened.connection
        self._tallies = opened.tallies
        self._there = sum(tally.count for tally in opened.tallies.values())
        self._turns = turns(self._connection)
        self._tallied = self._asked = self._data_version()
        self._last = LastKeptFile(path)
        self._thread = OneThread()
        self._place = _place(path)

    @classmethod
    def open(cls, path: Path, *, wait_s: float = WAIT_S) -> Self:
        """
        Open the journal in a file, or begin one where there is none; the folder must be there.

        All of it is checked. Raises a `JournalError` when it is not whole, not a journal, newer
        than this Walesong, or cannot be written; the file is then as it was.
        """
        return cls(path, sqlite_file.opened(path, wait_s))

    @classmethod
    def open_to_read(cls, path: Path, *, wait_s: float = WAIT_S) -> Self:
        """Open an existing journal, to read it only; nothing on the disk is changed. May raise."""
        return cls(path, sqlite_file.opened_to_read(path, wait_s))

    def __enter__(self) -> Self:
        """Close it at the end of the block."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """Keep all the records or none; see `Journal.append`."""
        self._thread.check()
        if not records:
            return
        with speaking(self.path):
            if _place(self.path) != self._place:
                raise GoneJournalError(f'The journal "{self.path}" was moved or deleted.')
            worked = {} if brought else self._next_turns(records)
            new = insert(self._connection, records, worked=worked)
        self._turns |= worked
        for record, content in new:
            tally = self._tallies.setdefault(record.piece, Tally())
            tally.add(record.lamport, bytes.fromhex(record.id), content)
        self._there += len(new)
        self._last.note(
            self._there, records[-1]
        )  # after the commit; too few where others write, too

    def _next_turns(self, records: Sequence[Record]) -> dict[str, int]:
        """Return the turns that change: none as long as the same piece is worked on."""
        last = max(self._turns.values(), default=0)
        pieces = list(dict.fromkeys(record.piece for record in reversed(records)))[::-1]
        if len(pieces) == 1 and self._turns.get(pieces[0], 0) == last > 0:
            return {}
        return {piece: last + place for place, piece in enumerate(pieces, 1)}

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all) in order; see `Journal.records`."""
        self._thread.check()
        if piece is None:
            rows = self._rows("ORDER BY lamport, id")
        else:
            rows = self._rows("WHERE piece = ? ORDER BY lamport, id", piece)
        return tuple(decoded(name.hex(), content) for _, name, content in rows)

    def tops(self) -> dict[str, int]:
        """Return the largest Lamport number of each piece, without reading its records."""
        self._thread.check()
        with speaking(self.path):
            settle(self._connection)
            rows = self._connection.execute(_TOPS).fetchall()
        return {piece.decode(errors="replace"): lamport for piece, lamport in rows}

    def ids(self, piece: str) -> frozenset[str]:
        """Return the ids of a piece's records."""
        self._thread.check()
        return frozenset(name.hex() for _, name, _ in self._rows("WHERE piece = ?", piece))

    def records_but(self, piece: str, known: Container[str]) -> tuple[Record, ...]:
        """Return the records of a piece that are not among the `known` ids, in order."""
        self._thread.check()
        rows = self._rows("WHERE piece = ? ORDER BY lamport, id", piece)
        return tuple(
            decoded(name.hex(), content) for _, name, content in rows if name.hex() not in known
        )

    def pieces(self) -> tuple[KeptPiece, ...]:
        """Return the pieces, the one worked on last first; see `Journal.pieces`."""
        self._thread.check()
        with speaking(self.path):
            if self._data_version() != self._tallied:
                self._tallied = self._data_version()
                self._tallies = check(self._connection, self.path)
                self._there = sum(tally.count for tally in self._tallies.values())
                self._turns = turns(self._connection)
        return listed(self._tallies, self._turns)

    def changed_elsewhere(self) -> bool:
        """Tell whether another program has written since this was asked; see `Journal`."""
        self._thread.check()
        with speaking(self.path):
            before, self._asked = self._asked, self._data_version()
            if before != self._asked:
                self._turns = turns(self._connection)
        return before != self._asked

    def _data_version(self) -> int:
        (version,) = self._connection.execute("PRAGMA data_version").fetchone()
        return int(version)

    def _rows(self, which: str, *values: str) -> Iterator[tuple[bytes, bytes, bytes]]:
        """Read the piece, id and content of rows, each looked at again on its way."""
        with speaking(self.path):
            settle(self._connection)
            for piece, lamport, name, content in self._connection.execute(
                f"SELECT piece, lamport, id, content FROM record {which}",  # noqa: S608 (fixed)
                values,
            ):
                if not intact(piece, lamport, name, content):
                    raise DamagedJournalError(f'A record in the journal "{self.path}" is damaged.')
                yield piece, name, content

    def backup(self, to: Path, *, replace: bool = False) -> Copied:
        """
        Write a copy of the whole journal to another file, complete in itself.

        With `replace` a journal that is already there gives way once the copy is complete and read
        back; where it holds anything that the copy does not it is kept beside.
        Copying the file by other means would leave behind what is still in its log.
        Raises a `JournalError` when `to` is another kind of file, is not to be replaced, or could
        not be written.
        """
        self._thread.check()
        return copied(self._connection, self.path, to, replace=replace)

    def close(self) -> None:
        """Close the file; a second time does nothing."""
        if self._thread.close():
            with speaking(self.path):
                self._last.close()
                self._connection.close()


def _place(path: Path) -> tuple[int, int] | None:
    """Return what identifies the file on its disk; None if it is not there."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino
