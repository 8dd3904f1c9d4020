"""The journal in PostgreSQL keeps the promises of every journal, and those of a shared one."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import pytest

from engine.journal.errors import JournalError
from tests.contracts.test_journal import JournalContract
from tests.made_up import knitted
from tests.postgres import migrations, server_or_skip

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.postgres import Server


@pytest.fixture(scope="module")
def running() -> Iterator[Server]:
    """Return a running server, one for all the tests here; each has a database of its own."""
    with server_or_skip() as one:
        yield one


_NUMBERS = count(1)


@pytest.fixture
def store(running: Server) -> str:
    """Return the name of a new database with a store in it, into which two knitters are let."""
    from engine.journal import postgres, postgres_setup  # noqa: PLC0415 (may be missing)

    name = f"d{next(_NUMBERS)}"
    with postgres.connected(running.address()) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    with postgres.connected(running.address(database=name)) as connection:
        postgres_setup.migrate(connection, migrations())
        for knitter in ("anna", "berta"):
            postgres_setup.let_in(connection, knitter)
    return name


class TestPostgres(JournalContract):
    """The shared store, by itself."""

    @pytest.fixture(autouse=True)
    def _begin(self, running: Server) -> None:
        """Begin journals in one database, made anew each time."""
        from engine.journal import postgres, postgres_setup  # noqa: PLC0415 (may be missing)

        def begin() -> postgres.PostgresJournal:
            with postgres.connected(running.address()) as keeper:
                keeper.execute("DROP SCHEMA IF EXISTS walesong CASCADE")
                postgres_setup.migrate(keeper, migrations())
                postgres_setup.let_in(keeper, "anna")
            return postgres.PostgresJournal.open(running.address("anna"))

        self.begin = begin


def test_another_hand_is_noticed(running: Server, store: str) -> None:
    """What another knitter brings is news once, is told without asking, and is read by all."""
    from engine.journal.postgres import PostgresJournal  # noqa: PLC0415 (may be missing)

    with (
        closing(PostgresJournal.open(running.address("anna", store))) as anna,
        closing(PostgresJournal.open(running.address("berta", store))) as berta,
    ):
        assert not berta.told(0)
        anna.append(knitted(2))
        assert berta.told(10)
        assert berta.changed_elsewhere()
        assert not berta.changed_elsewhere()
        assert berta.records() == anna.records() == tuple(knitted(2))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE walesong.record SET lamport = 7",
        "DELETE FROM walesong.record",
        "TRUNCATE walesong.record",
    ],
)
@pytest.mark.parametrize("role", ["anna", "berta", "keeper"])
def test_nobody_changes_or_deletes(running: Server, store: str, statement: str, role: str) -> None:
    """Neither who brought a record, nor another knitter, nor the keeper changes or deletes one."""
    import psycopg  # noqa: PLC0415 (may be missing)

    from engine.journal.postgres import PostgresJournal, connected  # noqa: PLC0415 (the same)

    with closing(PostgresJournal.open(running.address("anna", store))) as anna:
        anna.append(knitted(1))
        with (
            connected(running.address(role, store)) as connection,
            pytest.raises(psycopg.errors.InsufficientPrivilege),
        ):
            connection.execute(statement)
        assert anna.records() == tuple(knitted(1))


def test_a_knitter_writes_only_her_own(running: Server, store: str) -> None:
    """Nobody brings further records of another's writer, or says that a record is another's."""
    import psycopg  # noqa: PLC0415 (may be missing)

    from engine.journal.postgres import PostgresJournal, connected  # noqa: PLC0415 (the same)
    from engine.journal.postgres_errors import ForeignRecordsError  # noqa: PLC0415 (the same)

    with (
        closing(PostgresJournal.open(running.address("anna", store))) as anna,
        closing(PostgresJournal.open(running.address("berta", store))) as berta,
    ):
        anna.append(knitted(1))
        with pytest.raises(ForeignRecordsError, match="another knitter"):
            berta.append(knitted(2))
        berta.append(knitted(1))  # what is there already is no news, whose ever it is
        hers = [replace(one, writer="b" * 32) for one in knitted(1, "b" * 32)]
        berta.append(hers)
        assert set(anna.records()) == {*knitted(1), *hers}
    with connected(running.address("berta", store)) as connection:
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            connection.execute(
                "INSERT INTO walesong.record (id, piece, lamport, writer, content, knitter)"
                " SELECT id, piece, lamport, writer, content, 'anna' FROM walesong.record"
            )
        stamped = connection.execute("SELECT DISTINCT writer, knitter FROM walesong.record")
        assert set(stamped.fetchall()) == {("a" * 32, "anna"), ("b" * 32, "berta")}


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("id", "sha256('something else')"),
        ("piece", "'another'"),
        ("lamport", "lamport + 1"),
        ("writer", "'c'"),
        ("content", r"content || '\x20'::bytea"),
    ],
)
def test_a_record_is_what_its_name_says(
    running: Server, store: str, column: str, value: str
) -> None:
    """The store itself refuses a record whose content, name or columns do not agree."""
    import psycopg  # noqa: PLC0415 (may be missing)

    from engine.journal.postgres import PostgresJournal, connected  # noqa: PLC0415 (the same)

    with closing(PostgresJournal.open(running.address("anna", store))) as anna:
        anna.append(knitted(0))
    columns = ("id", "piece", "lamport", "writer", "content")
    # Where only a column is wrong the name has to be new, too, or it would be passed over as known.
    with connected(running.address("berta", store)) as connection:
        row = connection.execute(
            "SELECT id, piece, lamport, writer, content FROM walesong.record"
        ).fetchone()
        assert row is not None
    changed = [value if one == column else one for one in columns]
    new = running.address("keeper", f"{store}b")
    with connected(running.address()) as connection:
        connection.execute(f"CREATE DATABASE {store}b")
    from engine.journal import postgres_setup  # noqa: PLC0415 (may be missing)

    with connected(new) as connection:
        postgres_setup.migrate(connection, migrations())
        connection.execute("CREATE TABLE offered AS SELECT %s::bytea AS id, %s::text AS piece,"
            " %s::bigint AS lamport, %s::text AS writer, %s::bytea AS content", row)  # fmt: skip
        query = f"SELECT {', '.join(changed)} FROM offered"  # noqa: S608 (of the table above)
        into = "INSERT INTO walesong.record (id, piece, lamport, writer, content) "
        with pytest.raises(psycopg.errors.CheckViolation):
            connection.execute((into + query).encode())


def test_a_store_is_set_up_once_and_never_by_another_version(running: Server, store: str) -> None:
    """A second set-up changes nothing; a changed or an unknown migration is refused."""
    from engine.journal.postgres import connected  # noqa: PLC0415 (may be missing)
    from engine.journal.postgres_setup import migrate  # noqa: PLC0415 (the same)

    first, *others = migrations()
    with connected(running.address(database=store)) as connection:
        assert migrate(connection, migrations()) == ()
        for wrong in ([(first[0], first[1] + "\n"), *others], [first]):
            with pytest.raises(JournalError, match="another version"):
                migrate(connection, wrong)
        with pytest.raises(JournalError):
            migrate(connection, [*migrations(), ("0009-broken.sql", "CREATE TABLE x (); nonsense")])
        assert connection.execute("SELECT to_regclass('x')").fetchone() == (None,)
        assert migrate(connection, migrations()) == ()


@pytest.mark.parametrize(
    ("user", "database", "sentence"),
    [
        ("nobody", "postgres", "does not let this name in"),
        ("keeper", "no_such", "does not let this name in|no such database"),
        ("keeper", "template1", "no store in this database"),
    ],
)
def test_what_cannot_be_used_is_said(
    running: Server, user: str, database: str, sentence: str
) -> None:
    """A name that is not let in, a database that is not there or holds no store: one sentence."""
    from engine.journal.postgres import PostgresJournal  # noqa: PLC0415 (may be missing)

    with pytest.raises(JournalError, match=sentence):
        PostgresJournal.open(running.address(user, database))


def test_no_password_is_told(running: Server) -> None:
    """The sentence of an address that leads nowhere has nothing of it."""
    from engine.journal.postgres import PostgresJournal  # noqa: PLC0415 (may be missing)

    for address in ("host=/nowhere user=anna password=secret", "postgres:/anna:secret@", "secret"):
        with pytest.raises(JournalError) as told:
            PostgresJournal.open(address)
        assert "secret" not in str(told.value)
    assert running is not None
