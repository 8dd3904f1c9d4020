"""What is in a journal's file besides the records: turns, and nothing not ours."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from engine.journal.errors import DamagedJournalError
from engine.journal.salvage import mend
from engine.journal.sqlite import SqliteJournal
from tests.made_up import CAP, knitted

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where a journal may be."""
    return tmp_path / "hut evenings.walesong"


@pytest.fixture
def written(path: Path) -> Path:
    """Return a closed journal with a sleeve of three rows."""
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
    return path


def _plain(path: Path) -> sqlite3.Connection:
    """Return a connection that knows nothing of us."""
    return sqlite3.connect(path, isolation_level=None)


def test_which_piece_was_worked_on_last_is_kept(path: Path) -> None:
    """Over restarts, a backup and mending the piece worked on last stays the first of the list."""
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
        journal.append([replace(one, wall="2099-01-01T00:00:00Z") for one in knitted(1, CAP)])
        journal.append(knitted(4)[-1:])
        journal.backup(path.with_name("copy.walesong"))
    mend(path)
    for file in (path, path.with_name("copy.walesong")):
        with SqliteJournal.open_to_read(file) as journal:
            assert [piece.name for piece in journal.pieces()] == ["mug sleeve", "mug sleeve"]
            assert journal.pieces()[1].id == CAP


def test_a_journal_of_an_older_walesong_learns_who_was_last(path: Path) -> None:
    """Without the table of turns it can be read, and gets it when it is opened to be written."""
    with SqliteJournal.open(path) as journal:
        journal.append([*knitted(3), *knitted(1, CAP)])
    with closing(_plain(path)) as plain:
        plain.execute("DROP TABLE worked")
    with SqliteJournal.open_to_read(path) as journal:
        assert {piece.id for piece in journal.pieces()} == {CAP, knitted(0)[0].piece}
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(4))
    with SqliteJournal.open(path) as journal:
        assert journal.pieces()[0].id == knitted(0)[0].piece


@pytest.mark.parametrize(
    "damage",
    [
        "INSERT INTO worked VALUES ('b', 'four')",
        "INSERT INTO worked VALUES ('b', NULL)",
        "INSERT INTO worked VALUES ('b', -3)",
        "INSERT INTO worked VALUES ('b', 9223372036854775807)",
        "INSERT INTO worked VALUES (x'ff00', 8.5)",
    ],
)
def test_a_damaged_turn_costs_no_record(written: Path, damage: str) -> None:
    """Who was last is only for the order of a list: what is wrong there stops nothing."""
    with closing(_plain(written)) as plain:
        (made,) = plain.execute("SELECT sql FROM sqlite_master WHERE name = 'worked'").fetchone()
        plain.execute("PRAGMA writable_schema = 1")
        plain.execute(
            "UPDATE sqlite_master SET sql = replace(sql, ' NOT NULL', '') WHERE name = 'worked'"
        )
        plain.execute("PRAGMA writable_schema = RESET")
        plain.execute(damage)
        plain.execute("PRAGMA writable_schema = 1")
        plain.execute("UPDATE sqlite_master SET sql = ? WHERE name = 'worked'", (made,))
    try:
        SqliteJournal.open(written).close()
    except DamagedJournalError:
        mend(written)
    with SqliteJournal.open(written) as journal:
        assert journal.records() == tuple(knitted(3))
        journal.append(knitted(1, CAP))
        assert journal.pieces()[0].id == CAP


@pytest.mark.parametrize(
    "added",
    [
        "CREATE TRIGGER never_more BEFORE INSERT ON record BEGIN SELECT RAISE(IGNORE); END",
        "CREATE TRIGGER else_where AFTER INSERT ON worked BEGIN SELECT RAISE(ABORT, ''); END",
        "CREATE UNIQUE INDEX few ON record(lamport)",
        "CREATE VIEW other AS SELECT * FROM record",
        "DROP TRIGGER never_deleted",
    ],
)
def test_what_would_keep_records_from_being_written_is_damage(written: Path, added: str) -> None:
    """Anything in the file that is not ours is found before a row is lost to it; mending helps."""
    with closing(_plain(written)) as plain:
        plain.execute(added)
    for opening in (SqliteJournal.open, SqliteJournal.open_to_read):
        with pytest.raises(DamagedJournalError):
            opening(written)
    mend(written)
    with SqliteJournal.open(written) as journal:
        journal.append(knitted(4))
        assert journal.records() == tuple(knitted(4))


def test_statistics_of_another_program_are_no_damage(written: Path) -> None:
    """Somebody who had SQLite analyse the file has harmed nothing."""
    with closing(_plain(written)) as plain:
        plain.execute("ANALYZE")
    with SqliteJournal.open(written) as journal:
        assert journal.records() == tuple(knitted(3))
