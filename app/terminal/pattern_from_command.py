"""The sub-command `walesong pattern-from`: what was knitted becomes a pattern file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources
from app.pieces.journal_files import default_journal
from app.pieces.pattern_cache import course_of
from app.pieces.pattern_from import pattern_from
from app.pieces.plan_input import as_gauge as given_gauge
from app.pieces.plan_input import ease as read_ease
from app.pieces.plan_input import gauge as read_gauge
from app.pieces.sized_pattern import (
    WITHIN,
    Fitting,
    Sizing,
    in_sizes,
    read_course,
    size_words,
    sized_text,
)
from app.pieces.values import PlanInputError
from app.terminal.common_options import complain, option_of
from engine.compose.resized import Knitted
from engine.fabric import Fabric
from engine.facts.swatches import as_gauge, finished_gauge
from engine.history import fold
from engine.journal.errors import JournalError
from engine.journal.sqlite import SqliteJournal
from engine.plan.sizes_table import read_sizes
from engine.plan.wearers import KNOWN, wearers
from engine.quantities import parse_number

_MOST_WITHIN = 10
"""Farther off, another size would be nearer (a guess)."""
_EASE = (
    "other sizes need --sizes and --ease: caps, socks and sleeves are mostly 5 to 10 % smaller "
    "than what they go around (common practice), so --ease '8% smaller'."
)

if TYPE_CHECKING:
    import argparse
    from fractions import Fraction

    from engine.pattern import Course
    from engine.state import PieceState

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "pattern-from",
        description=(
            "Write a piece out as a pattern: the rows that were said and knitted, those that come "
            "again folded, the parts with the length that was measured, gauge, needle, yarn and "
            "notes. What is written is read and counted again; `walesong write` prints it."
        ),
    )
    parser.add_argument("piece", metavar="PIECE", help="the name of the piece, or its number")
    parser.add_argument("--to", metavar="FILE", type=Path, help="the pattern file to write")
    parser.add_argument(
        "--replace", action="store_true", help="write it in the place of a file of that name"
    )
    parser.add_argument(
        "--beside", action="store_true", help="show every row as knitted beside the pattern's"
    )
    parser.add_argument("--journal", metavar="FILE", type=Path, help="the journal to read")
    sizes = parser.add_argument_group(
        "other sizes", "from the piece and its gauge to every size of a table"
    )
    sizes.add_argument("--sizes", metavar="TABLE", help=f"one of: {KNOWN}")
    sizes.add_argument(
        "--ease", type=option_of(read_ease), metavar="EASE",
        help='how the piece differs from what it goes around: "8%% smaller", "0 cm larger"',
    )  # fmt: skip
    sizes.add_argument(
        "--gauge", type=option_of(read_gauge), metavar="STSxROWS[/LENGTH]",
        help="washed gauge, where no swatch was counted with the piece",
    )  # fmt: skip
    sizes.add_argument(
        "--edges", type=int, default=0, metavar="N", help="edge stitches that the seam takes"
    )
    sizes.add_argument(
        "--within", type=option_of(_percent), default=WITHIN, metavar="PERCENT",
        help="how far a finished width may be from the one wanted (2.5%%)",
    )  # fmt: skip
    sizes.add_argument("--skill", default="", metavar="WORDS", help='such as "Easy: knit, purl"')
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the pattern: 0 written, 1 it does not add up, 2 no such piece, 3 a file, 4 journal."""
    if options.to is not None and options.to.exists() and not options.replace:
        return complain(f"there is a file {options.to} already; add --replace.", 3)
    try:
        state = _piece(options.journal or default_journal(), options.piece)
    except JournalError as error:
        return complain(str(error), 4)
    if isinstance(state, str):
        return complain(state)
    if not state.done:
        return complain(f"no row of {state.name} is done yet.", 1)
    if options.sizes or options.ease:
        return _all_sizes(options, state, course_of(state))
    found = pattern_from(state)
    text = found.text
    if found.why:
        print(text)
        return complain(f"what comes out does not add up: {found.why}", 1)
    if options.beside:
        for one in found.rows:
            print(f"{one.row:>5}  {one.knitted:<44}  {one.label:<14} {one.written}")
    elif options.to is None:
        print(text, end="")
    if options.to is not None and (trouble := _kept(options.to, text)):
        return complain(trouble, 3)
    where = f" in {options.to}" if options.to is not None else ""
    rows = "1 row" if state.done == 1 else f"{state.done} rows"
    print(f"walesong: {state.name}: {rows}{where}; the pattern adds up.", file=sys.stderr)
    return 0


def _percent(text: str) -> Fraction:
    """Read "3%": a share of a width, a tenth of it at most."""
    value = parse_number(text.strip().removesuffix("%").strip())
    if value is None or not 0 <= value <= _MOST_WITHIN:
        raise PlanInputError(f"'{text}' is no share; write it like 3%, up to {_MOST_WITHIN}%.")
    return value / 100


def _kept(file: Path, text: str) -> str:
    """Write a file; return in a sentence why that cannot be, or ""."""
    try:
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        return f"{file} cannot be written: {error.strerror}."
    return ""


def _all_sizes(options: argparse.Namespace, state: PieceState, course: Course) -> int:
    """Write the pattern of every size of a table that can be reached; name those that cannot."""
    if not options.sizes or not options.ease:
        return complain(_EASE)
    counted = finished_gauge(state)
    gauge = as_gauge(counted) if counted is not None else None
    if options.gauge is not None:
        gauge = given_gauge(options.gauge, Fabric.WASHED)
    if gauge is None:
        return complain("no swatch was counted with the piece; say --gauge, such as 20x28.")
    try:
        table = read_sizes(resources.text("shared/tables/sizes.toml"))
        who = wearers(table, options.sizes)
        sizing = Sizing(who, gauge, options.ease, options.edges, options.within)
    except ValueError as error:
        return complain(str(error))
    piece = Knitted(state, course, gauge.rows.per_cm)
    found = in_sizes(piece, sizing)
    for one in found:
        print(f"walesong: {size_words(one)}", file=sys.stderr)
    fitting = [one for one in found if isinstance(one, Fitting)]
    if not fitting:
        return complain("no size of the table can be knitted from this piece.", 1)
    text = sized_text(piece, sizing, fitting, options.skill)
    for one in fitting:
        if read_course(text, one.wearer.name if len(fitting) > 1 else None) is None:
            print(text)
            return complain(f"size {one.wearer.name} does not add up.", 1)
    if options.to is None:
        print(text, end="")
    elif trouble := _kept(options.to, text):
        return complain(trouble, 3)
    where = f" in {options.to}" if options.to is not None else ""
    sizes = "1 size" if len(fitting) == 1 else f"{len(fitting)} sizes"
    print(f"walesong: {state.name}: {sizes}{where}; each adds up.", file=sys.stderr)
    return 0


def _piece(journal: Path, wanted: str) -> PieceState | str:
    """Return the piece of that name or number, the latest of several; else what there is."""
    with SqliteJournal.open_to_read(journal) as kept:
        pieces = [fold(kept.records(one.id)) for one in kept.pieces()]
    begun = [one for one in pieces if one.begun]
    for one in begun:
        if one.name.casefold() == wanted.strip().casefold():
            return one
    if wanted.isdigit() and 0 < int(wanted) <= len(begun):
        return begun[int(wanted) - 1]
    known = ", ".join(one.name for one in begun) or "none"
    return f"there is no piece '{wanted}'; there are: {known}."
