"""Fifty hands share through a real PostgreSQL: is anything lost or doubled, and how fast is it.

    python bench/share_bench.py hands [--minutes 3] [--hands 50] [--seed 1] [--calm]
    python bench/share_bench.py join [--records 200000]
    python bench/share_bench.py append [--rows 400]

`hands`: every knitter has a journal of her own, writes rows into it and notes each once it is
acknowledged; beside her it is kept in step with the store. Connections are cut, programs of five
knitters each and the server itself are killed, again and again. At the end everybody joins, and
every acknowledged row has to be on every device and in the store, once. Beside them somebody looks
at the order's board; the times are from the acknowledgement of a row to the board that shows it.
All of it shares this one machine. `join`: a large journal, its first and its daily joining.
`append`: an append while another program shares the same journal, and rows of others come in,
beside one without, in turn.

Needs Debian's package postgresql. Ends by itself; with status 1 if anything was lost or doubled.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent.parent))

from app.pieces.order_view import order_view
from app.pieces.orders import Looked, order_called
from app.pieces.share import Away, Joined, join_once, keep_in_step
from app.session.clock import SystemClock
from engine import order_events as said
from engine.commands import Source
from engine.events import PieceBegun, RowsWorked
from engine.journal import postgres, postgres_setup
from engine.journal.sqlite import SqliteJournal
from engine.records import Record, new_name
from engine.stages import Stage
from tests.postgres import Server, migrations, missing, server

_A_PROGRAM = 5
"""So many knitters are in one program, and are killed together."""
_ROW_S = 30.0
"""Each knits a row in so many seconds: TRADE's sleeve takes 55 minutes for 22 rows, 150 s each."""
_BEGUN = PieceBegun("s", "h", None, None, 5, None, 0)
_WALL = "2026-01-10T18:00:00Z"


def _record(event: object, piece: str, writer: str, before: Record | None) -> Record:
    lamport = before.lamport + 1 if before else 1
    return Record(
        after=(before.id,) if before else (),
        lamport=lamport,
        writer=writer,
        piece=piece,
        group=new_name(),
        wall=_WALL,
        monotonic_ms=lamport * 60_000,
        source=Source.KEY,
        event=event,  # type: ignore[arg-type]
    )


def _ready(running: Server, knitters: list[str], database: str = "postgres") -> None:
    with postgres.connected(running.address(database=database)) as connection:
        postgres_setup.migrate(connection, migrations())
        for knitter in knitters:
            postgres_setup.let_in(connection, knitter)


def _percentile(values: list[float], share: float) -> float:
    at = min(int(share * len(values)), len(values) - 1)
    return sorted(values)[at] if values else float("nan")


# --- fifty hands ---------------------------------------------------------------------------------


def _knit(folder: Path, address: str, number: int, ends: float) -> None:
    """Knit one piece after another into the journal of one knitter, and share it beside."""
    path = folder / f"hand{number}.walesong"

    def share() -> None:
        while time.monotonic() < ends:
            with SqliteJournal.open(path) as journal:
                for _ in keep_in_step(journal, address):
                    if time.monotonic() > ends:
                        return

    threading.Thread(target=share, daemon=True).start()
    dice = Random(f"{number} {time.time()}")
    writer, piece = new_name(), new_name()
    last: Record | None = None
    with (
        SqliteJournal.open(path) as journal,
        (folder / f"hand{number}.tried").open("a") as tried,
        (folder / f"hand{number}.acknowledged").open("a") as acknowledged,
    ):
        while time.monotonic() < ends:
            time.sleep(dice.expovariate(1 / _ROW_S))
            row = last.lamport if last else 0
            event = (
                RowsWorked("body", row, row)
                if last
                else PieceBegun(f"Mug sleeve {number}", "hut", None, None, 50, None, 0)
            )
            last = _record(event, piece, writer, last)
            tried.write(last.id + "\n")
            tried.flush()
            journal.append([last])
            acknowledged.write(f"{last.id} {time.monotonic()}\n")
            acknowledged.flush()


def _program(folder: Path, first: int, many: int, address: str, ends: float) -> None:
    threads = [
        threading.Thread(
            target=_knit, args=(folder, address.replace("KNITTER", f"k{n}"), n, ends), daemon=True
        )
        for n in range(first, first + many)
    ]
    for one in threads:
        one.start()
    while time.monotonic() < ends + 1:
        time.sleep(0.2)
    os._exit(0)


