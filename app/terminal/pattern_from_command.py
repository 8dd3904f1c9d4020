"""The sub-command `walesong pattern-from`: what was knitted becomes a pattern file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.journal_files import default_journal
from app.pieces.pattern_cache import course_of, document_of
from app.terminal.common_options import complain
from engine.compose.written_out import ends_of_parts, written_out
from engine.history import fold
from engine.journal.errors import JournalError
from engine.journal.sqlite import SqliteJournal
from engine.pattern import PatternDocument, PatternError

if TYPE_CHECKING:
    import argparse

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
    course = course_of(state)
    text = written_out(state, course)
    read = _read(text)
    if isinstance(read, str):
        print(text)
        return complain(f"what comes out does not add up: {read}", 1)
    if options.beside:
        _beside(state, course, read)
    elif options.to is None:
        print(text, end="")
    if options.to is not None:
        try:
            options.to.write_text(text, encoding="utf-8")
        except OSError as error:
            return complain(f"{options.to} cannot be written: {error.strerror}.", 3)
    where = f" in {options.to}" if options.to is not None else ""
    rows = "1 row" if state.done == 1 else f"{state.done} rows"
    print(f"walesong: {state.name}: {rows}{where}; the pattern adds up.", file=sys.stderr)
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


def _read(text: str) -> Course | str:
    """Return the course that the text gives, or the first thing that is wrong with it."""
    document = document_of(text)
    if not isinstance(document, PatternDocument):
        return str(document[0])
    try:
        course = document.course()
    except PatternError as error:
        return str(error)
    return str(course.problems[0]) if course.problems else course


def _beside(state: PieceState, knitted: Course, pattern: Course) -> None:
    """Print each row as it was knitted and as the pattern has it."""
    ends = ends_of_parts(state, knitted)
    ended = {loop.id: row for loop, row in zip(pattern.loops, ends, strict=True)}
    for row in range(1, state.done + 1):
        was = knitted.where(state.loops_ended, row)
        now = pattern.where(ended, row)
        print(f"{row:>5}  {was.instruction!s:<44}  {now.label:<14} {now.instruction}")
