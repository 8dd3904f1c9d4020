"""Journal files: where they lie, what they hold, read without changing them."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from app import resources
from app.pieces.summaries import Summaries, Summary
from engine.journal.errors import JournalError, NotAJournalError
from engine.journal.exchange import JournalReading, read_file
from engine.journal.on_disk import followed
from engine.journal.sqlite import SqliteJournal
from engine.journal.sqlite_errors import speaking

if TYPE_CHECKING:
    from pathlib import Path

    from app.pieces.values import NewPiece
    from engine.records import Record


def default_journal() -> Path:
    """
    Return where the knitter's journal is kept, making its folder if need be.

    Raises:
        JournalError: the folder cannot be made.

    """
    folder = resources.data_folder()
    with speaking(folder):
        folder.mkdir(parents=True, exist_ok=True)
    return followed(folder / "journal.walesong")


def holds_pieces(path: Path) -> bool:
    """Say whether a journal is there and has anything in it; a damaged one counts as full."""
    if not path.exists():
        return False
    try:
        with SqliteJournal.open_to_read(path) as journal:
            return bool(journal.pieces())
    except JournalError:
        return True


def reading_of(path: Path) -> JournalReading:
    """
    Return what a journal file holds, database or exported lines, without changing it.

    Lines that cannot be read are pointed at in it; every other line counts.

    Raises:
        JournalError: it is not there, is something else, or is damaged.

    """
    try:
        with SqliteJournal.open_to_read(path) as journal:
            return JournalReading(journal.records(), (), journal.gap)
    except NotAJournalError:
        return read_file(path)


def read_journal(path: Path) -> tuple[Record, ...]:
    """Return all records of a journal file; see `reading_of`."""
    return reading_of(path).records


def is_wanted(piece: Summary, wanted: NewPiece) -> bool:
    """Tell whether a piece is of just the pattern and size that are wanted."""
    if wanted.pattern is None:
        return False
    sha256 = hashlib.sha256(wanted.pattern.encode()).hexdigest()
    found = piece.pattern, piece.size, piece.pattern_piece
    return found == (sha256, wanted.size, wanted.pattern_piece)


def is_begun(path: Path, wanted: NewPiece) -> bool:
    """Tell whether a piece of just that pattern and size is begun and not finished."""
    if not path.exists():
        return False
    summaries = Summaries.beside(path)
    try:
        with SqliteJournal.open_to_read(path) as journal:
            pieces = [summaries.of(journal, kept) for kept in journal.pieces()]
    except JournalError:
        return False
    return any(one.begun and not one.finished and is_wanted(one, wanted) for one in pieces)


def begun_by_another_text(path: Path, wanted: NewPiece) -> tuple[str, int] | None:
    """
    Return name and row of a begun piece of the same project that follows another text or size.

    It is None, too, where there is no journal yet or the wanted text is being knitted.
    """
    if wanted.pattern is None or not path.exists():
        return None
    found: tuple[str, int] | None = None
    summaries = Summaries.beside(path)
    try:
        with SqliteJournal.open_to_read(path) as journal:
            for kept in journal.pieces():
                piece = summaries.of(journal, kept)
                if not piece.begun or piece.finished or piece.pattern is None:
                    continue
                if piece.pattern_piece != wanted.pattern_piece:
                    continue
                if is_wanted(piece, wanted):
                    return None
                if found is None and piece.project == wanted.project:
                    found = piece.name, piece.done + 1
    except JournalError:
        return None
    return found


def practice_journal() -> Path:
    """Return where what the practice recording knits is kept: apart from the knitter's own work."""
    return default_journal().with_name("practice.walesong")
