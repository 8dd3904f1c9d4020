"""Casting on from a pattern: what a new piece needs of its text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_knit
from app.pieces.values import NewPiece
from engine.pattern import PatternDocument, PatternError

if TYPE_CHECKING:
    from engine.pattern import Problem

DEMO_PATTERN = "shared/patterns/mug-sleeve.toml"
"""What is knitted when nobody says what."""


def new_piece(
    text: str, size: str | None, piece: str | None = None
) -> NewPiece | tuple[Problem, ...]:
    """
    Return what casting on from a pattern text needs, or what is wrong with the text.

    Of a pattern with several pieces it is the first one, unless `piece` names another.

    Raises:
        KeyError: the pattern has no such size or piece; the sentence names those that it has.

    """
    document = document_to_knit(text)
    if not isinstance(document, PatternDocument):
        return document
    try:
        course = document.course(size, piece)
    except PatternError as error:
        return (error.problem,)
    named = course.size if size is not None else None  # as the pattern spells it
    others = [one.title for one in document.pieces[1:]]
    other = next((title for title in others if title.casefold() == (piece or "").casefold()), None)
    return NewPiece(
        name=course.title if named is None else f"{course.title}, {named}",
        project=document.title,
        pattern=text,
        size=named,
        pattern_piece=other,
        cast_on=course.cast_on,
        target=course.target,
    )
