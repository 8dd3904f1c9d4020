"""`walesong label`: a label for each piece of an order, alone or on a sheet of labels."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources
from app.pieces import order_input as read
from app.pieces.journal_files import default_journal
from app.pieces.orders import order_called, ordered_traits
from app.pieces.pattern_cache import document_of
from app.printing.label_forms import labels_html, labels_pdf
from app.printing.labels import label_of, read_sheets, size_of_type
from app.terminal.batch_command import unfit_file
from app.terminal.common_options import complain, option_of
from app.writing import write_whole
from engine.batch.piece_traits import PieceTraits
from engine.journal.sqlite import SqliteJournal
from engine.plan.tables import read_care
from engine.stages import Stage

if TYPE_CHECKING:
    from app.printing.labels import Label
    from engine.batch.order import OrderState

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

COUNTRY = (
    "Check what your country requires on a label: names of fibres, their shares, an address, "
    "care. What is here is common practice, no source."
)
_EPILOG = f"""\
{COUNTRY}

Sheets are in shared/tables/label_sheets.toml; "page" is one label a page. Care is in words: its
signs are trade marks in many countries.

examples:
  walesong label --fibre "100 % wool" --to labels.pdf
  walesong label 12 14-20 --sheet letter-10 --skip 3 --to labels.html
"""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "label",
        description=(
            "Write labels for pieces of an order: number, item, size, washed size in both units, "
            "fibre, dye lot, needle, the maker's initials, care, cautions and the day."
        ),
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "numbers",
        type=option_of(read.numbers),
        nargs="*",
        metavar="NUMBER",
        help="12, or 14-20 (left out: all that are off the needles)",
    )
    parser.add_argument("--to", metavar="OUT", type=Path, required=True, help=".html or .pdf")
    parser.add_argument("--fibre", default="", help='what the ball band says: "100 %% wool"')
    parser.add_argument("--caution", action="append", default=[], help="a caution more")
    parser.add_argument("--sheet", default="a4-8", metavar="NAME", help="which sheet (a4-8)")
    parser.add_argument(
        "--skip", type=option_of(read.how_many), default=0, metavar="N", help="so many are used up"
    )
    parser.add_argument("--replace", action="store_true", help="in the place of such a file")
    parser.add_argument("--order", metavar="NAME", help="which order (the one taken last)")
    parser.add_argument("--journal", metavar="FILE", type=Path, help="where the work is kept")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the labels: 0 done, 1 they do not fit, 2 there is no such piece, order or sheet."""
    path = options.journal or default_journal()
    if not path.exists():
        return complain(f'there is no journal "{path}" yet.', 3)
    unfit = unfit_file(options.to, {".html", ".htm", ".pdf"}, replace=options.replace)
    if unfit:
        return unfit
    sheets = read_sheets(resources.text("shared/tables/label_sheets.toml"))
    sheet = sheets.get(options.sheet)
    if sheet is None:
        return complain(f"there is no sheet {options.sheet}; there are: {', '.join(sheets)}.", 2)
    if options.skip >= sheet.labels:
        return complain(f"a sheet {sheet.name} has {sheet.labels} labels; skip fewer.", 2)
    try:
        with SqliteJournal.open_to_read(path) as journal:
            state = order_called(journal, options.order)
            known = ordered_traits(journal, state)
        labels = _labels(state, known, options)
    except KeyError as error:
        return complain(str(error.args[0]), 2)
    size = size_of_type(sheet, labels)
    if size is None:
        return complain(f"all that does not fit on a label of {sheet.name}; take a larger one.", 1)
    title = f"{state.name}: labels"
    if options.to.suffix.casefold() == ".pdf":
        from app.printing.as_pdf import PdfFonts  # noqa: PLC0415 (an optional extra)

        fonts = PdfFonts(
            resources.path("assets/fonts/Andika-Regular.ttf"),
            resources.path("assets/fonts/Andika-Bold.ttf"),
        )
        content = labels_pdf(title, sheet, labels, size, fonts, options.skip)
    else:
        content = labels_html(title, sheet, labels, size, options.skip).encode()
    write_whole(options.to, content)
    print(f"Wrote {len(labels)} labels to {options.to}; print them at full size.")
    if not options.fibre:
        print("Fibre and care are left to be written by hand; or say --fibre.", file=sys.stderr)
    print(COUNTRY)
    return 0


def _labels(
    state: OrderState, known: dict[int, PieceTraits], options: argparse.Namespace
) -> list[Label]:
    numbers = list(dict.fromkeys(one for some in options.numbers for one in some)) or [
        one.number
        for line in state.lines
        for one in state.pieces(line)
        if one.stage not in {None, Stage.BEGUN}
    ]
    if not numbers:
        raise KeyError(f"No piece of {state.name} is off the needles yet; name some.")
    fibres = read_care(resources.text("shared/tables/care.toml"))
    labels = []
    for number in numbers:
        line = state.line_of(number)
        if line is None:
            raise KeyError(f"{state.name} has no piece {number}.")
        piece = state.piece(number)
        traits = known.get(number, PieceTraits(line.item, number=number, maker=piece.knitter))
        cautions = (*_cautions(line.item), *options.caution)
        labels.append(
            label_of(state, line, traits, fibre=options.fibre, fibres=fibres, cautions=cautions)
        )
    return labels


def _cautions(item: str) -> tuple[str, ...]:
    """Return the cautions of our own pattern whose name is in an item's; () where none is."""
    words = {word.removesuffix("s") for word in item.casefold().replace("-", " ").split()}
    for path in resources.files("shared/patterns", "*.toml"):
        if words.issuperset(path.stem.split("-")):
            document = document_of(path.read_text(encoding="utf-8"))
            return () if isinstance(document, tuple) else document.cautions
    return ()
