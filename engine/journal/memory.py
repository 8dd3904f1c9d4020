"""A journal that lasts as long as the process: for trying things out, and for tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.journal.journal import KeptPiece, OneThread, Tally, decoded, encoded, listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.journal.journal import Gap
    from engine.records import Record


class MemoryJournal:
    """A `Journal` in memory; as strict as the one in a file."""

    def __init__(self) -> None:
        """Begin an empty journal that belongs to this thread."""
        self.gap: Gap | None = None
        self._kept: dict[str, bytes] = {}
        self._turns: dict[str, int] = {}
        self._thread = OneThread()

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """Keep all the records or none; see `Journal.append`."""
        self._thread.check()
        new = {record.id: encoded(record) for record in records if record.id not in self._kept}
        self._kept |= new
        for record in records:
            if record.id in new and not brought:
                self._turns[record.piece] = max(self._turns.values(), default=0) + 1

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all) in order; see `Journal.records`."""
        self._thread.check()
        kept = [decoded(name, content) for name, content in self._kept.items()]
        wanted = [record for record in kept if piece in {None, record.piece}]
        return tuple(sorted(wanted, key=lambda record: record.order))

    def pieces(self) -> tuple[KeptPiece, ...]:
        """Return the pieces, the one worked on last first; see `Journal.pieces`."""
        tallies: dict[str, Tally] = {}
        for record in self.records():
            tally = tallies.setdefault(record.piece, Tally())
            tally.add(record.lamport, bytes.fromhex(record.id), self._kept[record.id])
        return listed(tallies, self._turns)

    def changed_elsewhere(self) -> bool:
        """Return False: nobody else can write to it."""
        self._thread.check()
        return False

    def close(self) -> None:
        """Forget everything; a second time does nothing."""
        self._thread.close()
        self._kept.clear()
