"""`walesong batch`: the pieces that are to be alike, beside their reference, and what is odd."""

from __future__ import annotations

import argparse
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources
from app.pieces import order_input as read
from app.pieces import plan_input, price_input
from app.pieces.alike_pieces import batches, piece_called
from app.pieces.batch_words import batch_lines, tolerance_words
from app.pieces.journal_files import default_journal
from app.pieces.order_view import order_view
from app.pieces.orders import orders
from app.pieces.values import PlanInputError
from app.session.clock import SystemClock
from app.session.order_history import OrderHistory
from app.session.piece_history import PieceHistory
from app.terminal.common_options import complain, option_of
from app.writing import write_whole
from engine.commands import Source
from engine.journal.sqlite import SqliteJournal
from engine.order_events import PieceWeighed, ToleranceSet

if TYPE_CHECKING:
    from collections.abc import Collection

    from engine.batch.alike import Batch

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_EPILOG = """\
Pieces are alike that are of one line of an order, of one pattern and size, or begun as the same
again. Lengths and widths are those measured washed, after the last row ("measure 8 cm washed").

examples:
  walesong batch                                the order taken last, or the piece worked on last
  walesong batch "Mug sleeve" --reference "Mug sleeve 2"
  walesong batch "Mug sleeve" --tolerance "length 0.3 cm" --tolerance "weight 4 %"
  walesong batch --to report.html               the same with plots, to print or hand on
  walesong batch --weigh "Mug sleeve 3" "12.1 g"
"""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "batch",
        description=(
            "Compare pieces that are to be alike: rows, length, width, weight, gauge both ways, "
            "needle, dye lot and time, each beside the reference with its tolerance; from twenty "
            "pieces of one maker also charts. What is odd about an odd one is said in words."
        ),
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "name", metavar="NAME", nargs="?", help="an order, one of its items, or a piece"
    )
    parser.add_argument("--reference", metavar="PIECE", help="the piece to compare with")
    parser.add_argument(
        "--tolerance",
        metavar='"LENGTH 0.5 cm"',
        type=option_of(read.tolerance),
        action="append",
        default=[],
        help="set how far a trait may be off; it is kept with the reference or the line",
    )
    parser.add_argument(
        "--weigh", metavar=("PIECE", "WEIGHT"), nargs=2, help="keep what a finished piece weighs"
    )
    parser.add_argument(
        "--to", metavar="OUT", type=Path, help="write it as a report: .html, .pdf or .csv"
    )
    parser.add_argument(
        "--replace", action="store_true", help="write it in the place of a file of that name"
    )
    parser.add_argument(
        "--paper", choices=("a4", "letter"), default="a4", help="for .pdf (default: a4)"
    )
    for name, reader, example, told in (
        ("--currency", price_input.currency, "EUR", "of the prices"),
        ("--yarn-price", price_input.yarn_price, '"8.90 for 100 g"', "costs in the report"),
        ("--hour-price", price_input.amount, "12.50", "costs in the report"),
        ("--margin", price_input.margin, '"15 %%"', "on yarn and hours"),
    ):
        shown = example.replace("%%", "%")
        parser.add_argument(name, type=option_of(reader), metavar=shown, help=told)
    parser.add_argument("--journal", metavar="FILE", type=Path, help="where the work is kept")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the comparison: 0 done, 2 there is nothing of that name."""
    path = options.journal or default_journal()
    if not path.exists():
        return complain(f'there is no journal "{path}" yet.', 3)
    try:
        options.prices = price_input.prices(
            options.currency, options.yarn_price, options.hour_price, options.margin
        )
    except PlanInputError as error:
        return complain(str(error), 2)
    if options.prices is not None and options.to is None:
        return complain("prices are for a report: say --to report.html, .pdf or .csv.", 2)
    if options.to is not None:
        unfit = unfit_file(options.to, {".html", ".htm", ".pdf", ".csv"}, replace=options.replace)
        if unfit:
            return unfit
    try:
        if options.weigh:
            return _weigh(path, *options.weigh)
        if options.tolerance:
            _keep(path, options)
        with SqliteJournal.open_to_read(path) as journal:
            found = batches(journal, options.name, options.reference)
            if options.to is not None:
                return _report(journal, found, options)
    except KeyError as error:
        return complain(str(error.args[0]), 2)
    print("\n\n".join("\n".join(batch_lines(one)) for one in found))
    return 0


def unfit_file(to: Path, endings: Collection[str], *, replace: bool) -> int:
    """Complain of a file that cannot be written in one of the forms; 0 if it can."""
    if to.suffix.casefold() not in endings:
        forms = sorted(set(endings) - {".htm"})
        return complain(f"{to} ends in none of {', '.join(forms[:-1])} and {forms[-1]}.", 2)
    if to.suffix.casefold() == ".pdf" and find_spec("reportlab") is None:
        return complain("a PDF needs the library ReportLab: pip install reportlab.", 3)
    if not to.absolute().parent.is_dir():
        return complain(f"there is no folder {to.parent}.", 3)
    if to.is_file() and not replace:
        return complain(f"there is a file {to} already; add --replace to replace it.", 3)
    return 0


def _report(journal: SqliteJournal, found: tuple[Batch, ...], options: argparse.Namespace) -> int:
    """Write the report; where the pieces are all of an order, its state is in it."""
    # Here, because nobody else needs the drawings.
    from app.printing.batch_report import batch_csv, batch_report  # noqa: PLC0415
    from app.printing.report_forms import report_html, report_pdf  # noqa: PLC0415

    if not any(one.pieces for one in found):
        return complain("no piece is off the needles yet; nothing was written.", 1)
    ending = options.to.suffix.casefold()
    if ending == ".csv":
        content = batch_csv(found, options.prices).encode()
    else:
        now = SystemClock().wall()
        state = next((one for one in orders(journal) if one.order == found[0].order), None)
        view = order_view(journal, state, now) if state is not None else None
        report = batch_report(found, view, now[:10], options.prices)
        if ending == ".pdf":
            from app.printing.as_pdf import PdfFonts  # noqa: PLC0415 (an optional extra)

            fonts = PdfFonts(
                resources.path("assets/fonts/Andika-Regular.ttf"),
                resources.path("assets/fonts/Andika-Bold.ttf"),
            )
            content = report_pdf(report, fonts, letter=options.paper == "letter")
        else:
            content = report_html(report, resources.text("shared/print/sheet.css")).encode()
    write_whole(options.to, content)
    print(f"Wrote {options.to}.")
    return 0


def _weigh(path: Path, name: str, weight: str) -> int:
    try:
        mass = plan_input.mass(weight)
    except PlanInputError as error:
        return complain(str(error), 2)
    with SqliteJournal.open(path) as journal:
        history = PieceHistory(journal, piece_called(journal, name), SystemClock())
        if not history.state.finished:
            return complain(f"{history.state.name} is not off the needles yet.", 1)
        history.write((PieceWeighed(mass),), Source.TYPED)
        print(f"{history.state.name} weighs {mass}.")
    return 0


def _keep(path: Path, options: argparse.Namespace) -> None:
    """Keep tolerances: with the lines of the order that are meant, else with the reference."""
    with SqliteJournal.open(path) as journal:
        found = batches(journal, options.name, options.reference)
        for one in found:
            _keep_for(journal, one, options.tolerance)


def _keep_for(journal: SqliteJournal, batch: Batch, wanted: list[ToleranceSet]) -> None:
    clock = SystemClock()
    if batch.first is not None:
        history = OrderHistory(journal, batch.order, clock)
        history.write(
            [ToleranceSet(batch.first, one.trait, one.length, one.number) for one in wanted],
            Source.TYPED,
        )
    elif batch.reference is not None and batch.reference.piece:
        PieceHistory(journal, batch.reference.piece, clock).write(wanted, Source.TYPED)
    else:
        raise KeyError(f"{batch.title} has no piece yet that a tolerance could be kept with.")
    for one in wanted:
        words = tolerance_words(one.trait, one.length, one.number)
        print(f"{batch.title}: {words}.", file=sys.stderr)
