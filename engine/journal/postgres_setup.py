"""
Making a store ready: its migrations, each once and in order, and the roles of its knitters.

A migration is a file of plain SQL with a number in front of its name. Its SHA-256 is kept, so that
one which was changed afterwards, or a store newer than this program, is refused.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from psycopg import sql

from engine.journal.postgres_errors import NoStoreError, StoreRefusesError, speaking_of_store

if TYPE_CHECKING:
    from collections.abc import Sequence

    import psycopg

    Connection = psycopg.Connection[tuple[object, ...]]


def migrate(connection: Connection, migrations: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """
    Bring the store up to date by (name, SQL) in their order; return the names of the new ones.

    All or none. Raises a `JournalError`; the store is then as it was.
    """
    with speaking_of_store(), connection.transaction():
        row = connection.execute("SHOW server_encoding").fetchone()
        if row != ("UTF8",):
            raise NoStoreError("The database does not keep its text as UTF-8.")
        connection.execute("SELECT pg_advisory_xact_lock(1463897158)")  # one at a time
        there = _there(connection)
        wanted = {name: hashlib.sha256(text.encode()).hexdigest() for name, text in migrations}
        if not there.items() <= wanted.items():
            raise NoStoreError("The store was made by another version of Walesong.")
        new = [(name, text) for name, text in migrations if name not in there]
        for place, (name, text) in enumerate(new):
            connection.execute(text.encode())
            if not there and place == 0:
                connection.execute(_KEPT)
            connection.execute(
                "INSERT INTO walesong.migration (name, sha256) VALUES (%s, %s)",
                [name, wanted[name]],
            )
    return tuple(name for name, _ in new)


_KEPT = """CREATE TABLE walesong.migration (
    name text PRIMARY KEY,
    sha256 text NOT NULL,
    done timestamptz NOT NULL DEFAULT now()
)"""


def _there(connection: Connection) -> dict[str, str]:
    row = connection.execute("SELECT to_regclass('walesong.migration') IS NOT NULL").fetchone()
    if row != (True,):
        return {}
    found = connection.execute("SELECT name, sha256 FROM walesong.migration").fetchall()
    return {str(name): str(sha256) for name, sha256 in found}


def let_in(connection: Connection, knitter: str) -> bool:
    """
    Let a knitter share, by a role of her name; False if there was one already. May raise.

    It gets no password here: psql's own command, or certificates, are for that.
    """
    if not knitter.strip() or knitter.startswith("pg_"):
        raise StoreRefusesError(f'"{knitter}" cannot be the name of a knitter.')
    with speaking_of_store(), connection.transaction():
        known = connection.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [knitter])
        made = known.fetchone() is None
        name = sql.Identifier(knitter)
        if made:
            connection.execute(sql.SQL("CREATE ROLE {} LOGIN").format(name))
        connection.execute(sql.SQL("GRANT walesong_knitter TO {}").format(name))
        # Nobody who vanishes in the middle of something holds the others up.
        connection.execute(
            sql.SQL("ALTER ROLE {} SET idle_in_transaction_session_timeout = '10s'").format(name)
        )
    return made


def hand_over(connection: Connection, writer: str, knitter: str) -> bool:
    """
    Say whose a writer is, after another knitter brought its first records; False: nobody's yet.

    Its records stay as they are; from now on `knitter` may bring more of them. May raise.
    """
    with speaking_of_store():
        changed = connection.execute(
            "UPDATE walesong.writer SET knitter = %s WHERE name = %s", [knitter, writer]
        )
    return bool(changed.rowcount)
