"""The rows of a pattern file that cannot be read, and her own words put in their place."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import row_reader
from engine.pattern import instead

if TYPE_CHECKING:
    from engine.pattern import Instead, PatternDocument, Problem

MOST_TRIED = 20
"""For so many rows is it tried what could stand there; who mends those is told the next."""
MOST_WORDS = 6
"""So many words are offered for one."""


def remedy(document: PatternDocument, problem: Problem) -> Instead | None:
    """Return what could stand in a row that cannot be read; None for any other problem."""
    at = [one for one in unread_once(document)[:MOST_TRIED] if _same_place(one, problem)]
    return instead(document, problem, row_reader()) if at else None


def _same_place(one: Problem, other: Problem) -> bool:
    return (one.line, one.column) == (other.line, other.column)


def unread_once(document: PatternDocument) -> tuple[Problem, ...]:
    """Return the rows that cannot be read, each once, in the order of the file."""
    places = {(one.line or 0, one.column or 0): one for one in document.unread}
    return tuple(places[place] for place in sorted(places))


def in_words(found: Instead) -> tuple[str, ...]:
    """Say what could stand there, and whether the row could be a note: a sentence for each."""
    said: list[str] = []
    if found.words:
        words = ", ".join(found.words[:MOST_WORDS])
        more = " and others" if len(found.words) > MOST_WORDS else ""
        how = "it adds up with" if found.adds_up else "can be read"
        said.append(f"In its place {how}: {words}{more}.")
    elif found.word:
        said.append("No one word in its place makes the row readable.")
    said.append(f"It is no note: it names '{found.live}'." if found.live else "It could be a note.")
    return tuple(said)


def with_row(text: str, old: str, new: str, line: int) -> str | None:
    """
    Return a file with the words of one row changed, and not a letter of it besides.

    `line` is where the row stands, counted from 1. None where it does not stand there in one piece
    between quotation marks.
    """
    lines = text.split("\n")
    if not 0 < line <= len(lines):
        return None
    here = lines[line - 1]
    for quoted in (_quoted(old), json.dumps(old), f"'{old}'"):
        if here.count(quoted) == 1:
            lines[line - 1] = here.replace(quoted, _quoted(new))
            return "\n".join(lines)
    return None


def as_note(text: str, words: str, line: int) -> str | None:
    """
    Return a file in which a row stands as the note of the row after it, or before it.

    None where neither of them is a plain text on a line of its own.
    """
    lines = text.split("\n")
    at = line - 1
    if not 0 <= at < len(lines) or _alone(lines[at]) != words:
        return None
    for beside in (at + 1, at - 1):
        row = _alone(lines[beside]) if 0 <= beside < len(lines) else None
        if row is None:
            continue
        indent = lines[beside][: len(lines[beside]) - len(lines[beside].lstrip())]
        lines[beside] = f"{indent}{{ text = {_quoted(row)}, note = {_quoted(words)} }},"
        del lines[at]
        return "\n".join(lines)
    return None


def _alone(line: str) -> str | None:
    """Return the text of a row that has a line for itself: `"Row 1: k",`."""
    bare = line.strip().removesuffix(",").rstrip()
    if len(bare) < 2 or bare[0] != '"' or bare[-1] != '"':  # noqa: PLR2004 (its quotation marks)
        return None
    try:
        said = json.loads(bare)
    except ValueError:
        return None
    return said if isinstance(said, str) else None


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
