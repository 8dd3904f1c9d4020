"""`walesong demo order`: a journal of its own with an order in it, half done, to look around in."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.journal_files import default_journal
from app.session.demo_order import NAME, demo_order
from app.terminal.common_options import complain
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    import argparse

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "demo",
        description=(
            "Write a journal to look around in, apart from your own: an order of sleeves and caps "
            "for a mountain hut, by a crew of four, half done, with one odd piece in it."
        ),
    )
    parser.add_argument("what", choices=("order",), help="what to show")
    parser.add_argument(
        "--journal", metavar="FILE", type=Path, help="where it is written (beside your own)"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the journal: 0 done, 3 there is a file of that name."""
    path = options.journal or default_journal().with_name("order-demo.walesong")
    if path.exists():
        return complain(
            f'there is a journal "{path}" already; look at it with: '
            f'walesong order --journal "{path}"; or name another with --journal.',
            3,
        )
    pieces, book = demo_order(datetime.now(UTC))
    with SqliteJournal.open(path) as journal:
        journal.append(pieces)
        journal.append(book, brought=True)
    print(f'"{NAME}" is in "{path}". Look at it:')
    for command in ("order", "batch", "knit"):
        print(f'  walesong {command} --journal "{path}"')
    return 0
