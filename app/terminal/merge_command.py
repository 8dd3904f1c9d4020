"""`walesong merge`: bring into a journal what another device, a backup or an export holds."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from app.pieces.disagreements import disagreements
from app.pieces.journal_files import default_journal, reading_of
from app.terminal.common_options import journal_of
from engine.journal.errors import JournalError
from engine.journal.exchange import take_in
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    import argparse

    from engine.journal.exchange import JournalReading, TakenIn

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


_TOLD: Final = 5
"""Of so many records that are left out it is told why."""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "merge",
        description=(
            "Bring into your journal everything that the others hold and it does not: journals of "
            "other devices, backups, lines of JSON. They are only read; the order does not matter, "
            "and doing it again changes nothing. Where two devices knitted on without knowing of "
            "each other, the rows they stand for are named. Close every other Walesong first."
        ),
    )
    parser.add_argument("others", metavar="OTHER", type=Path, nargs="+")
    parser.add_argument(
        "--into",
        metavar="JOURNAL",
        type=journal_of,
        help="left out: your own; made if it is not there",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Take in what the others hold, all or nothing of each; 4 if a journal cannot be used."""
    try:
        # All are read before anything is written: a wrong name among them changes nothing.
        readings = [(path, reading_of(path)) for path in options.others]
        into = options.into or default_journal()
        with SqliteJournal.open(into) as journal:
            if journal.gap is not None:
                print(f"walesong merge: {into}: {journal.gap}", file=sys.stderr)
            for path, reading in readings:
                if reading.gap is not None:
                    print(f"walesong merge: {path}: {reading.gap}", file=sys.stderr)
                for bad in reading.left_out:
                    print(f"walesong merge: {path}: {bad}", file=sys.stderr)
                gained = take_in(journal, reading.records)
                for why in gained.refused[:_TOLD]:
                    print(f"walesong merge: {path}: {why}", file=sys.stderr)
                print(_report(path, reading, gained))
            for line in disagreements(journal):
                print(line)
    except JournalError as error:
        print(f"walesong merge: {error}", file=sys.stderr)
        return 4
    return 0


def _report(path: Path, reading: JournalReading, gained: TakenIn) -> str:
    lines = [f'"{path}": {gained.new} of {len(reading.records)} records were new.']
    if gained.refused:
        lines.append(f"{len(gained.refused)} say what cannot be and were left out.")
    if gained.missing:
        lines.append(
            f"{len(gained.missing)} that others came after are still missing; the journal or "
            "backup that has them can be merged, too."
        )
    return " ".join(lines)
