"""Pieces of one journal that belong together: finding the partner, and what is kept of it."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import course_of
from engine.events import (
    PatternKept,
    PatternPieceChosen,
    PieceBegun,
    SwatchCounted,
    SwatchWeighed,
    YarnJoined,
)
from engine.facts.partner import partner_events
from engine.history import fold, live
from engine.records import in_order

if TYPE_CHECKING:
    from app.pieces.summaries import Summaries, Summary
    from app.pieces.values import NewPiece
    from engine.events import Event
    from engine.journal.journal import Journal
    from engine.state import PieceState


def first_piece(journal: Journal, state: PieceState, summaries: Summaries) -> tuple[Event, ...]:
    """
    Return what names a piece's partner as it is now; () if there is none.

    That is the partner it was begun with, else the first other piece of its pattern and size, a
    finished one if there is any.
    """
    if state.partner is not None:
        partner = fold(journal.records(state.partner.piece))
        if not partner.begun:
            return ()
        return partner_events(partner, course_of(partner), mirrored=state.partner.mirrored)
    found, finished = None, False
    for kept in journal.pieces():
        if kept.id == state.piece:
            continue
        other = summaries.of(journal, kept)
        if not other.begun or not other.done or not _alike(state, other):
            continue
        if found is None or other.finished >= finished:
            found, finished = kept.id, other.finished
    if found is None:
        return ()
    partner = fold(journal.records(found))
    return partner_events(partner, course_of(partner))


def _alike(state: PieceState, other: Summary) -> bool:
    """Tell whether two pieces are of one pattern and size; without a pattern, of one project."""
    mine = state.pattern
    if mine is None or other.pattern is None:
        without = mine is None and other.pattern is None
        return without and bool(state.project) and state.project == other.project
    same_piece = state.pattern_piece == other.pattern_piece
    return same_piece and (mine.sha256, mine.size) == (other.pattern, other.size)


def partner_of_new(journal: Journal, new: NewPiece) -> tuple[Event, ...]:
    """
    Return what is kept of the partner of a new piece: how it was knitted, and its swatch.

    Raises:
        KeyError: there is no such piece.

    """
    if new.partner is None:
        return ()
    records = journal.records(new.partner)
    other = fold(records)
    if not other.begun:
        raise KeyError(new.partner)
    swatch = tuple(
        record.event
        for record in live(in_order(records))
        if isinstance(record.event, SwatchCounted | SwatchWeighed)
    )
    known = partner_events(other, course_of(other), mirrored=new.mirrored)
    return known if new.swatch else (*swatch, *known)


def beginning(journal: Journal, new: NewPiece) -> tuple[Event, ...]:
    """
    Return what casting on writes: pattern, piece, swatch, ball, and what the partner lends.

    Raises:
        KeyError: the partner is not in the journal.

    """
    happened: list[Event] = []
    sha256 = None
    if new.pattern is not None:
        sha256 = hashlib.sha256(new.pattern.encode()).hexdigest()
        happened.append(PatternKept(sha256, new.pattern))
    happened.append(
        PieceBegun(
            name=new.name,
            project=new.project,
            pattern=sha256,
            size=new.size,
            cast_on=new.cast_on,
            target=new.target,
            count_every=new.count_every,
        )
    )
    if new.pattern_piece is not None:
        happened.append(PatternPieceChosen(new.pattern_piece))
    happened += new.swatch
    if new.lot:
        happened.append(YarnJoined(0, None, new.lot))
    if new.partner is not None:
        happened += partner_of_new(journal, new)
    return tuple(happened)
