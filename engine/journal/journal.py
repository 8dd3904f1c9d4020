"""
What a journal is, whatever it is kept in: an append-only set of records.

A record is named by its content, so there are no conflicts: appending what is already there
changes nothing, and bringing two journals together is the union of two sets.
"""

from __future__ import annotations

import json
from _thread import get_ident
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from engine.journal.errors import DamagedJournalError, NewerJournalError
from engine.records import NewerSchemaError, Record, canonical, from_json

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


@dataclass(frozen=True, slots=True)
class KeptPiece:
    """
    A piece in the journal.

    `name` is the one it was last begun with ("" when its beginning is not in this journal);
    `last_wall` is the latest wall time (ISO 8601, UTC) of its records.
    """

    id: str
    name: str
    last_wall: str


class Journal(Protocol):
    """
    The records of all pieces, kept.

    It is used by the one thread that opened it: another one gets a RuntimeError, and so does
    anybody after `close`. What the disk or the system refuses comes as a `JournalError`; the
    journal is then as it was before and can be used again.
    """

    def append(self, records: Sequence[Record]) -> None:
        """
        Keep all the records or none; they are on disk when this returns.

        Raises:
            ValueError: a record's content does not match its id, or could not be read back.
            JournalError: it could not be written; nothing was.

        """

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all pieces) by Lamport number, then id."""

    def pieces(self) -> tuple[KeptPiece, ...]:
        """Return the pieces, the one worked on last first."""

    def close(self) -> None:
        """Let go of what the journal is kept in; a second time does nothing."""


class OneThread:
    """Holds everybody but the thread that opened a journal off it, and everybody once closed."""

    def __init__(self) -> None:
        """Belong to the thread that calls this."""
        self._owner = get_ident()
        self._closed = False

    def close(self) -> bool:
        """Hold everybody off from now on; False if that was so already."""
        if self._closed:
            return False
        self.check()
        self._closed = True
        return True

    def check(self) -> None:
        """Raise RuntimeError in another thread than the owner's, or after closing."""
        if get_ident() != self._owner:
            raise RuntimeError("A journal is used only by the thread that opened it.")
        if self._closed:
            raise RuntimeError("This journal is closed.")


def encoded(record: Record) -> bytes:
    """
    Return the bytes to keep: the record's canonical content, once it is sure to be readable again.

    Raises ValueError when it would not be: such a record would lock the knitter out of her work.
    """
    content = canonical(record)
    try:
        again = from_json({"id": record.id, **json.loads(content)})
    except ValueError as error:
        raise ValueError(f"This record cannot be kept: {error}") from error
    if again != record:
        raise ValueError("This record cannot be kept: it reads back as another one.")
    return content


def decoded(name: str, content: bytes) -> Record:
    """
    Return the record with the id `name` from its kept content.

    Raises:
        NewerJournalError: a newer Walesong wrote it.
        DamagedJournalError: it is not what was written.

    """
    try:
        values = json.loads(content)
        if not isinstance(values, dict):
            raise DamagedJournalError("A record in it is not a record.")
        return from_json({"id": name, **values})
    except NewerSchemaError as error:
        raise NewerJournalError(str(error)) from error
    except (ValueError, RecursionError) as error:
        raise DamagedJournalError(f"The record {name[:12]} in it is damaged.") from error


def summary(news: Iterable[tuple[str, str, str | None]]) -> tuple[KeptPiece, ...]:
    """
    Return the pieces, the one worked on last first.

    `news` is the piece, the wall time and, where it is begun, its name, of every record in order.
    """
    names: dict[str, str] = {}
    walls: dict[str, str] = {}
    for piece, wall, name in news:
        names[piece] = names.get(piece, "") if name is None else name
        walls[piece] = max(walls.get(piece, ""), wall)
    found = [KeptPiece(piece, names[piece], walls[piece]) for piece in sorted(names)]
    found.sort(key=lambda piece: piece.last_wall, reverse=True)
    return tuple(found)
