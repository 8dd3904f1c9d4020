"""`walesong restore`: put a backup, or one of the dated copies, in the place of the journal."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.journal_files import default_journal
from app.terminal.common_options import journal_of
from engine.journal.copying import Copied, only_in, restored
from engine.journal.errors import JournalError
from engine.journal.on_disk import dated_copies

if TYPE_CHECKING:
    import argparse

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "restore",
        description=(
            "Put what a backup holds (a journal or lines of JSON) in the place of your journal. "
            "What is there now is kept beside under another name. Without a BACKUP it is the "
            "newest of the dated copies that are made by themselves, and only if the journal is "
            "not whole or holds nothing more. Close every other Walesong first."
        ),
    )
    parser.add_argument(
        "backup", metavar="BACKUP", type=Path, nargs="?", help="left out: the newest dated copy"
    )
    parser.add_argument("--into", metavar="JOURNAL", type=journal_of, help="left out: your own")
    parser.add_argument("--list", action="store_true", help="only name the dated copies")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Restore and say what became of both; 1 if there is no copy or no need, 4 if it failed."""
    try:
        into: Path = options.into or default_journal()
        copies = dated_copies(into)
        if options.list:
            for copy in copies:
                print(copy)
            return 0
        if options.backup is not None:
            return _restore(options.backup, into)
        if not copies:
            return _no(f'There is no dated copy of "{into}". Name a backup: walesong restore FILE')
        more = only_in(into, copies[0])
        if more:
            return _no(
                f'The journal "{into}" is whole and holds {more} records more than the copy of '
                f"{copies[0].stem}; nothing was changed. To go back all the same, name it: "
                f'walesong restore "{copies[0]}"'
            )
        return _restore(copies[0], into)
    except (JournalError, ValueError) as error:
        print(f"walesong restore: {error}", file=sys.stderr)
        return 4


def _restore(backup: Path, into: Path) -> int:
    print(_report(backup, into, restored(backup, into)))
    return 0


def _no(sentence: str) -> int:
    print(f"walesong restore: {sentence}", file=sys.stderr)
    return 1


def _report(backup: Path, into: Path, done: Copied) -> str:
    lines = [f'The journal "{into}" holds the {done.records} records of "{backup}" now.']
    if done.kept is not None:
        lines.append(f'The one that was there is kept as "{done.kept}".')
        if done.only_there is None:
            lines.append(
                f'What can be read of it comes back with: walesong mend "{done.kept}", then '
                f'walesong merge "{done.kept}"'
            )
        else:
            lines.append(
                f"{done.only_there} records are only there; they come back with: "
                f'walesong merge "{done.kept}"'
            )
    return "\n".join(lines)
