"""`walesong share`: several hands, each with a journal of her own, through a real PostgreSQL."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from app.session.demo_order import demo_order
from engine.events import RowsWorked
from engine.journal.sqlite import SqliteJournal
from tests.made_up import CAP, SLEEVE, knitted, record
from tests.postgres import server_or_skip

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from engine.records import Record
    from tests.postgres import Server


@pytest.fixture(scope="module")
def running() -> Iterator[Server]:
    """Return a running server, one for all the tests here; each has a database of its own."""
    with server_or_skip() as one:
        yield one


_NUMBERS = count(1)


@pytest.fixture
def store(running: Server, capsys: pytest.CaptureFixture[str]) -> str:
    """Return the name of a new database, made ready by the commands of the keeper."""
    from engine.journal.postgres import connected  # noqa: PLC0415 (may be missing)

    name = f"d{next(_NUMBERS)}"
    with connected(running.address()) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    for what in (["--set-up"], ["--let-in", "anna"], ["--let-in", "berta"]):
        assert main(["share", "--with", running.address(database=name), *what]) == 0
    assert "The store is ready; new in it: 0001-records.sql, " in capsys.readouterr().out
    return name


def of(writer: str, records: list[Record]) -> list[Record]:
    """Return the records as another process would have written them."""
    new: list[Record] = []
    names: dict[str, str] = {}
    for one in records:
        after = tuple(names.get(before, before) for before in one.after)
        new.append(replace(one, writer=writer * 32, after=after))
        names[one.id] = new[-1].id
    return new


def write(path: Path, records: list[Record]) -> None:
    """Knit on a device."""
    with SqliteJournal.open(path) as journal:
        journal.append(records)


def read(path: Path) -> tuple[Record, ...]:
    """Return everything that a device has."""
    with SqliteJournal.open_to_read(path) as journal:
        return journal.records()


def share(running: Server, store: str, knitter: str, path: Path, code: int = 0) -> None:
    """Get a device in step once."""
    address = running.address(knitter, store)
    assert main(["share", "--with", address, "--once", "--journal", str(path)]) == code


def test_a_week_apart(
    running: Server, store: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two who knitted without a connection have everything of both, each once, after joining."""
    anna, berta = tmp_path / "anna.walesong", tmp_path / "berta.walesong"
    sleeve, cap = of("a", knitted(30)), of("b", knitted(20, CAP, "crew cap"))
    write(anna, sleeve)
    write(berta, cap)
    for knitter, path in (("anna", anna), ("berta", berta), ("anna", anna), ("berta", berta)):
        share(running, store, knitter, path)
    assert read(anna) == read(berta)
    assert set(read(anna)) == {*sleeve, *cap}
    assert "In step: 21 records given, 31 taken." in capsys.readouterr().out
    share(running, store, "anna", anna)
    assert capsys.readouterr().out == "In step: 0 records given, 0 taken.\n"
    with SqliteJournal.open(anna) as journal:
        assert journal.pieces()[0].id == SLEEVE  # what was taken in was not worked on here


