"""The sub-command `walesong write`: the finished pattern as a designer hands it out."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources
from app.pieces.pattern_cache import document_of
from app.reading import text_of
from app.session.settings import YarnHand
from app.writing import write_whole
from engine.limits import STEPS_OF_PRINT, Allowance, TooMuchWorkError
from engine.pattern import PatternDocument, PatternError

if TYPE_CHECKING:
    import argparse

    from app.printing.sheet import PatternSheet
    from engine.pattern import Problem

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

FORMS = {".html": "html", ".htm": "html", ".md": "md", ".markdown": "md", ".pdf": "pdf"}

_EPILOG = """\
The ending of the file says the form: .html (one file, prints well), .md (plain text) or .pdf (by
the library ReportLab, an optional extra: pip install reportlab).

A pattern that does not add up is refused with its problems (exit code 1) and nothing is written.
With --despite-problems it is written with a plain warning, and every problem marked at its row.

examples:
  walesong write cap.toml --to cap.html
  walesong write cap.toml --to cap-M.pdf --size M --paper letter
  walesong write cap.toml --to cap.pdf --left-handed --large-print
  walesong write cap.toml --to class.pdf --size M --handout
"""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    from argparse import RawDescriptionHelpFormatter  # noqa: PLC0415

    parser = commands.add_parser(
        "write",
        description=(
            "Write a pattern as it is handed out: sizes, finished measurements and gauge in both "
            "units, materials, the abbreviations it uses, charts with their key, a schematic to "
            "scale, the instructions with their stitch counts, the fabric stitch by stitch, and "
            "the cautions that apply."
        ),
        epilog=_EPILOG,
        formatter_class=RawDescriptionHelpFormatter,
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="a pattern file (TOML)")
    parser.add_argument(
        "--to", metavar="OUT", type=Path, required=True, help="the file to write: .html, .md, .pdf"
    )
    parser.add_argument(
        "--replace", action="store_true", help="write it in the place of a file of that name"
    )
    parser.add_argument("--size", metavar="NAME", help="write only this size")
    parser.add_argument(
        "--left-handed",
        action="store_true",
        help="mirror charts and pictures; the words stay as they are",
    )
    parser.add_argument(
        "--hands",
        choices=("right", "left"),
        help="add pictures of how its stitches are made, the yarn led by the hand with the free "
        "needle (right) or by the other one (left)",
    )
    parser.add_argument(
        "--large-print", action="store_true", help="17 point type (for .html and .pdf)"
    )
    parser.add_argument(
        "--handout",
        action="store_true",
        help="one page for a class: one size, the rows in whole words with boxes to tick",
    )
    parser.add_argument(
        "--paper", choices=("a4", "letter"), default="a4", help="for .pdf (default: a4)"
    )
    parser.add_argument(
        "--despite-problems",
        action="store_true",
        help="write a pattern that does not add up, with a warning on it",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the pattern: 0 written, 1 it does not add up, 2 options, 3 a file or a library."""
    form = FORMS.get(options.to.suffix.casefold())
    if form is None:
        return _complain(f"{options.to} ends in none of .html, .md and .pdf.", 2)
    if form == "pdf" and find_spec("reportlab") is None:
        return _complain("a PDF needs the library ReportLab: pip install reportlab.", 3)
    if not options.to.absolute().parent.is_dir():
        return _complain(f"there is no folder {options.to.parent}.", 3)
    try:
        text = text_of(options.file)
    except OSError as error:
        return _complain(f"{options.file} cannot be opened: {error.strerror}.", 3)
    except UnicodeDecodeError:
        return _complain(f"{options.file} is not a text in UTF-8.", 3)
    document = document_of(text)
    if not isinstance(document, PatternDocument):
        _show(options.file, document)
        return _complain(f"{options.file} cannot be read; nothing was written.", 1)
    return _write(document, form, options)


