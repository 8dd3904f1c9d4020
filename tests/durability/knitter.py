"""
Somebody who knits without end, as a process that may be killed at any moment.

    python -m tests.durability.knitter JOURNAL NAME [COMMANDS]

Each command is one to four rows in one group, appended at once. As soon as the journal has taken
it, the number of its last row is printed: from then on it may not be lost. When the disk is full
it prints that and waits for a line of input before it goes on.
"""

from __future__ import annotations

import sys
from itertools import count
from pathlib import Path
from random import Random

from engine.commands import Source
from engine.events import RowsWorked
from engine.journal.errors import DiskFullError, JournalError
from engine.journal.sqlite import SqliteJournal
from engine.records import Record, new_name


def command(newest: Record | None, piece: str, rows: int) -> list[Record]:
    """Return the records of one command, after the newest; each says how many they are."""
    group, written = new_name(), []
    for _ in range(rows):
        row = newest.lamport + 1 if newest else 1
        newest = Record(
            after=(newest.id,) if newest else (),
            lamport=row,
            writer=piece,
            piece=piece,
            group=group,
            wall="2026-01-10T18:00:00Z",
            monotonic_ms=row,
            source=Source.KEY,
            event=RowsWorked(f"{rows} at once", row, row),
        )
        written.append(newest)
    return written


def knit(path: Path, piece: str, commands: int | None) -> None:
    """Knit so many commands (None: without end)."""
    dice = Random()
    with SqliteJournal.open(path, wait_s=60) as journal:
        _say("open")
        newest = next(reversed(journal.records(piece)), None)
        for _ in range(commands) if commands is not None else count():
            records = command(newest, piece, dice.randint(1, 4))
            try:
                journal.append(records)
            except DiskFullError as error:
                _say(f"full: {error}")
                sys.stdin.readline()
                continue
            newest = records[-1]
            _say(f"row {newest.lamport}")


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> int:
    """Knit as the command line says; say in one sentence why it could not be."""
    path, piece, *commands = sys.argv[1:]
    try:
        knit(Path(path), piece, int(commands[0]) if commands else None)
    except JournalError as error:
        _say(f"refused: {error}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
