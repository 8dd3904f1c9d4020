"""
What a journal is, whatever it is kept in: an append-only set of records.

A record is named by its content, so there are no conflicts: appending what is already there
changes nothing, and bringing two journals together is the union of two sets.
"""

from __future__ import annotations

import json
from _thread import get_ident
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Protocol

from engine.journal.errors import DamagedJournalError, NewerJournalError
from engine.records import NewerSchemaError, Record, canonical, from_json

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


@dataclass(frozen=True, slots=True)
class KeptPiece:
    """
    A piece in the journal.

    `name` is the one it was last begun with ("" when its beginning is not in this journal);
    `last_wall` is the wall time (ISO 8601, UTC) of its last record. `mark` names the set of its
    records: as long as it is the same, so are they.
    """

    id: str
    name: str
    last_wall: str
    mark: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Gap:
    """
    Records that were acknowledged and are not there any more: the last ones of the journal.

    `records` is how many, at least; `since` and `until` are the wall times (ISO 8601, UTC; "": not
    known) of the last record that is still there and of the last one that was.
    """

    records: int
    since: str
    until: str

    def __str__(self) -> str:
        """Say what is missing and since when."""
        since = f" after {said_time(self.since)}" if self.since else ""
        are = "record is" if self.records == 1 else "records are"
        return (
            f"{self.records} {are} missing: what was kept{since}, up to {said_time(self.until)}, "
            "is not in the journal any more."
        )


def said_time(wall: str) -> str:
    """Return a wall time to the minute, as it is told."""
    return f"{wall[:10]} {wall[11:16]}".strip()


class Journal(Protocol):
    """
    The records of all pieces, kept.

    It is used by the one thread that opened it: another one gets a RuntimeError, and so does
    anybody after `close`. What the disk or the system refuses comes as a `JournalError`; the
    journal is then as it was before and can be used again.
    """

    gap: Gap | None
    """What was acknowledged once and is missing; whoever tells the knitter sets it to None."""

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """
        Keep all the records or none; they are on disk when this returns.

        `brought`: they come from elsewhere, so no piece was worked on here by them.

        Raises:
            ValueError: a record's content does not match its id, or could not be read back.
            JournalError: it could not be written; nothing was.

        """

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all pieces) by Lamport number, then id."""

    def pieces(self) -> tuple[KeptPiece, ...]:
        """
        Return the pieces, the one worked on last on this device first.

        Those never worked on here come after these, by the time of their last record.
        """

    def changed_elsewhere(self) -> bool:
        """Tell, once each time, whether another program has written to it since this was asked."""

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


class Tally:
    """What a journal knows of a piece without folding it: which records, which name, which time."""

    __slots__ = ("_begun", "_last", "count", "total")

    def __init__(
        self,
        count: int = 0,
        total: int = 0,
        last: tuple[int, bytes, bytes] = (-1, b"", b"{}"),
        begun: tuple[int, bytes, bytes] = (-1, b"", b"{}"),
    ) -> None:
        """
        Begin with so many records, and the sum of their ids.

        `last` is the last of them and `begun` the last that begins the piece, each as its number,
        id and content.
        """
        self.count, self.total = count, total
        self._last, self._begun = last, begun

    def add(self, lamport: int, name: bytes, content: bytes) -> None:
        """Take in a record that is not in it yet, by its number, id and kept content."""
        self.count += 1
        self.total += int.from_bytes(name)
        one = lamport, name, content
        self._last = max(self._last, one)
        if BEGUN in content:
            self._begun = max(self._begun, one)

    @property
    def wall(self) -> str:
        """The wall time of the last record, in the one order."""
        return str(_member(self._last[2], "wall"))

    @property
    def name(self) -> str:
        """The name that the piece was last begun with; "" if it was not."""
        payload = _member(self._begun[2], "payload")
        return str(payload.get("name", "")) if isinstance(payload, dict) else ""

    @property
    def mark(self) -> str:
        """What names the set of the records: their number, and the sum of their hashes."""
        return f"{self.count}-{self.total % 2**256:064x}"


def _member(content: bytes, name: str) -> object:
    """Return a member of a record's content; "" where it has none (it is damaged when read)."""
    try:
        return json.loads(content).get(name, "")
    except (ValueError, AttributeError, RecursionError):
        return ""


BEGUN: Final = b'"kind":"piece_begun","'
"""What stands in the content of a record that begins a piece, and in no text inside another."""


def listed(tallies: Mapping[str, Tally], turns: Mapping[str, int]) -> tuple[KeptPiece, ...]:
    """Return the pieces; the one whose turn it was last comes first, those without a turn last."""
    found = [KeptPiece(one, tally.name, tally.wall, tally.mark) for one, tally in tallies.items()]
    found.sort(key=lambda piece: piece.id)
    found.sort(key=lambda piece: (turns.get(piece.id, 0), piece.last_wall), reverse=True)
    return tuple(found)
