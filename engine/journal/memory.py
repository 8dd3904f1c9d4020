"""A journal that lasts as long as the process: for trying things out, and for tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.events import PieceBegun
from engine.journal.journal import KeptPiece, OneThread, decoded, encoded, summary

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.records import Record


class MemoryJournal:
    """A `Journal` in memory; as strict as the one in a file."""

    def __init__(self) -> None:
        """Begin an empty journal that belongs to this thread."""
        self._kept: dict[str, bytes] = {}
        self._thread = OneThread()

    def append(self, records: Sequence[Record]) -> None:
        """Keep all the records or none; see `Journal.append`."""
        self._thread.check()
        self._kept |= {record.id: encoded(record) for record in records}

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all) in order; see `Journal.records`."""
        self._thread.check()
        kept = [decoded(name, content) for name, content in self._kept.items()]
        wanted = [record for record in kept if piece in {None, record.piece}]
        return tuple(sorted(wanted, key=lambda record: record.order))

    def pieces(self) -> tuple[KeptPiece, ...]:
        """Return the pieces, the one worked on last first; see `Journal.pieces`."""
        return summary(
            (
                record.piece,
                record.wall,
                record.event.name if isinstance(record.event, PieceBegun) else None,
            )
            for record in self.records()
        )

    def close(self) -> None:
        """Forget everything; a second time does nothing."""
        self._thread.close()
        self._kept.clear()
