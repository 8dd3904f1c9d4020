"""`walesong take FILE`: a printed pattern, as text or PDF, taken into the knitter's own."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.pattern_texts import Unreadable, pattern_text
from app.pieces.take_in import Answers, TakenIn, keep, place_of, take_in
from app.terminal.common_options import complain
from app.terminal.marked_lines import KEY, marked

if TYPE_CHECKING:
    import argparse

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "take",
        description=(
            "Take in a printed pattern, plain text or a PDF that has text: title, sizes, gauge "
            "and sections are found "
            "where they are, every line is shown with what became of it and the stitches after "
            "it, and a pattern file is written among your own patterns. The words stay as they "
            "are; what cannot be read is kept as it is written and stops no knitting. Exit code 1 "
            "if some line could not be read or does not add up; the file is written all the same."
        ),
    )
    parser.add_argument(
        "file", metavar="FILE", type=Path, help="the pattern: a text in UTF-8, or a PDF"
    )
    parser.add_argument("--title", metavar="TITLE", help="what it is called")
    parser.add_argument("--sizes", metavar="NAMES", help='the names of its sizes: "S, M, L"')
    parser.add_argument("--gauge", metavar="WORDS", help='its gauge: "20 sts and 28 rows to 10 cm"')
    parser.add_argument("--to", metavar="FILE", type=Path, help="write the pattern file here")
    parser.add_argument("--replace", action="store_true", help="take the place of a file there")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Take it in: 0 all is read and adds up, 1 not all, 3 a file cannot be opened or written."""
    text = pattern_text(options.file)
    if isinstance(text, Unreadable):
        return complain(text.sentence, 3)
    answers = Answers(options.title or "", options.sizes or "", options.gauge or "")
    taken = take_in(text, answers)
    if isinstance(taken, TakenIn) and (more := _asked_for(taken, answers)) != answers:
        taken = take_in(text, more)
    if isinstance(taken, Unreadable):
        return complain(f"{options.file}: {taken.sentence}", 2 if options.sizes else 1)
    _show(taken)
    to: Path = options.to or place_of(taken.title)
    if to.exists() and not options.replace:
        return complain(f"there is a file {to} already; add --replace, or --to FILE.", 3)
    kept = keep(taken, to, replacing=options.replace)
    if isinstance(kept, Unreadable):
        return complain(kept.sentence, 3)
    print(f"\nwritten: {kept}")
    return 0 if taken.right else 1


def _asked_for(taken: TakenIn, answers: Answers) -> Answers:
    """Return the answers with those that somebody at the keyboard gives to what was not found."""
    said = {
        "title": "What is the pattern called?",
        "sizes": f"It has {len(taken.sizes)} sizes. Their names, with commas between?",
        "gauge": 'Its gauge, such as "20 sts and 28 rows to 10 cm" (Enter: not known)?',
    }
    return replace(answers, **{key: _asked(said[key]) for key in taken.asks})


def _asked(question: str) -> str:
    """Return what somebody at the keyboard answers; nothing where nobody is."""
    if sys.stdin is None or not sys.stdin.isatty():
        return ""
    print(question, file=sys.stderr, flush=True)
    return sys.stdin.readline().strip()


def _show(taken: TakenIn) -> None:
    print(taken.title)
    guessed = " (names not found)" if "sizes" in taken.asks else ""
    print(f"sizes: {', '.join(taken.sizes) or 'one'}{guessed}")
    print(f"gauge: {taken.gauge or 'not found'}")
    if taken.pieces:
        print(f"pieces: {', '.join(taken.pieces)}")
    if taken.sections:
        print(f"sections: {', '.join(taken.sections)}")
    print(f"\n{KEY}\n")
    for line in taken.pattern.lines:
        print(marked(line))
    for problem in taken.pattern.problems:
        print(f"! {problem.message}")
