"""`walesong take FILE`: a printed pattern, as plain text, taken into the knitter's own patterns."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.library import own_folder
from app.pieces.taken_lines import Became, pattern_of
from app.pieces.taking import take
from app.reading import text_of
from app.terminal.common_options import complain
from app.terminal.marked_lines import KEY, marked

if TYPE_CHECKING:
    import argparse

    from app.pieces.taken_lines import TakenPattern
    from app.pieces.taking import Taken

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "take",
        description=(
            "Take in a printed pattern as plain text: title, sizes, gauge and sections are found "
            "where they are, every line is shown with what became of it and the stitches after "
            "it, and a pattern file is written among your own patterns. The words stay as they "
            "are; what cannot be read is kept as it is written and stops no knitting. Exit code 1 "
            "if some line could not be read or does not add up; the file is written all the same."
        ),
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="the pattern, a text in UTF-8")
    parser.add_argument("--title", metavar="TITLE", help="what it is called")
    parser.add_argument("--sizes", metavar="NAMES", help='the names of its sizes: "S, M, L"')
    parser.add_argument("--gauge", metavar="WORDS", help='its gauge: "20 sts and 28 rows to 10 cm"')
    parser.add_argument("--to", metavar="FILE", type=Path, help="write the pattern file here")
    parser.add_argument("--replace", action="store_true", help="take the place of a file there")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Take it in: 0 all is read and adds up, 1 not all, 3 a file cannot be opened or written."""
    try:
        text = text_of(options.file)
    except OSError as error:
        return complain(f"{options.file} cannot be opened: {error.strerror}.", 3)
    except UnicodeDecodeError:
        return complain(f"{options.file} is not a text in UTF-8; save it as plain text.", 3)
    taken = _with_answers(take(text), options)
    if isinstance(taken, str):
        return complain(taken)
    if not taken.pieces:
        return complain(f"no row to knit was found in {options.file}.", 1)
    made = pattern_of(taken)
    _show(taken, made)
    to: Path = options.to or own_folder() / f"{_slug(taken.title)}.toml"
    if to.exists() and not options.replace:
        return complain(f"there is a file {to} already; add --replace, or --to FILE.", 3)
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(made.text, encoding="utf-8")
    except OSError as error:
        return complain(f"{to} cannot be written: {error.strerror}.", 3)
    print(f"\nwritten: {to}")
    right = all(line.became not in {Became.UNREAD, Became.FAULTY} for line in made.lines)
    return 0 if right and not made.problems else 1


def _with_answers(taken: Taken, options: argparse.Namespace) -> Taken | str:
    """Return what was found with what she says herself, asked for where somebody is there."""
    title = options.title or taken.title or _asked("What is the pattern called?")
    gauge = options.gauge or taken.gauge
    names: str = options.sizes or ""
    if not names and taken.sizes_guessed:
        names = _asked(f"It has {len(taken.sizes)} sizes. Their names, with commas between?")
    taken = replace(taken, title=title or taken.title, gauge=gauge)
    if not names:
        return taken
    sizes = tuple(name.strip() for name in names.split(",") if name.strip())
    if taken.sizes and len(sizes) != len(taken.sizes):
        return f"the pattern has {len(taken.sizes)} sizes, {len(sizes)} names are given."
    return replace(taken, sizes=sizes, sizes_guessed=False)


def _asked(question: str) -> str:
    """Return what somebody at the keyboard answers; nothing where nobody is."""
    if sys.stdin is None or not sys.stdin.isatty():
        return ""
    print(question, file=sys.stderr, flush=True)
    return sys.stdin.readline().strip()


def _show(taken: Taken, made: TakenPattern) -> None:
    print(taken.title)
    print(f"sizes: {', '.join(taken.sizes) or 'one'}" + (" (names not found)" if
          taken.sizes_guessed else ""))  # fmt: skip
    print(f"gauge: {taken.gauge or 'not found'}")
    pieces = [piece.title for piece in taken.pieces]
    sections = [part.title for piece in taken.pieces for part in piece.sections if part.title]
    if len(pieces) > 1:
        print(f"pieces: {', '.join(pieces)}")
    if sections:
        print(f"sections: {', '.join(sections)}")
    print(f"\n{KEY}\n")
    for line in made.lines:
        print(marked(line))
    for problem in made.problems:
        print(f"! {problem.message}")


def _slug(title: str) -> str:
    return "-".join(re.findall(r"[a-z0-9]+", title.casefold())) or "pattern"