def _look(folder: Path, address: str) -> None:
    """Keep the board of the order up to date, and note when each record was on it."""
    looked = Looked()
    with (
        SqliteJournal.open(folder / "board.walesong") as journal,
        (folder / "board.shown").open("a") as shown,
    ):
        known: set[str] = set()
        for news in keep_in_step(journal, address):
            if isinstance(news, Away):
                continue
            gained = news.shared.gained if isinstance(news, Joined) else news.gained
            new = [one for piece in gained for one in journal.records_but(piece, known)]
            order_view(journal, order_called(journal, None), SystemClock().wall(), looked)
            now = time.monotonic()
            for one in new:
                known.add(one.id)
                shown.write(f"{one.id} {now}\n")
            shown.flush()


def _child(*arguments: object) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, __file__, *map(str, arguments)])


def _order(folder: Path, running: Server) -> None:
    """Take an order of 60 sleeves, half of them packed, with times, yarn and a crew."""
    writer, piece = new_name(), new_name()
    happened: list[object] = [
        said.OrderBegun("Sleeves for the hut", "2026-03-01"),
        said.OrderLine(1, "Mug sleeve", "", "grey", 60, 5),
    ]
    for number in range(1, 61):
        happened.append(said.PieceGiven(number, f"k{number % 50}"))
        if number <= 30:
            happened += [
                said.PieceChecked(number, 22, None, None, None, 50 + number % 11),
                said.StageReached(number, Stage.PACKED),
            ]
    from fractions import Fraction  # noqa: PLC0415 (only here)

    happened += [said.HoursAWeek(f"k{number}", Fraction(4)) for number in range(50)]
    records: list[Record] = []
    for event in happened:
        records.append(_record(event, piece, writer, records[-1] if records else None))
    with SqliteJournal.open(folder / "board.walesong") as journal:
        journal.append(records, brought=True)
        join_once(journal, running.address("board"))


def hands(minutes: float, many: int, seed: int, *, trouble: bool) -> int:
    """Knit, cut, kill and count."""
    dice = Random(seed)
    with tempfile.TemporaryDirectory() as name, server(synced=True) as running:
        folder = Path(name)
        _ready(running, [*(f"k{n}" for n in range(many)), "board"])
        _order(folder, running)
        ends = time.monotonic() + 60 * minutes
        address = running.address("KNITTER")

        def program(first: int) -> subprocess.Popen[bytes]:
            return _child("program", folder, first, min(_A_PROGRAM, many - first), address, ends)

        programs = {first: program(first) for first in range(0, many, _A_PROGRAM)}
        board = _child("board", folder, running.address("board"))
        troubles: list[tuple[float, str]] = []
        while time.monotonic() < ends:
            time.sleep(dice.uniform(4, 12))
            if time.monotonic() > ends - 5 or not trouble:
                continue
            what = dice.choices(["cut", "client", "server"], [5, 3, 1])[0]
            troubles.append((time.monotonic(), what))
            if what == "cut":
                with postgres.connected(running.address()) as connection:
                    connection.execute(
                        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                        " WHERE usename LIKE 'k%' AND usename <> 'keeper' AND random() < 0.2"
                    )
            elif what == "client":
                first = dice.choice(sorted(programs))
                programs[first].send_signal(signal.SIGKILL)
                programs[first].wait()
                programs[first] = program(first)
            else:
                running.kill()
                time.sleep(dice.uniform(0.5, 3))
                running.start()
        for one in programs.values():
            one.wait(120)
        time.sleep(5)  # the last rows come to the board
        board.kill()
        board.wait()
        for n in range(many):  # everybody joins: first gives what is hers, then takes the rest
            with SqliteJournal.open(folder / f"hand{n}.walesong") as journal:
                join_once(journal, running.address(f"k{n}"))
        return _count(folder, running, many, troubles)