def test_a_fork_is_shown_and_asked_about(
    running: Server, store: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where both knitted on in one piece both keep both histories, and are asked which holds."""
    anna, berta = tmp_path / "anna.walesong", tmp_path / "berta.walesong"
    common = of("a", knitted(5))
    hers = of("a", [record(RowsWorked("body", 6, 7), common)])
    others = of("b", [record(RowsWorked("body", 6, 6), common)])
    write(anna, [*common, *hers])
    share(running, store, "anna", anna)
    write(berta, common)
    write(berta, others)
    share(running, store, "berta", berta)
    share(running, store, "anna", anna)
    told = capsys.readouterr().out
    assert told.count("two devices disagree, 6 or 7 rows done") == 2
    assert set(read(anna)) == set(read(berta)) == {*common, *hers, *others}


def test_a_journal_or_a_store_that_is_older_than_it_was(
    running: Server, store: str, tmp_path: Path
) -> None:
    """What was put back from an older copy, on either side, gets everything from the other."""
    from engine.journal.postgres import connected  # noqa: PLC0415 (may be missing)

    anna, berta = tmp_path / "anna.walesong", tmp_path / "berta.walesong"
    sleeve = of("a", knitted(10))
    write(anna, sleeve[:4])
    share(running, store, "anna", anna)
    with connected(running.address()) as connection:
        connection.execute(f"CREATE DATABASE {store}old TEMPLATE {store}")
    write(anna, sleeve[4:])
    share(running, store, "anna", anna)
    share(running, store, "berta", berta)
    share(running, f"{store}old", "anna", anna)  # the store of before those rows
    old = tmp_path / "old.walesong"
    write(old, sleeve[:2])  # a journal of before those rows
    share(running, f"{store}old", "anna", old)
    assert set(read(berta)) == set(read(old)) == set(sleeve)


def test_what_another_brought_first_is_kept_and_told(
    running: Server, store: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rows of a writer that is another's by now stay here; handed over, they are shared."""
    anna, berta = tmp_path / "anna.walesong", tmp_path / "berta.walesong"
    sleeve, cap = of("a", knitted(5)), of("d", knitted(2, CAP, "crew cap"))
    write(anna, sleeve[:3])  # by a file, from berta
    share(running, store, "anna", anna)
    write(berta, [*sleeve, *cap])
    share(running, store, "berta", berta)
    told = capsys.readouterr()
    assert "In step: 3 records given, 0 taken." in told.out
    assert "Not shared, but kept here: records of writer aaaa" in told.err
    keeper = running.address(database=store)
    assert main(["share", "--with", keeper, "--hand-over", "a" * 32, "berta"]) == 0
    assert main(["share", "--with", keeper, "--hand-over", "f" * 32, "berta"]) == 1
    share(running, store, "berta", berta)
    share(running, store, "anna", anna)
    assert set(read(anna)) == {*sleeve, *cap}


def test_in_step_while_both_knit_and_the_store_goes_away(
    running: Server, store: str, tmp_path: Path
) -> None:
    """
    Rows of each come to the other while both share; a store that is killed is told once, and what
    was knitted meanwhile, also without knowing of the other's rows, comes through afterwards.
    """
    from app.pieces.share import Away, Joined, keep_in_step  # noqa: PLC0415 (may be missing)

    paths = {name: tmp_path / f"{name}.walesong" for name in ("anna", "berta")}
    sleeve = of("a", knitted(8))
    journals = {name: SqliteJournal.open(path) for name, path in paths.items()}
    news = {
        name: keep_in_step(journal, running.address(name, store))
        for name, journal in journals.items()
    }
    try:
        assert all(isinstance(next(one), Joined) for one in news.values())
        write(paths["anna"], sleeve[:3])
        assert next(news["anna"]).given == 3  # type: ignore[union-attr]
        taken = next(news["berta"])
        assert (taken.taken, taken.gained) == (3, {SLEEVE})  # type: ignore[union-attr]
        # Both go on from the same row: the second has no larger number than what came in.
        write(paths["anna"], sleeve[3:6])
        assert next(news["anna"]).given == 3  # type: ignore[union-attr]
        assert next(news["berta"]).taken == 3  # type: ignore[union-attr]
        late = of("b", [record(RowsWorked("body", 3, 4), sleeve[2:3])])
        write(paths["berta"], late)
        assert next(news["berta"]).given == 1  # type: ignore[union-attr]
        assert next(news["anna"]).taken == 1  # type: ignore[union-attr]
        running.kill()
        write(paths["anna"], sleeve[6:])
        assert all(isinstance(next(one), Away) for one in news.values())
        running.start()
        back = next(news["anna"])
        assert isinstance(back, Joined)
        assert back.shared.given == 3
        back = next(news["berta"])
        assert isinstance(back, Joined)
        assert back.shared.taken == 3
        assert set(read(paths["anna"])) == set(read(paths["berta"])) == {*sleeve, *late}
    finally:
        for one in news.values():
            one.close()  # type: ignore[attr-defined]
        for journal in journals.values():
            journal.close()


def test_an_order_is_shared_whole(running: Server, store: str, tmp_path: Path) -> None:
    """The demo's order with its pieces arrives as it is, and the same twice over."""
    from tests.app.test_order_command import NOW, state_of  # noqa: PLC0415 (a sister's helpers)

    anna, berta = tmp_path / "anna.walesong", tmp_path / "berta.walesong"
    pieces, order = demo_order(NOW)
    write(anna, [*pieces, *order])
    share(running, store, "anna", anna)
    share(running, store, "berta", berta)
    assert state_of(anna) == state_of(berta)


def test_an_address_that_leads_nowhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence that says that everything is kept, code 4, and no file of a journal is lost."""
    pytest.importorskip("psycopg")
    path = tmp_path / "anna.walesong"
    write(path, knitted(2))
    address = f"host={tmp_path} user=anna password=secret"
    assert main(["share", "--with", address, "--once", "--journal", str(path)]) == 4
    told = capsys.readouterr().err
    assert "The shared store is not reached. What is knitted is kept on this device" in told
    assert "secret" not in told
    assert read(path) == tuple(knitted(2))
