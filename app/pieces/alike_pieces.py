"""Finding the pieces that are to be alike: of a line of an order, or of one pattern and size."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from app.pieces.orders import ordered_traits, orders, piece_traits, planned_traits
from engine.batch.alike import batch_of

if TYPE_CHECKING:
    from app.pieces.orders import Looked
    from engine.batch.alike import Batch
    from engine.batch.order import OrderedLine
    from engine.batch.piece_traits import PieceTraits
    from engine.journal.journal import Journal
    from engine.state import PieceState, Tolerance

_NUMBERED = re.compile(r"(?<!,) \d+$")


def batches(
    journal: Journal,
    name: str | None,
    reference: str | None = None,
    looked: Looked | None = None,
) -> tuple[Batch, ...]:
    """
    Return the batches of a name, of an order or a piece; None: those of the order taken last.

    Where there is no order, None stands for the piece worked on last. `reference` is the name of
    the piece to compare with, in the place of the one that was chosen or made first. `looked` keeps
    what was found for the next time.

    Raises:
        KeyError: there is nothing of that name; the sentence says what there is.
        JournalError: the journal cannot be read.

    """
    plain = name.strip().casefold() if name is not None else None
    for state in orders(journal):
        known = ordered_traits(journal, state, looked)
        if plain is None or plain == state.name.casefold():
            found = [_of_line(journal, state.order, line, known, reference) for line in state.lines]
            return tuple(one for one in found if one.pieces) or tuple(found)
        lines = [one for one in state.lines if plain in {one.item.casefold(), one.title.casefold()}]
        if lines:
            return tuple(_of_line(journal, state.order, line, known, reference) for line in lines)
    return (_of_pattern(journal, name, reference),)


def _of_line(
    journal: Journal,
    order: str,
    line: OrderedLine,
    known: dict[int, PieceTraits],
    reference: str | None,
) -> Batch:
    pieces = [known[one] for one in line.numbers if one in known and known[one].finished]
    pieces.sort(key=lambda one: (one.ended, one.number or 0))
    like = planned_traits(line)
    own = line.tolerances
    chosen = piece_called(journal, reference) if reference is not None else None
    if chosen is None and line.wanted is not None and line.wanted.piece:
        chosen = line.wanted.piece
    if chosen is not None:
        here = next((one for one in pieces if one.piece == chosen), None)
        like, piece = (here, None) if here is not None else piece_traits(journal, chosen)
        own = own or (own_tolerances(piece) if piece is not None else ())
    elif like is None and pieces:
        like = pieces[0]
    found = batch_of(line.title, like, pieces, own)
    return replace(found, order=order, first=line.first)


def _of_pattern(journal: Journal, name: str | None, reference: str | None) -> Batch:
    """Return the pieces like the one of a name: of its pattern and size, or begun as its like."""
    listed = [one for one in journal.pieces() if one.name]
    if not listed:
        raise KeyError("There is no piece in this journal yet.")
    wanted = piece_called(journal, name) if name is not None else listed[0].id
    every = {one.id: piece_traits(journal, one.id) for one in listed}
    root = every[wanted][1]
    alike = [one for one in every.values() if _alike(root, one[1])]
    alike.sort(key=lambda one: one[0].ended)
    first = piece_called(journal, reference) if reference is not None else _first(root, alike)
    like = every.get(first)
    own = own_tolerances(like[1]) if like is not None else ()
    pieces = [one for one, state in alike if state.finished]
    return batch_of(
        _NUMBERED.sub("", root.name), like[0] if like is not None else None, pieces, own
    )


def _alike(root: PieceState, other: PieceState) -> bool:
    if not other.begun:
        return False
    if root.piece == other.piece:
        return True
    linked = {root.partner.piece if root.partner else "", root.piece}
    if other.piece in linked or (other.partner is not None and other.partner.piece in linked):
        return True
    mine, theirs = root.pattern, other.pattern
    if mine is None or theirs is None:
        return False
    return (mine.sha256, mine.size, root.pattern_piece) == (
        theirs.sha256,
        theirs.size,
        other.pattern_piece,
    )


def _first(root: PieceState, alike: list[tuple[PieceTraits, PieceState]]) -> str:
    """Return the piece that the others were begun as like, else the one that was made first."""
    begun_as = [state.partner.piece for _, state in alike if state.partner is not None]
    there = {state.piece for _, state in alike if state.finished}
    for one in begun_as:
        if one in there:
            return one
    return next((state.piece for _, state in alike if state.finished), root.piece)


def piece_called(journal: Journal, name: str) -> str:
    """Return the piece of a name, the one worked on last of several; KeyError if there is none."""
    listed = [one for one in journal.pieces() if one.name]
    for one in listed:
        if one.name.casefold() == name.strip().casefold():
            return one.id
    known = ", ".join(dict.fromkeys(one.name for one in listed)) or "none"
    raise KeyError(f"There is no piece or order '{name}' in the journal; there are: {known}.")


def own_tolerances(state: PieceState) -> tuple[Tolerance, ...]:
    """Return the tolerances set for a piece, else those of the piece it was begun as like."""
    if state.tolerances or state.partner is None:
        return state.tolerances
    return state.partner.tolerances
