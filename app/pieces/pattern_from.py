"""A piece written out as a pattern: read again, and put beside what was knitted row by row."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import course_of, document_of
from engine.compose.written_out import ends_of_parts, written_out
from engine.pattern import PatternDocument, PatternError

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState


@dataclass(frozen=True, slots=True)
class RowBeside:
    """A row as it was knitted, and as the pattern has it, with what the pattern calls it."""

    row: int
    knitted: str
    label: str
    written: str


@dataclass(frozen=True, slots=True)
class FromPiece:
    """
    What a piece was written out as.

    `why` is the first thing that does not add up (""; then there are `document` and `rows`).
    """

    text: str
    why: str = ""
    document: PatternDocument | None = None
    rows: tuple[RowBeside, ...] = ()


def pattern_from(state: PieceState) -> FromPiece:
    """Write out a piece of which at least one row is done, and read what was written."""
    if not state.said:
        return FromPiece("", "None of its rows was said, so nobody knows how they were worked.")
    course = course_of(state)
    text = written_out(state, course)
    document = document_of(text)
    if not isinstance(document, PatternDocument):
        return FromPiece(text, str(document[0]))
    try:
        read = document.course()
    except PatternError as error:
        return FromPiece(text, str(error))
    if read.problems:
        return FromPiece(text, str(read.problems[0]))
    return FromPiece(text, "", document, _beside(state, course, read))


def _beside(state: PieceState, knitted: Course, pattern: Course) -> tuple[RowBeside, ...]:
    ends = ends_of_parts(state, knitted)
    ended = {loop.id: row for loop, row in zip(pattern.loops, ends, strict=True)}
    found = []
    for row in range(1, state.done + 1):
        now = pattern.where(ended, row)
        was = knitted.where(state.loops_ended, row).instruction
        found.append(RowBeside(row, str(was), now.label, str(now.instruction)))
    return tuple(found)
