"""`walesong backup`: a copy of the journal that is complete in itself, or its lines of JSON."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Final

from app.pieces.journal_files import default_journal
from app.terminal.common_options import journal_of
from engine.journal.errors import JournalError
from engine.journal.exchange import write_file
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

LINES: Final = frozenset({".jsonl", ".json"})
"""The endings of file names that ask for lines of JSON."""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "backup",
        description=(
            "Write a copy of the whole journal, complete in itself, and read it back. An older one "
            "of that name gives way only with --replace, and is kept beside where it holds more "
            "than the new one. A name that ends in .jsonl gets lines of JSON, "
            "which any program can read (shared/journal.schema.json describes them). Copying the "
            "file by other means leaves behind what is still in its log. The journal is only read."
        ),
    )
    parser.add_argument(
        "journal", metavar="JOURNAL", type=journal_of, nargs="?", help="left out: your own"
    )
    parser.add_argument(
        "--to", metavar="FILE", type=journal_of, required=True, help="where the copy is written"
    )
    parser.add_argument(
        "--replace", action="store_true", help="put it in the place of an older copy of that name"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the copy and say how much is in it; 4 if it could not be."""
    to: Path = options.to
    try:
        path = options.journal or default_journal()
        with SqliteJournal.open_to_read(path) as journal:
            if journal.gap is not None:
                print(f"walesong backup: {journal.gap}", file=sys.stderr)
            if to.suffix in LINES:
                records = journal.records()
                count, kept = len(records), write_file(records, to, replace=options.replace)
            else:
                done = journal.backup(to, replace=options.replace)
                count, kept = done.records, done.kept
    except (JournalError, ValueError) as error:
        print(f"walesong backup: {error}", file=sys.stderr)
        return 4
    print(f'All {count} records of "{path}" are in "{to}".')
    if kept is not None:
        print(f'What was there held more; it is kept as "{kept}".')
    return 0
