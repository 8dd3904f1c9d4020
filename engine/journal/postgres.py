"""
The journal that several hands share, in PostgreSQL.

Its tables are those of `shared/sharing/*.sql`; the database itself refuses a record that is not
what its name says, changes none and deletes none, and stamps each with the name of the role that
brought it. A record is brought by one statement, so nobody who vanishes holds the others up. The
connection is libpq's: address, password file and TLS are as its manual has them
(https://www.postgresql.org/docs/current/libpq-connect.html).
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Self

import psycopg
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from engine.journal.journal import KeptPiece, OneThread, Tally, decoded, encoded, listed
from engine.journal.postgres_errors import NoStoreError, speaking_of_store

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.journal.journal import Gap
    from engine.records import Record

CONNECT_S: Final = 10
_AT_ONCE: Final = 500
"""So many records are brought by one statement."""
_MARKED: Final = 2**48
"""A mark is the sum of the last six bytes of the ids, modulo this."""
_LOCAL: Final = ("", "localhost", "127.0.0.1", "::1")

_BRING: Final = """
INSERT INTO walesong.record (id, piece, lamport, writer, content)
SELECT * FROM unnest(%s::bytea[], %s::text[], %s::bigint[], %s::text[], %s::bytea[])
ON CONFLICT (id) DO NOTHING"""


@dataclass(frozen=True, slots=True)
class Arrived:
    """A record as it lies in the store: its place in the order of arrival, and whose it is."""

    arrival: int
    id: bytes
    piece: str
    lamport: int
    content: bytes


@dataclass(frozen=True, slots=True)
class Mark:
    """What names a set of records: how many, and the sum of the last six bytes of their ids."""

    count: int
    total: int

    @classmethod
    def of(cls, kept: KeptPiece) -> Mark:
        """Return that of a piece in any journal, from its own mark."""
        count, _, total = kept.mark.partition("-")
        return cls(int(count), int(total, 16) % _MARKED)


def connected(address: str) -> psycopg.Connection[tuple[object, ...]]:
    """
    Return a connection that commits each statement; to elsewhere never without TLS unasked.

    Raises a `JournalError`.
    """
    with speaking_of_store():
        given = conninfo_to_dict(address)
        defaults: dict[str, str | int] = {"connect_timeout": CONNECT_S, "keepalives_idle": 20}
        host = str(given.get("host") or os.environ.get("PGHOST", ""))
        if host not in _LOCAL and not host.startswith("/") and "PGSSLMODE" not in os.environ:
            defaults["sslmode"] = "require"
        wanted = {name: value for name, value in defaults.items() if name not in given}
        whole = make_conninfo(address, application_name="walesong", **wanted)
        connection = psycopg.connect(whole, autocommit=True, prepare_threshold=None)
        connection.execute("SET statement_timeout = '120s'")
        connection.execute("SET synchronous_commit = on")
        return connection


class PostgresJournal:
    """A `Journal` in a PostgreSQL database."""

    def __init__(self, connection: psycopg.Connection[tuple[object, ...]]) -> None:
        """Take over a connection to a store that is set up; NoStoreError if it is none."""
        self.gap: Gap | None = None
        self._connection = connection
        self._turns: dict[str, int] = {}
        self._thread = OneThread()
        with speaking_of_store():
            row = connection.execute("SELECT name::text FROM walesong.store").fetchone()
            if row is None:
                raise NoStoreError("There is no store in this database.")
            connection.execute("LISTEN walesong")
        self.name = str(row[0])
        self._seen = self.newest()

    @classmethod
    def open(cls, address: str) -> Self:
        """Open the store at an address of libpq's; raises a `JournalError`."""
        connection = connected(address)
        try:
            return cls(connection)
        except BaseException:
            connection.close()
            raise

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """Keep all the records or none; see `Journal.append`."""
        self._thread.check()
        if not records:
            return
        rows = [_row(record) for record in records]
        before = self.newest()
        with speaking_of_store(), self._connection.transaction():
            for first in range(0, len(rows), _AT_ONCE):
                self._bring(rows[first : first + _AT_ONCE])
        if self._seen == before:  # nobody else has written before; what is ours is no news
            self._seen = self.newest()
        for record in records:
            if not brought:
                self._turns[record.piece] = max(self._turns.values(), default=0) + 1

    def bring(self, records: Sequence[Record]) -> None:
        """Add records, each portion by one statement; what arrived before an error stays there."""
        self._thread.check()
        rows = [_row(record) for record in records]
        with speaking_of_store():
            for first in range(0, len(rows), _AT_ONCE):
                self._bring(rows[first : first + _AT_ONCE])

    def _bring(self, rows: Sequence[tuple[bytes, str, int, str, bytes]]) -> None:
        self._connection.execute(_BRING, [list(column) for column in zip(*rows, strict=True)])

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all) in order; see `Journal.records`."""
        self._thread.check()
        with speaking_of_store():
            rows = self._connection.execute(
                "SELECT id, content FROM walesong.record"
                " WHERE %(piece)s::text IS NULL OR piece = %(piece)s ORDER BY lamport, id",
                {"piece": None if piece is None else _stored(piece)},
            ).fetchall()
        return tuple(decoded(_bytes(name).hex(), _bytes(content)) for name, content in rows)

    def pieces(self) -> tuple[KeptPiece, ...]:
        """Return the pieces, the one worked on last by this connection first; see `Journal`."""
        self._thread.check()
        tallies: dict[str, Tally] = {}
        with speaking_of_store():
            for piece, lamport, name, content in self._connection.execute(
                "SELECT piece, lamport, id, content FROM walesong.record ORDER BY piece"
            ):
                tally = tallies.setdefault(_named(piece), Tally())
                tally.add(int(str(lamport)), _bytes(name), _bytes(content))
        return listed(tallies, self._turns)

    def changed_elsewhere(self) -> bool:
        """Tell whether anybody else has written since this was asked; see `Journal`."""
        before, self._seen = self._seen, self.newest()
        return before != self._seen

    def close(self) -> None:
        """Close the connection; a second time does nothing."""
        if self._thread.close():
            self._connection.close()

    # --- for whoever keeps a journal in step with it ---------------------------------------------

    def newest(self) -> int:
        """Return the number of arrival of the newest record, 0 where there is none."""
        self._thread.check()
        with speaking_of_store():
            row = self._connection.execute(
                "SELECT coalesce(max(arrival), 0) FROM walesong.record"
            ).fetchone()
        return int(str(row[0])) if row is not None else 0

    def marks(self) -> dict[str, Mark]:
        """Return what names the records of each piece."""
        self._thread.check()
        with speaking_of_store():
            return {
                _named(piece): Mark(int(str(count)), int(str(total)) % _MARKED)
                for piece, count, total in self._connection.execute(
                    "SELECT piece, count(*), sum(mark) FROM walesong.record GROUP BY piece"
                )
            }

    def ids(self, piece: str) -> frozenset[str]:
        """Return the ids of a piece's records."""
        self._thread.check()
        with speaking_of_store():
            rows = self._connection.execute(
                "SELECT id FROM walesong.record WHERE piece = %s", [_stored(piece)]
            ).fetchall()
        return frozenset(_bytes(name).hex() for (name,) in rows)

    def called(self, ids: Sequence[str]) -> tuple[Arrived, ...]:
        """Return the records of those ids, in the order of arrival."""
        return self._arrived("id = ANY(%s)", [bytes.fromhex(one) for one in ids], len(ids))

    def arrived(self, after: int, most: int) -> tuple[Arrived, ...]:
        """Return the first `most` records that arrived after a number, in order."""
        return self._arrived("arrival > %s", after, most)

    def _arrived(self, which: str, value: object, most: int) -> tuple[Arrived, ...]:
        self._thread.check()
        with speaking_of_store():
            rows = self._connection.execute(
                f"SELECT arrival, id, piece, lamport, content FROM walesong.record WHERE {which}"  # noqa: S608 (fixed)
                " ORDER BY arrival LIMIT %s",
                [value, most],
            ).fetchall()
        return tuple(
            Arrived(int(str(at)), _bytes(name), _named(piece), int(str(lamport)), _bytes(content))
            for at, name, piece, lamport, content in rows
        )

    def told(self, wait_s: float) -> bool:
        """Wait so long, in seconds, to be told that records arrived; tell whether they did."""
        self._thread.check()
        with speaking_of_store():
            return any(True for _ in self._notices(wait_s))

    def _notices(self, wait_s: float) -> Iterator[object]:
        yield from self._connection.notifies(timeout=wait_s, stop_after=1)


def _row(record: Record) -> tuple[bytes, str, int, str, bytes]:
    content = encoded(record)
    piece, writer = _stored(record.piece), _stored(record.writer)
    return bytes.fromhex(record.id), piece, record.lamport, writer, content


def _stored(name: str) -> str:
    """Return a name as it stands in JSON: PostgreSQL's text holds every sign but one."""
    return json.dumps(name, ensure_ascii=False)[1:-1]


def _named(stored: object) -> str:
    return str(json.loads(f'"{stored}"'))


def _bytes(value: object) -> bytes:
    if not isinstance(value, bytes | memoryview):
        raise TypeError(f"The store gave {type(value).__name__} for bytes.")
    return bytes(value)
