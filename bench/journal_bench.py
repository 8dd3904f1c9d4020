"""What the journal costs: appending beside a bare SQLite commit, opening and folding again, size.

    python -m bench.journal_bench [EVENTS]

The last table is of a long life: 90 pieces with EVENTS events in all (20,000 if left out), and one
piece of 5,000 rows beside one of 50. Times there are of the processor: a busy machine changes them
little.

Both files lie on the disk of this checkout (in `out/`), because a temporary folder may be memory,
where syncing costs nothing. Bare commits and appends take turns, so both meet the same disk.
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import tempfile
import time
from contextlib import closing
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources
from app.language import phrase_book
from app.session.clock import SetClock
from app.session.opening import open_piece
from engine.commands import Feel, Since, Source
from engine.events import HandNoted, Measured, PieceBegun, RowNoted, RowsWorked, Undone
from engine.fabric import Fabric
from engine.history import fold
from engine.journal.exchange import read_file, take_in, write_file
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from engine.quantities import Length, LengthUnit
from engine.records import Record, canonical, new_name
from speech.words.understand import understand

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.conversation import Conversation
    from engine.events import Event

_OUT = Path(__file__).parent.parent / "out"
_EVENTS = 2_000


def main() -> None:
    """Measure, and print a table."""
    _OUT.mkdir(exist_ok=True)
    records = piece_of(_EVENTS)
    with tempfile.TemporaryDirectory(dir=_OUT, prefix="journal-bench-") as name:
        folder = Path(name)
        resources.cache_folder = lambda: folder / "cache"
        _appending(records, folder)
        _reading(records, folder)
        _long_life(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000, folder)
        _long_piece(folder)


def piece_of(length: int) -> list[Record]:
    """Return the records of a long piece: mostly rows, now and then something else."""
    events: list[Event] = [PieceBegun("long scarf", "hut", None, None, 44, None, 8)]
    row = 0
    while len(events) < length:
        row += 1
        events.append(RowsWorked("body", row, row))
        if row % 20 == 0:
            length_now = Length(Fraction(row * 9, 80).limit_denominator(8), LengthUnit.IN)
            events.append(
                Measured(row, length_now, Since.CAST_ON, 0, Fabric.ON_NEEDLE, assumed=False)
            )
        if row % 33 == 0:
            events.append(RowNoted(row, "note", "a thin place in the yarn, watch it in the wash"))
        if row % 50 == 0:
            events += [HandNoted(row, Feel.TIGHT), Undone(f"{len(events):032x}")]
    writer, piece = new_name(), new_name()
    records: list[Record] = []
    for number, event in enumerate(events[:length]):
        record = Record(
            after=(records[-1].id,) if records else (),
            lamport=number + 1,
            writer=writer,
            piece=piece,
            group=f"{number:032x}",
            wall="2026-01-10T18:00:00Z",
            monotonic_ms=number * 60_000,
            source=Source.VOICE,
            event=event,
        )
        records.append(record)
    return records


def _appending(records: list[Record], folder: Path) -> None:
    appended, bare = [], []
    contents = [canonical(record) for record in records]
    with (
        SqliteJournal.open(folder / "scarf.walesong") as journal,
        closing(sqlite3.connect(folder / "bare.db", isolation_level=None)) as plain,
    ):
        plain.execute("PRAGMA journal_mode = WAL")
        plain.execute("PRAGMA synchronous = FULL")
        plain.execute("CREATE TABLE bare (content BLOB)")
        for record, content in zip(records, contents, strict=True):
            bare.append(_timed(partial(_bare_commit, plain, content)))
            appended.append(_timed(partial(journal.append, [record])))
    print(f"{_EVENTS} commits, one event each{'p50 ms':>22}{'p99 ms':>10}{'longest':>10}")
    for name, times in (("bare SQLite commit (WAL, FULL)", bare), ("journal append", appended)):
        cuts = statistics.quantiles(times, n=100)
        values = (cuts[49], cuts[98], max(times))
        print(f"{name:<40}" + "".join(f"{1000 * value:>10.2f}" for value in values))


def _bare_commit(plain: sqlite3.Connection, content: bytes) -> None:
    plain.execute("BEGIN IMMEDIATE")
    plain.execute("INSERT INTO bare VALUES (?)", (content,))
    plain.execute("COMMIT")


def _timed(action: Callable[[], object]) -> float:
    started = time.perf_counter()
    action()
    return time.perf_counter() - started


def _reading(records: list[Record], folder: Path) -> None:
    path, lines = folder / "scarf.walesong", folder / "scarf.jsonl"
    size = path.stat().st_size
    content = sum(len(canonical(record)) for record in records)
    steps: list[tuple[str, Callable[[SqliteJournal], object]]] = [
        ("open, check every page and record", lambda _: SqliteJournal.open(path).close()),
        ("list the pieces", lambda journal: journal.pieces()),
        ("read all records", lambda journal: journal.records()),
        ("fold all records", lambda _: fold(records)),
        ("back up", lambda journal: journal.backup(folder / "backup.walesong", replace=True)),
        ("write as lines", lambda journal: write_file(journal.records(), lines, replace=True)),
        ("read lines into another journal", lambda _: _take_in(lines)),
    ]
    print(f"\n{f'a journal of {_EVENTS} events':<40}{'ms':>10}")
    for name, action in steps:
        with SqliteJournal.open(path) as journal:
            times = [_timed(partial(action, journal)) for _ in range(7)]
        print(f"{name:<40}{1000 * statistics.median(times):>10.1f}")
    each = [size, content, lines.stat().st_size]
    in_file, in_content, in_lines = (round(part / len(records)) for part in each)
    print(f"\nbytes an event: {in_file} in the file, {in_content} of them its content;", end=" ")
    print(f"{in_lines} as a line")


def _take_in(lines: Path) -> None:
    with closing(MemoryJournal()) as journal:
        take_in(journal, read_file(lines).records)


# --- a long life ---------------------------------------------------------------------------------

_PIECES = 90
_ANSWERS = (
    "row done",
    "which row now",
    "what comes next",
    "how far left",
    "measure nine centimetres",
    "show my pieces",
    "take that back",
    "put that back",
)


def _long_life(events: int, folder: Path) -> None:
    """Start and answer on a large journal, with the summaries made anew and kept."""
    path = folder / "years.walesong"
    with SqliteJournal.open(path) as journal:
        for _ in range(_PIECES):
            journal.append(piece_of(events // _PIECES))
    print(f"\n{f'{events} events in {_PIECES} pieces':<40}{'summaries':>12}{'processor ms':>14}")
    _open(folder / "empty.walesong").close()  # what is loaded once
    steps: list[tuple[str, str, Callable[[], object]]] = [
        ("open the journal, check all of it", "", lambda: SqliteJournal.open(path).close()),
        ("start on an empty journal", "", lambda: _started(folder / "new.walesong")),
        ("start: open, take up, list the pieces", "made anew", lambda: _started(path)),
        ("start: open, take up, list the pieces", "kept", lambda: _started(path)),
    ]
    for name, summaries, action in steps:
        print(f"{name:<40}{summaries:>12}{1000 * _cpu(action):>14.0f}")
    talk = _open(path)
    for words in _ANSWERS:
        print(f"{words:<40}{'kept':>12}{1000 * _cpu(partial(_say, talk, words)):>14.1f}")
    other = talk.pieces()[1].id
    print(f"{'go to another piece':<40}{'kept':>12}{1000 * _cpu(partial(_go, talk, other)):>14.1f}")
    talk.close()


def _long_piece(folder: Path) -> None:
    """Answer at row 50 and at row 5,000 of one piece."""
    talks = []
    for events in (53, 5_300):
        path = folder / f"{events}.walesong"
        with SqliteJournal.open(path) as journal:
            journal.append(piece_of(events))
        talks.append(_open(path))
    rows = "".join(f"{f'row {talk.state.done}':>14}" for talk in talks)
    print(f"\n{'one answer, processor ms':<40}{rows}")
    for words in _ANSWERS:
        times = [1000 * _cpu(partial(_say, talk, words)) for talk in talks]
        print(f"{words:<40}" + "".join(f"{each:>14.1f}" for each in times))
    for talk in talks:
        talk.close()


def _open(path: Path) -> Conversation:
    talk = open_piece(path, SetClock(), None, fresh=False, source=Source.KEY)
    talk.stamps()  # as the board does at once
    return talk


def _started(path: Path) -> None:
    talk = _open(path)
    talk.pieces()
    talk.close()


def _say(talk: Conversation, words: str) -> None:
    meant = understand(words, phrase_book())
    assert meant, words
    talk.hear(meant, Source.TYPED)
    talk.stamps()


def _go(talk: Conversation, piece: str) -> None:
    talk.about(piece).pieces()


def _cpu(action: Callable[[], object]) -> float:
    started = time.process_time()
    action()
    return time.process_time() - started


if __name__ == "__main__":
    main()
