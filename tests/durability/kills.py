"""Killing somebody who knits, and counting what is left; the long loop does it many times."""

from __future__ import annotations

import subprocess
import sys
import time
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from engine.events import RowsWorked
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from random import Random

    from engine.records import Record

ROOT = Path(__file__).parent.parent.parent


def start(path: Path, piece: str, *commands: str) -> subprocess.Popen[str]:
    """Start somebody who knits the piece in the journal."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.durability.knitter", str(path), piece, *commands],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def kill(path: Path, piece: str, dice: Random) -> int:
    """Start somebody, kill them at any moment, and return the last row that was acknowledged."""
    with start(path, piece) as knitter:
        assert knitter.stdout is not None
        said = ""
        if dice.random() < 0.8:  # The others are killed while they are still opening it.
            said = knitter.stdout.readline()
        time.sleep(dice.uniform(0, 0.15 if said else 0.4))
        knitter.kill()
        said += knitter.stdout.read()
    assert "refused" not in said, said
    return last_row(said)


def last_row(said: str) -> int:
    """Return the number of the last row in what somebody said, 0 if there is none."""
    whole_lines = said.rpartition("\n")[0].splitlines()
    rows = [int(line.removeprefix("row ")) for line in whole_lines if line.startswith("row ")]
    return max(rows, default=0)


def check(path: Path, acknowledged: dict[str, int]) -> int:
    """
    Assert that each piece has all its acknowledged rows, without a gap and in whole commands.

    Nor may it be told that something is missing: a kill loses nothing.

    Returns how many records the journal holds.
    """
    with SqliteJournal.open(path) as journal:
        assert journal.gap is None
        for piece, rows in acknowledged.items():
            _check_piece(journal.records(piece), rows)
        return len(journal.records())


def _check_piece(records: tuple[Record, ...], acknowledged: int) -> None:
    assert len(records) >= acknowledged, f"{acknowledged - len(records)} rows were lost"
    assert [record.lamport for record in records] == list(range(1, len(records) + 1))
    for earlier, later in pairwise(records):
        assert later.after == (earlier.id,)
    in_group = Counter(record.group for record in records)
    for record in records:
        assert isinstance(record.event, RowsWorked)
        assert record.event.section == f"{in_group[record.group]} at once", "half a command"
