"""`walesong mend JOURNAL`: keep a damaged journal beside, and go on with all that can be read."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from app.terminal.common_options import journal_of
from engine.journal.errors import DamagedJournalError, JournalError
from engine.journal.on_disk import dated_copies
from engine.journal.salvage import Mended, mend
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "mend",
        description=(
            "Put a whole journal in the place of a damaged one, with every record that can be "
            "read and proves to be what was written. The damaged file and its log are kept beside "
            "under another name. A journal that is whole is left as it is. Close every other "
            "Walesong first."
        ),
    )
    parser.add_argument("journal", metavar="JOURNAL", type=journal_of)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Mend the journal and say what became of it; 4 if it could not be."""
    path: Path = options.journal
    try:
        with SqliteJournal.open_to_read(path):
            print(f'The journal "{path}" is whole; nothing was changed.')
            return 0
    except DamagedJournalError:
        pass
    except JournalError as error:
        return _failed(error)
    try:
        mended = mend(path)
    except JournalError as error:
        return _failed(error)
    print(_report(path, mended))
    return 0


def _failed(error: JournalError) -> int:
    print(f"walesong mend: {error}", file=sys.stderr)
    return 4


def _records(count: int) -> str:
    return "1 record" if count == 1 else f"{count} records"


def _report(path: Path, mended: Mended) -> str:
    lines = [
        f'The journal "{path}" is whole again, with {_records(mended.saved)}.',
        f'The damaged one is kept as "{mended.kept}".',
    ]
    if mended.aside:
        one = len(mended.aside) == 1
        told = (
            "1 says what cannot be: it is"
            if one
            else f"{len(mended.aside)} say what cannot be: they are"
        )
        count = "counts" if one else "count"
        lines.append(f"{told} kept and {count} for nothing. {mended.aside[0]}")
    if mended.missing:
        copy = next(iter(dated_copies(path)), None)
        backup = f'walesong merge "{copy}"' if copy else "if you have a backup, `walesong merge`"
        lines.append(
            f"At least {len(mended.missing)} could not be read; {backup} brings in what it holds."
        )
    return "\n".join(lines)
