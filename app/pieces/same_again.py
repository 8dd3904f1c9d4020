"""Casting on the partner of a piece: the same pattern, size, stitches and swatch, the same rows."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import course_of
from app.pieces.values import NewPiece
from engine.compose.written_out import written_out
from engine.history import fold
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from pathlib import Path

    from engine.state import PieceState

_NUMBERED = re.compile(r"(?<!,) \d+$")
"""The number of a piece that is not the first of its name; "Cap, 3" is the size 3."""
_SIDE = re.compile(r"\b(?:left|right)\b", re.IGNORECASE)


def the_same_again(
    path: Path, name: str, *, mirrored: bool = False, pattern_piece: str | None = None
) -> NewPiece:
    """
    Return what casting on the partner of a piece needs; `name` is that of the piece.

    It has the pattern, the size and the stitches of the piece, and takes over its swatch. Of
    several pieces of that name it is the one worked on last. With `pattern_piece` it is that piece
    of the same pattern: a front that is to be as long as the back.

    Raises:
        KeyError: there is no such piece; the sentence names those that there are.
        JournalError: the journal cannot be read.

    """
    with SqliteJournal.open_to_read(path) as journal:
        pieces = journal.pieces()
        for kept in pieces:
            if kept.name.casefold() != name.strip().casefold():
                continue
            state = fold(journal.records(kept.id))
            if state.begun and state.name.casefold() == name.strip().casefold():
                taken = {one.name for one in pieces}
                if pattern_piece is None:
                    return another(state, taken, mirrored=mirrored)
                return _beside(state, pattern_piece, taken, mirrored=mirrored)
    known = ", ".join(one.name for one in pieces if one.name) or "none"
    raise KeyError(f"There is no piece '{name}' in the journal; there are: {known}.")


def another(state: PieceState, taken: set[str], *, mirrored: bool = False) -> NewPiece:
    """
    Return the piece like another one, with a name of its own ("Sleeve 2", then "Sleeve 3").

    The mirror image of a left front is a right front.
    """
    plain = _NUMBERED.sub("", state.name)
    name = _SIDE.sub(_other_side, plain) if mirrored else plain
    names = (name if number == 1 else f"{name} {number}" for number in count(1))
    own = next(one for one in names if one not in {plain, *taken})
    first = state.patterns[0] if state.patterns else None
    text = state.text_of(first.sha256) if first is not None else None
    size = first.size if first is not None else None
    if state.said and state.done:
        text, size = written_out(state, course_of(state)), None  # as it was made up
    return NewPiece(
        name=own,
        project=state.project,
        pattern=text,
        size=size,
        pattern_piece=state.pattern_piece,
        cast_on=state.cast_on,
        target=state.target,
        count_every=state.count_every,
        partner=state.piece,
        mirrored=mirrored,
    )


def _beside(state: PieceState, piece: str, taken: set[str], *, mirrored: bool) -> NewPiece:
    """Return another piece of the same pattern, with this one as its partner."""
    first = state.patterns[0] if state.patterns else None
    if first is None:
        raise KeyError(f"'{state.name}' has no pattern that has a piece '{piece}'.")
    new = new_piece(state.text_of(first.sha256), first.size, piece)
    if not isinstance(new, NewPiece):
        raise KeyError(f"The pattern of '{state.name}' cannot be read any more.")
    names = (new.name if number == 1 else f"{new.name} {number}" for number in count(1))
    own = next(one for one in names if one not in taken)
    return replace(
        new, name=own, partner=state.piece, mirrored=mirrored, count_every=state.count_every
    )


def _other_side(side: re.Match[str]) -> str:
    other = "right" if side[0].casefold() == "left" else "left"
    return other.capitalize() if side[0][0].isupper() else other
