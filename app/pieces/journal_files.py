"""The pieces in a journal: opening it, casting on, taking a piece up again."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from app import resources
from app.pieces.pattern_cache import document_of
from app.session.conversation import Conversation, NewPiece
from engine.history import fold
from engine.journal.errors import JournalError, NotAJournalError
from engine.journal.exchange import Reading, read_file
from engine.journal.sqlite import SqliteJournal
from engine.journal.sqlite_errors import speaking
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.clock import Clock
    from engine.commands import Source
    from engine.journal.journal import Journal
    from engine.pattern import Problem
    from engine.records import Record

DEMO_PATTERN = "shared/patterns/mug-sleeve.toml"
"""What is knitted when nobody says what."""


def default_journal() -> Path:
    """
    Return where the knitter's journal is kept, making its folder if need be.

    Raises:
        JournalError: the folder cannot be made.

    """
    folder = resources.data_folder()
    with speaking(folder):
        folder.mkdir(parents=True, exist_ok=True)
    return folder / "journal.walesong"


def holds_pieces(path: Path) -> bool:
    """Say whether a journal is there and has anything in it; a damaged one counts as full."""
    if not path.exists():
        return False
    try:
        with SqliteJournal.open_to_read(path) as journal:
            return bool(journal.pieces())
    except JournalError:
        return True


def reading_of(path: Path) -> Reading:
    """
    Return what a journal file holds, database or exported lines, without changing it.

    Lines that cannot be read are pointed at in it; every other line counts.

    Raises:
        JournalError: it is not there, is something else, or is damaged.

    """
    try:
        with SqliteJournal.open_to_read(path) as journal:
            return Reading(journal.records(), ())
    except NotAJournalError:
        return read_file(path)


def read_journal(path: Path) -> tuple[Record, ...]:
    """Return all records of a journal file; see `reading_of`."""
    return reading_of(path).records


def new_piece(
    text: str, size: str | None, piece: str | None = None
) -> NewPiece | tuple[Problem, ...]:
    """
    Return what casting on from a pattern text needs, or what is wrong with the text.

    Of a pattern with several pieces it is the first one, unless `piece` names another.

    Raises:
        KeyError: the pattern has no such size or piece; the sentence names those that it has.

    """
    document = document_of(text)
    if not isinstance(document, PatternDocument):
        return document
    course = document.course(size, piece)
    others = [one.title for one in document.pieces[1:]]
    other = next((title for title in others if title.casefold() == (piece or "").casefold()), None)
    return NewPiece(
        name=course.title if size is None else f"{course.title}, {size}",
        project=document.title,
        pattern=text,
        size=size,
        pattern_piece=other,
        cast_on=course.cast_on,
        target=course.target,
    )


def resume(journal: Journal, clock: Clock, wanted: NewPiece | None) -> Conversation | None:
    """
    Take up the last piece that is not finished, or None if there is none.

    With `wanted`, only a piece of just that pattern and size is taken up.
    """
    for kept in journal.pieces():
        state = fold(journal.records(kept.id))
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
    return None


def begun_by_another_text(path: Path, wanted: NewPiece) -> tuple[str, int] | None:
    """
    Return name and row of a begun piece of the same project that follows another text or size.

    It is None, too, where there is no journal yet or the wanted text is being knitted.
    """
    if wanted.pattern is None or not path.exists():
        return None
    sha256 = hashlib.sha256(wanted.pattern.encode()).hexdigest()
    found: tuple[str, int] | None = None
    try:
        with SqliteJournal.open_to_read(path) as journal:
            for kept in journal.pieces():
                state = fold(journal.records(kept.id))
                if not state.begun or state.finished or state.pattern is None:
                    continue
                if state.pattern_piece != wanted.pattern_piece:
                    continue
                if (state.pattern.sha256, state.pattern.size) == (sha256, wanted.size):
                    return None
                if found is None and state.project == wanted.project:
                    found = state.name, state.working
    except JournalError:
        return None
    return found


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
