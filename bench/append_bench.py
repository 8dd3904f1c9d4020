"""What it costs to append one event, and how much of that is the note beside the journal.

    python -m bench.append_bench [ROUNDS]

A bare SQLite commit, an append without the note and one with it take turns in an order of dice, on
the disk of this checkout and on a folder in memory (where syncing costs nothing). Time of the
processor and time that passes are told apart; what passes beyond the processor's is mostly syncing.
The share of the note is of the differences within each turn: its middle, and how sure that is (a
bootstrap over the turns).
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from contextlib import ExitStack, closing
from functools import partial
from pathlib import Path
from random import Random
from statistics import median
from typing import TYPE_CHECKING, Final

from engine.commands import Source
from engine.events import PieceBegun, RowsWorked
from engine.journal.sqlite import SqliteJournal
from engine.records import Record, canonical, new_name

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.events import Event

_OUT = Path(__file__).parent.parent / "out"
_MEMORY = Path("/dev/shm")  # noqa: S108 (what Linux has in memory)
_EVENTS = 400
_BOOTSTRAPS = 400
_WAYS: Final = ("bare SQLite commit", "append, no note", "append with its note")


class _NoNote:
    def note(self, records: int, last: Record) -> None:
        del records, last

    def close(self) -> None:
        pass


def main() -> None:
    """Measure on disk and in memory, and print a table for each."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    _OUT.mkdir(exist_ok=True)
    for where, folder in (("on the disk", _OUT), ("in memory", _MEMORY)):
        if folder.is_dir():
            _table(where, [one for _ in range(rounds) for one in _round(folder)])


def _records() -> list[Record]:
    writer, piece = new_name(), new_name()
    events: list[Event] = [PieceBegun("long scarf", "hut", None, None, 44, None, 8)]
    events += [RowsWorked("body", row, row) for row in range(1, _EVENTS)]
    records: list[Record] = []
    for number, event in enumerate(events):
        after = (records[-1].id,) if records else ()
        records.append(
            Record(
                after=after,
                lamport=number + 1,
                writer=writer,
                piece=piece,
                group=new_name(),
                wall="2026-01-10T18:00:00Z",
                monotonic_ms=number * 60_000,
                source=Source.VOICE,
                event=event,
            )
        )
    return records


def _round(folder: Path) -> list[dict[str, tuple[float, float]]]:
    """Append a piece in all the ways; of each event and way the processor's and all seconds."""
    dice = Random()
    turns: list[dict[str, tuple[float, float]]] = []
    with ExitStack() as stack:
        place = Path(stack.enter_context(tempfile.TemporaryDirectory(dir=folder)))
        plain = stack.enter_context(closing(_plain(place / "bare.db")))
        without = stack.enter_context(SqliteJournal.open(place / "without.walesong"))
        without._last = _NoNote()  # type: ignore[assignment]  # noqa: SLF001
        noting = stack.enter_context(SqliteJournal.open(place / "with.walesong"))
        for record in _records():
            content = canonical(record)
            ways: dict[str, Callable[[], None]] = {
                _WAYS[0]: partial(_bare_commit, plain, content),
                _WAYS[1]: partial(without.append, [record]),
                _WAYS[2]: partial(noting.append, [record]),
            }
            order = dice.sample(_WAYS, len(_WAYS))
            turns.append({way: _timed(ways[way]) for way in order})
    return turns[_EVENTS // 10 :]  # what is loaded once counts for nobody


def _plain(path: Path) -> sqlite3.Connection:
    plain = sqlite3.connect(path, isolation_level=None)
    plain.execute("PRAGMA journal_mode = WAL")
    plain.execute("PRAGMA synchronous = FULL")
    plain.execute("CREATE TABLE bare (content BLOB)")
    return plain


def _bare_commit(plain: sqlite3.Connection, content: bytes) -> None:
    plain.execute("BEGIN IMMEDIATE")
    plain.execute("INSERT INTO bare VALUES (?)", (content,))
    plain.execute("COMMIT")


def _timed(action: Callable[[], None]) -> tuple[float, float]:
    used, begun = time.thread_time_ns(), time.perf_counter_ns()
    action()
    return (time.thread_time_ns() - used) / 1e3, (time.perf_counter_ns() - begun) / 1e3


def _table(where: str, turns: Sequence[dict[str, tuple[float, float]]]) -> None:
    print(
        f"\n{f'one event {where}, {len(turns)} turns':<40}{'processor us':>14}{'all us, p50':>14}"
    )
    for way in _WAYS:
        used, passed = (median(turn[way][which] for turn in turns) for which in (0, 1))
        print(f"{way:<40}{used:>14.0f}{passed:>14.0f}")
    for which, name in ((0, "processor"), (1, "all")):
        share, low, high = _share(turns, which)
        print(f"the note, share of the {name} time: {share:+.1%} ({low:+.1%} to {high:+.1%})")


def _share(
    turns: Sequence[dict[str, tuple[float, float]]], which: int
) -> tuple[float, float, float]:
    """Return the middle of what the note adds, of the middle without it, and 95 % around it."""
    dice = Random(1)
    added = [turn[_WAYS[2]][which] - turn[_WAYS[1]][which] for turn in turns]
    base = median(turn[_WAYS[1]][which] for turn in turns)
    again = sorted(median(dice.choices(added, k=len(added))) / base for _ in range(_BOOTSTRAPS))
    return median(added) / base, again[_BOOTSTRAPS // 40], again[-_BOOTSTRAPS // 40]


if __name__ == "__main__":
    main()
