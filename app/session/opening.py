"""Opening a journal to knit: taking up the piece begun last, casting one on, going to another."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app import resources
from app.pieces.casting_on import DEMO_PATTERN, new_piece
from app.pieces.journal_files import is_wanted
from app.pieces.summaries import Summaries
from app.pieces.values import NewPiece
from app.session.conversation import Conversation
from app.session.unknitted import Unknitted
from engine.journal.errors import JournalError
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.clock import Clock
    from engine.commands import Source
    from engine.journal.journal import Journal


def resume(
    journal: Journal, clock: Clock, wanted: NewPiece | None, summaries: Summaries | None = None
) -> Conversation | None:
    """
    Take up the piece on the needle; None if there is none.

    It is the one that was gone to last, if nothing was knitted since, else the last one that is
    not finished, else the last of all. With `wanted`, only an unfinished piece of just that
    pattern and size is taken up.
    """
    summaries = summaries if summaries is not None else Summaries()
    last: str | None = None
    listed = journal.pieces()
    gone_to = summaries.needle.of(listed) if wanted is None else None
    if gone_to is not None and (shown := summaries.shown(journal, gone_to)) and shown.begun:
        return Conversation(journal, gone_to.id, clock, summaries)
    for kept in listed:
        piece = summaries.shown(journal, kept)
        if piece is None:
            continue
        if piece.begun and last is None:
            last = kept.id
        if not piece.begun or piece.finished:
            continue
        if wanted is None or is_wanted(piece, wanted):
            return Conversation(journal, kept.id, clock, summaries)
    if wanted is not None or last is None:
        return None
    return Conversation(journal, last, clock, summaries)


def _of_its_project(
    journal: Journal, clock: Clock, wanted: NewPiece, summaries: Summaries
) -> Conversation | None:
    """Take up the last piece of the wanted pattern, by whatever text; None if none is begun."""
    for kept in journal.pieces():
        piece = summaries.shown(journal, kept)
        if piece is None or not piece.begun or piece.finished:
            continue
        if (piece.project, piece.pattern_piece) == (wanted.project, wanted.pattern_piece):
            return Conversation(journal, kept.id, clock, summaries)
    return None


def open_piece(
    path: Path,
    clock: Clock,
    wanted: NewPiece | None,
    *,
    fresh: bool,
    source: Source,
    change: bool = False,
    first: NewPiece | None = None,
) -> Conversation:
    """
    Open a journal and take up, or cast on, a piece in it.

    In a journal without a piece `first` lies on the needle, and is kept once it is knitted; without
    it a pattern that comes with Walesong is cast on.

    With `change` the piece of the wanted pattern that was begun last, else the piece begun last of
    all, goes on by the wanted pattern from the row being worked.

    Raises:
        JournalError: the journal cannot be read or written.

    """
    journal = SqliteJournal.open(path)
    summaries = Summaries.beside(path)
    found = None
    if not fresh and change and wanted is not None:
        found = _of_its_project(journal, clock, wanted, summaries)
    if not fresh and found is None:
        found = resume(journal, clock, None if change else wanted, summaries)
    if found is not None:
        if change and wanted is not None and wanted.pattern is not None:
            found.change_pattern(wanted.pattern, wanted.size, source)
        return found
    if wanted is None and first is not None and not fresh:
        return Conversation.begin(Unknitted(journal), first, clock, source, summaries)
    if wanted is None:
        demo = new_piece(resources.text(DEMO_PATTERN), None)
        if not isinstance(demo, NewPiece):
            raise TypeError("The demo pattern that comes with Walesong does not add up.")
        wanted = demo
    return Conversation.begin(journal, wanted, clock, source, summaries)


def gone_to(talk: Conversation, where: str | NewPiece, source: Source) -> tuple[Conversation, str]:
    """Return the talk about a piece that is begun or new, or this one and why it failed."""
    try:
        other = talk.about(where) if isinstance(where, str) else talk.cast_on(where, source)
    except JournalError as error:
        return talk, str(error)
    except KeyError:
        return talk, "That piece is not in this journal."
    other.dialogue = replace(
        other.dialogue,
        manner=talk.dialogue.manner,
        can_hold=talk.dialogue.can_hold,
        listening=talk.dialogue.listening,
        reminders=talk.dialogue.reminders,
        scale_g=talk.dialogue.scale_g,
        before=talk.piece,
        moved=other.piece != talk.piece,
    )
    return other, ""
