"""`walesong share`: keep this device's journal in step with the store that several hands share."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from typing import TYPE_CHECKING

from app import resources
from app.pieces.disagreements import disagreements
from app.pieces.journal_files import default_journal
from app.pieces.order_view import order_view
from app.pieces.order_words import order_lines
from app.pieces.orders import Looked, order_called
from app.session.clock import SystemClock
from app.terminal.common_options import complain, journal_of
from engine.journal.errors import JournalError
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    import argparse
    from collections.abc import Collection
    from pathlib import Path

    from app.pieces.share import Away, Joined
    from engine.journal.sharing import Shared

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_EPILOG = """\
The address is one of libpq's: postgresql://NAME@HOST/DATABASE; a password belongs in ~/.pgpass.
To another computer the connection is encrypted or not made; ?sslmode=verify-full&sslrootcert=FILE
makes sure of who is there, too.

examples:
  walesong share --set-up --with postgresql://keeper@studio.example/knitting
  walesong share --let-in anna --with postgresql://keeper@studio.example/knitting
  walesong share --with postgresql://anna@studio.example/knitting?sslmode=verify-full --board
"""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    import argparse  # noqa: PLC0415 (only for the help)

    parser = commands.add_parser(
        "share",
        description=(
            "Keep your journal in step with a PostgreSQL database that several knitters share, "
            "until you interrupt it; knit meanwhile as ever. Without a connection everything goes "
            "on, and is shared when there is one again. Everybody who shares sees everything. "
            "Nothing is ever changed or deleted there."
        ),
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--with", dest="address", metavar="ADDRESS", required=True, help="where the store is"
    )
    parser.add_argument("--journal", metavar="FILE", type=journal_of, help="left out: your own")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--once", action="store_true", help="get in step once, then end")
    what.add_argument(
        "--board",
        nargs="?",
        const="",
        metavar="ORDER",
        help="show the order (the one taken last) whenever it changes",
    )
    what.add_argument("--set-up", action="store_true", help="make the store ready, as its keeper")
    what.add_argument("--let-in", metavar="KNITTER", help="let somebody share, as its keeper")
    what.add_argument(
        "--hand-over",
        nargs=2,
        metavar=("WRITER", "KNITTER"),
        help="say whose the records of a writer are, as its keeper",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Share: 0 done, 3 a library is missing, 4 the journal or the store cannot be used."""
    if find_spec("psycopg") is None:
        return complain('sharing needs the package psycopg: pip install "psycopg[binary]".', 3)
    try:
        import psycopg  # noqa: F401, PLC0415 (it is there, but can it find its library?)
    except ImportError:
        return complain(
            'psycopg finds no library libpq: pip install "psycopg[binary]", or on Debian apt-get '
            "install libpq5.",
            3,
        )
    try:
        if options.set_up or options.let_in is not None or options.hand_over:
            return _keep(options)
        return _share(options.journal or default_journal(), options)
    except JournalError as error:
        return complain(f"share: {error}", 4)


def _keep(options: argparse.Namespace) -> int:
    from engine.journal import postgres, postgres_setup  # noqa: PLC0415 (the library may lack)

    connection = postgres.connected(options.address)
    with connection:
        if options.set_up:
            found = resources.files("shared/sharing", "*.sql")
            new = postgres_setup.migrate(
                connection, [(one.name, one.read_text(encoding="utf-8")) for one in found]
            )
            print(f"The store is ready; new in it: {', '.join(new) or 'nothing'}.")
        elif options.let_in is not None:
            made = postgres_setup.let_in(connection, options.let_in)
            print(
                f"{options.let_in} may share now."
                + (f" A password: psql, then \\password {options.let_in}." if made else "")
            )
        else:
            writer, knitter = options.hand_over
            if not postgres_setup.hand_over(connection, writer, knitter):
                return complain(f"share: the store has no writer {writer}.", 1)
            print(f"The records of {writer} are {knitter}'s to bring now.")
    return 0


def _share(path: Path, options: argparse.Namespace) -> int:
    from app.pieces import share  # noqa: PLC0415 (the library may lack)

    with SqliteJournal.open(path) as journal:
        if journal.gap is not None:
            print(f"walesong share: {path}: {journal.gap}", file=sys.stderr)
        if options.once:
            _tell(journal, share.Joined(share.join_once(journal, options.address)))
            return 0
        looked = Looked()
        for news in share.keep_in_step(journal, options.address):
            _tell(journal, news)
            if options.board is not None and not isinstance(news, share.Away):
                _board(journal, options.board, looked)
            sys.stdout.flush()
    raise AssertionError("Sharing ends only by an interrupt.")


def _tell(journal: SqliteJournal, news: Joined | Away | Shared) -> None:
    from app.pieces.share import Away, Joined  # noqa: PLC0415 (the library may lack)

    gained: Collection[str] | None
    match news:
        case Away(why):
            print(f"walesong share: {why}", file=sys.stderr)
            return
        case Joined(shared):
            gained = None  # what stood open before is told once, too
            print(f"In step: {shared.given} records given, {shared.taken} taken.")
        case _:
            shared, gained = news, news.gained
    for why in shared.refused:
        print(f"walesong share: {why}", file=sys.stderr)
    for line in disagreements(journal, gained):
        print(line)


def _board(journal: SqliteJournal, name: str, looked: Looked) -> None:
    try:
        state = order_called(journal, name or None)
    except KeyError as error:
        print(error.args[0])
        return
    print()
    print("\n".join(order_lines(order_view(journal, state, SystemClock().wall(), looked))))