def _count(folder: Path, running: Server, many: int, troubles: list[tuple[float, str]]) -> int:
    acknowledged: dict[str, float] = {}
    tried: set[str] = set()
    for n in range(many):
        for line in (folder / f"hand{n}.acknowledged").read_text().splitlines():
            name, at = line.split()
            acknowledged[name] = float(at)
        tried.update((folder / f"hand{n}.tried").read_text().split())
    with postgres.connected(running.address()) as connection:
        rows = [
            str(one)
            for (one,) in connection.execute(
                "SELECT encode(id, 'hex') FROM walesong.record WHERE knitter <> 'board'"
            )
        ]
    lost = acknowledged.keys() - set(rows)
    doubled, strange = len(rows) - len(set(rows)), set(rows) - tried
    differ = 0
    for n in range(many):
        path = folder / f"hand{n}.walesong"
        with SqliteJournal.open(path) as journal:
            join_once(journal, running.address(f"k{n}"))
            mine = [one.id for one in journal.records()]
            differ += not (len(mine) == len(set(mine)) and set(rows) <= set(mine))
    kinds = {what: sum(one == what for _, one in troubles) for what in ("cut", "client", "server")}
    print(f"{many} hands; troubles: {json.dumps(kinds)}")
    print(f"rows acknowledged {len(acknowledged)}, in the store {len(rows)}")
    print(f"lost {len(lost)}, doubled {doubled}, never written {len(strange)}")
    print(f"devices that do not have everything, each once: {differ} of {many}")
    shown: dict[str, float] = {}
    for line in (folder / "board.shown").read_text().splitlines():
        name, at = line.split()
        shown.setdefault(name, float(at))
    took = {n: shown[n] - at for n, at in acknowledged.items() if n in shown}
    calm = [s for n, s in took.items() if not _troubled(acknowledged[n], troubles)]
    for what, some in (
        ("all rows", [*took.values()]),
        ("no trouble near", calm),
    ):
        print(
            f"board, {what}: n {len(some)}, p50 {_percentile(some, 0.5):.2f} s, "
            f"p95 {_percentile(some, 0.95):.2f} s, most {max(some, default=0):.2f} s"
        )
    print(f"acknowledged, and not on the board as it closed: {len(acknowledged) - len(took)}")
    return 1 if lost or doubled or strange or differ else 0


def _troubled(at: float, troubles: list[tuple[float, str]]) -> bool:
    return any(-2 < at - when < 10 for when, _ in troubles)


# --- joining -------------------------------------------------------------------------------------


