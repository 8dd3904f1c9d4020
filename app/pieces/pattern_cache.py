"""The course of the pattern that a piece is knitted from, read once and kept."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final

from app import resources
from engine.compose.followed import followed
from engine.pattern import PatternDocument, PatternError, RowReader, plain_course, read_pattern
from engine.state import PieceState

if TYPE_CHECKING:
    from engine.pattern import Course, Problem


_READ: Final = 64
"""So many texts are kept read; a designer tries more, one after the other."""


@cache
def row_reader() -> RowReader:
    """
    Return the reader of written rows, built once from the grammar in the product's data.

    The tables made from the grammar are kept in the user's cache.
    """
    return RowReader(
        resources.text("shared/rows.lark"),
        resources.text("shared/words.toml"),
        resources.KeptText("rows.tables"),
    )


@lru_cache(maxsize=_READ)
def document_of(text: str) -> PatternDocument | tuple[Problem, ...]:
    """Return the pattern that a text says, or what is wrong with it."""
    return read_pattern(text, row_reader())


@lru_cache(maxsize=_READ)
def document_to_knit(text: str) -> PatternDocument | tuple[Problem, ...]:
    """
    Return the pattern to be knitted: what cannot be read does not stop the knitting.

    Such rows are carried as the designer wrote them; `unread` says which they are. Only a file
    that is no pattern at all is refused.
    """
    return document_to_check(text)


def document_to_check(text: str) -> PatternDocument | tuple[Problem, ...]:
    """Return the pattern even where some of its rows cannot be read: the others are counted."""
    document = document_of(text)
    if isinstance(document, PatternDocument):
        return document
    return read_pattern(text, row_reader(), in_spite=True)


@lru_cache(maxsize=_READ)
def _course(text: str, size: str | None, piece: str | None) -> Course | None:
    document = document_to_knit(text)
    if not isinstance(document, PatternDocument) or (size and size not in document.sizes):
        return None
    try:
        return document.course(size, piece)
    except (KeyError, PatternError):
        return None


def course_of(state: PieceState) -> Course:
    """
    Return the course for the row that the piece is at.

    A piece without a pattern, or whose kept pattern this Walesong cannot read any more, is
    counted on a plain course: nothing is lost, and `readable` tells the difference. The rows that
    were said as they were knitted take the place of what was written, from the first of them on.
    """
    if not state.said and not state.mended:
        return written_course_of(state)
    pattern = state.pattern
    text = state.text_of(pattern.sha256) if pattern is not None and readable(state) else None
    size = pattern.size if pattern is not None else None
    made = PieceState(
        cast_on=state.cast_on, said=state.said, mended=state.mended, ended=state.ended
    )
    return _followed(made, text, size, state.pattern_piece)


def written_course_of(state: PieceState) -> Course:
    """Return the course of the pattern alone, without the rows that were said."""
    pattern = state.pattern
    if pattern is None or not readable(state):
        return plain_course(state.cast_on)
    course = _course(state.text_of(pattern.sha256), pattern.size, state.pattern_piece)
    return course if course is not None else plain_course(state.cast_on)


@lru_cache(maxsize=_READ)
def _followed(made: PieceState, text: str | None, size: str | None, piece: str | None) -> Course:
    """Return the course of the rows that were said; `made` holds nothing else."""
    base = _course(text, size, piece) if text is not None else None
    if base is None:
        base = plain_course(made.cast_on)
    return followed(made, base, lambda said: _course(said, None, None))


def readable(state: PieceState) -> bool:
    """Say whether the pattern that the piece names is there and can be read."""
    pattern = state.pattern
    if pattern is None:
        return True
    text = dict(state.texts).get(pattern.sha256)
    return text is not None and _course(text, pattern.size, state.pattern_piece) is not None