def _write(document: PatternDocument, form: str, options: argparse.Namespace) -> int:
    # Here, because checking the options first keeps their answers quick.
    from app.printing.compose import compose  # noqa: PLC0415
    from app.printing.data import print_data  # noqa: PLC0415

    sizes = {name.casefold(): name for name in document.sizes}
    if options.handout and options.size is None and len(sizes) > 1:
        known = ", ".join(document.sizes)
        return _complain(f"a handout is for one size: add --size with one of {known}.", 2)
    if options.handout and options.hands is not None:
        return _complain("a handout of one page has no room for --hands; see walesong hands.", 2)
    if options.size is not None and options.size.casefold() not in sizes:
        known = ", ".join(document.sizes) or "one size without a name"
        return _complain(f"{options.file} has {known}, not '{options.size}'.", 2)
    wanted = sizes[options.size.casefold()] if options.size is not None else None
    problems = [
        problem
        for verdict in document.check()
        if wanted in {None, verdict.size}
        for problem in verdict.problems
    ]
    if problems and not options.despite_problems:
        _show(options.file, problems)
        return _complain(
            f"{options.file} does not add up; nothing was written (--despite-problems writes it "
            "with a warning).",
            1,
        )
    if options.to.is_file() and not options.replace:
        return _complain(f"there is a file {options.to} already; add --replace to replace it.", 3)
    try:
        with Allowance(STEPS_OF_PRINT).used():
            composed = compose(
                document,
                print_data(),
                size=wanted,
                left_handed=options.left_handed,
                large=options.large_print,
                handout=options.handout,
                hands=None if options.hands is None else YarnHand(options.hands),
            )
    except PatternError as error:
        _show(options.file, (error.problem,))
        return _complain(f"{options.file} cannot be printed; nothing was written.", 1)
    except TooMuchWorkError as error:
        return _complain(
            f"{options.file} cannot be printed: {error} Nothing was written; "
            "print one size at a time (--size).",
            1,
        )
    for remark in composed.remarks:
        print(f"walesong write: note: {remark}", file=sys.stderr)
    content = as_bytes(composed.sheet, form, options)
    if content is None:
        return _complain(
            f"{options.file} is longer than one page, so it makes no handout; nothing was "
            "written. Write it whole, without --handout.",
            1,
        )
    try:
        write_whole(options.to, content)
    except OSError as error:
        return _complain(f"{options.to} cannot be written: {error.strerror}.", 3)
    print(f"Wrote {options.to}.")
    return 0


def as_bytes(sheet: PatternSheet, form: str, options: argparse.Namespace) -> bytes | None:
    """Return the file; None for a handout that does not fit on its page."""
    if form == "pdf":
        from app.printing.as_pdf import (  # noqa: PLC0415 (an optional extra)
            Paper,
            PdfFonts,
            as_handout,
            as_pdf,
        )

        fonts = PdfFonts(
            resources.path("assets/fonts/Andika-Regular.ttf"),
            resources.path("assets/fonts/Andika-Bold.ttf"),
        )
        paper = Paper(options.paper)
        if sheet.handout:
            return as_handout(sheet, fonts, paper=paper)
        return as_pdf(sheet, fonts, paper=paper, large=options.large_print)
    if form == "md":
        from app.printing.as_markdown import as_markdown  # noqa: PLC0415 (only one form is needed)

        return as_markdown(sheet).encode()
    from app.printing.as_html import as_html  # noqa: PLC0415 (only one form is needed)

    style = resources.text("shared/print/sheet.css")
    return as_html(sheet, style, large=options.large_print).encode()


def _complain(sentence: str, code: int) -> int:
    print(f"walesong write: {sentence}", file=sys.stderr)
    return code


def _show(path: Path, problems: tuple[Problem, ...] | list[Problem]) -> None:
    for problem in problems:
        about = [problem.section, problem.row, f"size {problem.size}" if problem.size else None]
        named = ", ".join(part for part in about if part)
        place = f"{path}:{problem.line or 1}:{problem.column or 1}"
        sentence = f"{named}: {problem.message}" if named else problem.message
        print(f"  {place}: {sentence}", file=sys.stderr)