def join(many: int) -> int:
    """Give a large journal to an empty store, take it on another device, and join daily."""
    rows, told = 500, time.perf_counter
    with tempfile.TemporaryDirectory() as name, server(synced=True) as running:
        folder = Path(name)
        _ready(running, ["anna", "berta"])
        path, other = folder / "anna.walesong", folder / "berta.walesong"
        with SqliteJournal.open(path) as journal:
            for _ in range(many // rows):
                _piece(journal, rows, new_name())
        print(f"{many} records in {many // rows} pieces: {path.stat().st_size / 1e6:.0f} MB here")
        for what, knitter, file in (
            ("first join, giving all", "anna", path),
            ("first join, taking all", "berta", other),
            ("nothing new", "anna", path),
        ):
            _joined(what, file, running.address(knitter))
        with SqliteJournal.open(path) as journal:
            for _ in range(4):
                _piece(journal, 250, new_name())
        _joined("a day, giving 1,000", path, running.address("anna"))
        _joined("a day, taking 1,000", other, running.address("berta"))
        with postgres.connected(running.address()) as connection:
            sizes = connection.execute(
                "SELECT pg_total_relation_size('walesong.record'),"
                " pg_relation_size('walesong.record'), count(*) FROM walesong.record"
            ).fetchone()
        assert sizes is not None
        whole, table, count = (int(str(one)) for one in sizes)
        print(
            f"store: {whole / 1e6:.0f} MB ({table / 1e6:.0f} without indexes) of {count} records, "
            f"{whole / count:.0f} bytes each"
        )
        begun = told()
        with SqliteJournal.open_to_read(other) as journal:
            assert sum(len(journal.ids(one.id)) for one in journal.pieces()) == count
        print(f"(opening and checking such a journal alone: {told() - begun:.1f} s)")
    return 0


def _piece(journal: SqliteJournal, rows: int, writer: str) -> None:
    piece, last, records = new_name(), None, []
    for row in range(rows):
        event = RowsWorked("body", row, row) if row else _BEGUN
        last = _record(event, piece, writer, last)
        records.append(last)
    journal.append(records)


def _joined(what: str, path: Path, address: str) -> None:
    begun = time.perf_counter()
    with SqliteJournal.open(path) as journal:
        opened, worked = time.perf_counter(), time.process_time()
        done = join_once(journal, address)
    took, worked = time.perf_counter() - opened, time.process_time() - worked
    print(
        f"{what}: {took:.1f} s, {worked:.1f} s of them this program's on a processor (after "
        f"{opened - begun:.1f} s to open), given {done.given}, taken {done.taken}",
        flush=True,
    )


# --- an append -----------------------------------------------------------------------------------


def append(rows: int) -> int:
    """Append with the journal shared by a program beside, and without, in turn."""
    took: dict[bool, list[float]] = {True: [], False: []}
    with tempfile.TemporaryDirectory() as name, server(synced=True) as running:
        folder = Path(name)
        _ready(running, ["anna", "berta"])
        path = folder / "anna.walesong"
        with SqliteJournal.open(path) as journal:
            writer, piece, last = new_name(), new_name(), None
            for block in range(10):
                shared = block % 2 == 1
                beside = None
                if shared:
                    beside = subprocess.Popen(
                        [
                            *(
                                Path(sys.executable).with_name("walesong"),
                                "share",
                                "--journal",
                                path,
                            ),
                            *("--with", running.address("anna")),
                        ],
                        cwd=Path(__file__).parent.parent,
                        stdout=subprocess.DEVNULL,
                    )
                    time.sleep(4)
                stop = threading.Event()
                others = threading.Thread(target=_others, args=(running, stop))
                others.start()
                for _ in range(rows // 5):
                    time.sleep(0.1)
                    row = last.lamport if last else 0
                    last = _record(RowsWorked("body", row, row) if last else
                                   _BEGUN,
                                   piece, writer, last)  # fmt: skip
                    begun = time.perf_counter()
                    journal.append([last])
                    took[shared].append(1000 * (time.perf_counter() - begun))
                stop.set()
                others.join()
                if beside is not None:
                    beside.send_signal(signal.SIGINT)
                    beside.wait(30)
    for shared, some in took.items():
        print(
            f"{'shared' if shared else 'alone '}: n {len(some)}, "
            f"p50 {statistics.median(some):.2f} ms, mean {statistics.fmean(some):.2f} ms, "
            f"p95 {_percentile(some, 0.95):.2f} ms, most {max(some):.1f} ms"
        )
    medians = statistics.median(took[True]) / statistics.median(took[False])
    means = statistics.fmean(took[True]) / statistics.fmean(took[False])
    print(f"ratio of the medians {medians:.2f}, of the means {means:.2f}")
    return 0


def _others(running: Server, stop: threading.Event) -> None:
    """Bring rows of somebody else to the store, two a second."""
    writer, piece, last = new_name(), new_name(), None
    store = postgres.PostgresJournal.open(running.address("berta"))
    while not stop.wait(0.5):
        row = last.lamport if last else 0
        last = _record(RowsWorked("body", row, row) if last else
                       _BEGUN, piece, writer, last)  # fmt: skip
        store.bring([last])
    store.close()


def main() -> int:
    """Do what is asked for."""
    if missing():
        print(f"Needs {missing()}")
        return 0
    words = sys.argv[1:]
    if words[:1] == ["program"]:
        _program(Path(words[1]), int(words[2]), int(words[3]), words[4], float(words[5]))
    if words[:1] == ["board"]:
        _look(Path(words[1]), words[2])
    parser = argparse.ArgumentParser(description="Several hands, one store.")
    parser.add_argument("what", choices=("hands", "join", "append"), nargs="?", default="hands")
    parser.add_argument("--minutes", type=float, default=3)
    parser.add_argument("--hands", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--calm", action="store_true", help="cut and kill nothing")
    parser.add_argument("--records", type=int, default=200_000)
    parser.add_argument("--rows", type=int, default=400)
    options = parser.parse_args()
    match options.what:
        case "hands":
            return hands(options.minutes, options.hands, options.seed, trouble=not options.calm)
        case "join":
            return join(options.records)
        case _:
            return append(options.rows)


if __name__ == "__main__":
    sys.exit(main())
