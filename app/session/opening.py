"""Opening a journal to knit: the piece begun last is taken up again, or one is cast on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import resources
from app.pieces.casting_on import DEMO_PATTERN, new_piece
from app.pieces.values import NewPiece
from app.session.conversation import Conversation
from engine.history import fold
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.clock import Clock
    from engine.commands import Source
    from engine.journal.journal import Journal


def resume(journal: Journal, clock: Clock, wanted: NewPiece | None) -> Conversation | None:
    """
    Take up the last piece that is not finished, else the last of all; None if there is none.

    With `wanted`, only an unfinished piece of just that pattern and size is taken up.
    """
    last: str | None = None
    for kept in journal.pieces():
        state = fold(journal.records(kept.id))
        if state.begun and last is None:
            last = kept.id
        if not state.begun or state.finished:
            continue
        if wanted is None:
            return Conversation(journal, kept.id, clock)
        pattern = state.pattern
        if pattern is None or wanted.pattern is None:
            continue
        known = state.text_of(pattern.sha256)
        if (pattern.size, state.pattern_piece, known) == (
            wanted.size,
            wanted.pattern_piece,
            wanted.pattern,
        ):
            return Conversation(journal, kept.id, clock)
    return Conversation(journal, last, clock) if wanted is None and last is not None else None


def open_piece(
    path: Path,
    clock: Clock,
    wanted: NewPiece | None,
    *,
    fresh: bool,
    source: Source,
    change: bool = False,
) -> Conversation:
    """
    Open a journal and take up, or cast on, a piece in it.

    With `change` the piece begun last goes on by the wanted pattern from the row being worked.

    Raises:
        JournalError: the journal cannot be read or written.

    """
    journal = SqliteJournal.open(path)
    found = None if fresh else resume(journal, clock, None if change else wanted)
    if found is not None:
        if change and wanted is not None and wanted.pattern is not None:
            found.change_pattern(wanted.pattern, wanted.size, source)
        return found
    if wanted is None:
        demo = new_piece(resources.text(DEMO_PATTERN), None)
        if not isinstance(demo, NewPiece):
            raise TypeError("The demo pattern that comes with Walesong does not add up.")
        wanted = demo
    return Conversation.begin(journal, wanted, clock, source)
