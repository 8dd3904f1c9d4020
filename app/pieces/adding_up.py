"""What does not add up in a pattern, said before it is cast on and while it is knitted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_knit
from engine.pattern import PatternDocument, PatternError
from engine.replies import Reply, Say, reply

if TYPE_CHECKING:
    from app.pieces.values import NewPiece
    from engine.pattern import Problem


def faults(new: NewPiece) -> tuple[Problem, ...]:
    """Return what does not add up in the pattern of a new piece, in its size; () for nothing."""
    document = document_to_knit(new.pattern) if new.pattern is not None else None
    if not isinstance(document, PatternDocument):
        return ()
    try:
        return document.course(new.size, new.pattern_piece).problems
    except (KeyError, PatternError):
        return ()


def where_faulty(problem: Problem) -> str:
    """Return which row a problem is about, in the designer's words; "" where it is about none."""
    return ", ".join(part for part in (problem.section, problem.row) if part)


def asking_to_begin(new: NewPiece) -> Reply:
    """Return the question before a piece is cast on: with what does not add up, if anything."""
    found = faults(new)
    if not found:
        return reply(Say.ASK_CAST_ON, title=new.name)
    first, why = found[0], found[0].message.rstrip(".")
    place, row = where_faulty(first), first.row_number
    if not place or row is None:
        return reply(Say.ASK_CAST_ON_ODD, title=new.name, words=why)
    return reply(Say.ASK_CAST_ON_FAULTY, title=new.name, row=row, place=place, words=why)
