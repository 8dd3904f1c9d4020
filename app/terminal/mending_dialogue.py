"""
`walesong check --mend`: the rows of a pattern file that cannot be read, one after the other.

Nothing is written before the end, and then only what she has agreed to: the file changes whole or
not at all, and as it was it stays beside.
"""

from __future__ import annotations

import sys
from itertools import chain, count
from typing import TYPE_CHECKING

from app.pieces.mending import MOST_WORDS, as_note, in_words, unread_once, with_row
from app.pieces.pattern_cache import document_to_check, row_reader
from app.reading import text_of
from app.writing import write_whole
from engine.pattern import PatternDocument, instead

if TYPE_CHECKING:
    from pathlib import Path

    from engine.pattern import Instead, Problem

_KEPT = ".before"


class _GoneError(Exception):
    """Nobody answers any more."""


class _EnoughError(Exception):
    """She goes no further; what she has chosen so far counts."""


def mend_file(path: Path, text: str) -> int:
    """Ask about each row that cannot be read: 0 nothing left, 1 some are, 3 it cannot be kept."""
    document = document_to_check(text)
    if not isinstance(document, PatternDocument):
        for problem in document:
            print(f"{path}:{problem.line or 1}:{problem.column or 1}: {problem.message}")
        return 1
    try:
        mended = _all_rows(path, text)
    except (_GoneError, KeyboardInterrupt):
        print(f"\nNothing is changed in {path}.")
        return 1
    after = document_to_check(mended)
    left = len(unread_once(after)) if isinstance(after, PatternDocument) else 1
    code = _kept(path, text, mended) if mended != text else _nothing_to_keep(path, left)
    return code or int(left > 0)


def _nothing_to_keep(path: Path, left: int) -> int:
    print(f"{path}: {'nothing is changed' if left else 'every row can be read'}.")
    return 0


def _all_rows(path: Path, text: str) -> str:
    """Return the file with what she has chosen for each row."""
    passed = 0
    while True:
        document = document_to_check(text)
        unread = unread_once(document) if isinstance(document, PatternDocument) else ()
        if not isinstance(document, PatternDocument) or passed >= len(unread):
            return text
        problem = unread[passed]
        found = instead(document, problem, row_reader())
        try:
            changed = None if found is None else _asked(path, text, problem, found)
        except _EnoughError:
            return text
        if changed is None:
            passed += 1
        elif isinstance(document_to_check(changed), PatternDocument):
            text = changed
        else:
            print("With that the file would be no pattern any more; it is left as it was.")


def _asked(path: Path, text: str, problem: Problem, found: Instead) -> str | None:
    """Return the file with what is chosen for a row; None where it stays as it is."""
    print(f"\n{path}:{problem.line}: {found.text}")
    print(problem.message)
    for sentence in in_words(found):
        print(f"  {sentence}")
    words = found.words[:MOST_WORDS]
    ways = [f"{number} '{word}'" for number, word in enumerate(words, 1)]
    ways += ["w write the row anew", "u unchecked: knitted on trust"]
    ways += [] if found.live else ["n keep it as a note"]
    line = problem.line or 1
    while True:
        answer = _line(f"{', '.join(ways)}, Enter leave it, q stop: ").casefold()
        if not answer:
            return None
        changed: str | None = None
        if answer == "w":
            new = _line("The row: ")
            changed = with_row(text, found.text, new, line) if new else text
        elif answer == "u":
            told = _line("How many stitches after it (Enter: not known; sizes as 40 (48, 56)): ")
            stated = f" ({told} sts)" if told else ""
            changed = with_row(text, found.text, f"{found.text} (unchecked){stated}", line)
        elif answer == "n" and not found.live:
            changed = as_note(text, found.text, line)
        elif answer.isdigit() and 0 < int(answer) <= len(words):
            word = words[int(answer) - 1]
            end = found.offset + len(found.word)
            new = f"{found.text[: found.offset]}{word}{found.text[end:]}"
            changed = with_row(text, found.text, new, line)
        else:
            print("That is none of them.")
            continue
        if changed is not None:
            return changed
        print("The row does not stand alone on its line; change it in an editor.")


def _kept(path: Path, text: str, mended: str) -> int:
    """Show what is changed, ask, and write it; 3 where it cannot be written."""
    before, after = text.split("\n"), mended.split("\n")
    print()
    for sign, lines, others in (("-", before, after), ("+", after, before)):
        for one in (one for one in lines if one not in others):
            print(f"{sign} {one.strip()}")
    copy = _free(path)
    try:
        answer = _line(f"Write it? The file as it was is kept as {copy.name}. (y/n) ")
    except (_GoneError, _EnoughError, KeyboardInterrupt):
        answer = ""
    if answer.casefold() not in {"y", "yes"}:
        print(f"\nNothing is changed in {path}.")
        return 1
    try:
        if text_of(path) != text:
            print(f"{path} was changed meanwhile, so nothing is written.", file=sys.stderr)
            return 3
        write_whole(copy, path.read_bytes())
        write_whole(path, _with_endings(path, mended).encode())
    except (OSError, UnicodeError) as error:
        print(f"walesong check: {path} cannot be written: {error}.", file=sys.stderr)
        return 3
    print(f"written: {path}")
    return 0


def _free(path: Path) -> Path:
    """Return where the file as it was is kept: no earlier copy is lost."""
    names = chain([_KEPT], (f"{_KEPT}-{number}" for number in count(2)))
    places = (path.with_name(f"{path.name}{name}") for name in names)
    return next(place for place in places if not place.exists())


def _with_endings(path: Path, text: str) -> str:
    """Return the text with the ends of lines that the file has."""
    return text.replace("\n", "\r\n") if b"\r\n" in path.read_bytes() else text


def _line(question: str) -> str:
    """Return what is typed; raises _GoneError where nobody is there, _EnoughError at "q"."""
    print(question, end="", flush=True)
    typed = sys.stdin.readline() if sys.stdin is not None else ""
    if not typed:
        raise _GoneError
    if typed.strip().casefold() == "q":
        raise _EnoughError
    return typed.strip()
