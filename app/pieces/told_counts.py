"""
The stitches that the knitter tells after a row that cannot be counted: kept behind that row.

The text that the piece follows gets the count where the designer would have stated it, so that
all that comes after is counted again. What she has on her disk is left as it is.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_knit
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

_ROW = re.compile(r'(?P<before>(?:text\s*=\s*)?)(?P<row>"(?:[^"\\]|\\.)*"|\'[^\']*\')')


def with_told_count(state: PieceState, course: Course, count: int) -> str | None:
    """
    Return the pattern of a piece with the stitches after the row just done; None: nothing new.

    Nothing is new where the row is counted anyway, or stands in the file in no way known here.
    """
    line = course.uncounted_line(state.loops_ended, state.done) if state.done else None
    text = dict(state.texts).get(state.pattern.sha256) if state.pattern is not None else None
    if line is None or state.pattern is None or text is None:
        return None  # a history from elsewhere may lack the text it names
    told = _stated_at(text, line, _for_size(text, state.pattern.size, count))
    return told if isinstance(document_to_knit(told), PatternDocument) else None


def _for_size(text: str, size: str | None, count: int) -> str:
    """Return the count as a pattern of several sizes states it: "- (54, -)"."""
    document = document_to_knit(text)
    sizes = document.sizes if isinstance(document, PatternDocument) else ()
    if len(sizes) <= 1:
        return str(count)
    place = sizes.index(size) if size in sizes else 0
    counts = [str(count) if number == place else "-" for number in range(len(sizes))]
    return f"{counts[0]} ({', '.join(counts[1:])})"


def _stated_at(text: str, line: int, count: str) -> str:
    """Return a pattern file with a count behind the row that stands in a line of it."""
    lines = text.splitlines(keepends=True)
    if not 1 <= line <= len(lines):
        return text
    found = None
    for found in _ROW.finditer(lines[line - 1]):
        if "text" in found["before"]:
            break
    if found is None:
        return text
    end = found.end("row") - 1
    row = lines[line - 1]
    lines[line - 1] = f"{row[:end]} ({count} sts){row[end:]}"
    return "".join(lines)
