"""
The history of one order: read, written and only then folded, beside the histories of the pieces.

Its records are appended as such by which no piece was worked on: the piece on the needle stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.batch.order import fold_order
from engine.events import Undone
from engine.journal.errors import UnsoundError
from engine.records import Record, heads, new_name
from engine.soundness import why_unsound_record

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.clock import Clock
    from engine.batch.order import OrderState
    from engine.commands import Source
    from engine.events import Event
    from engine.journal.journal import Journal


class OrderHistory:
    """The records of one order in a journal, and the state that they make."""

    def __init__(self, journal: Journal, order: str, clock: Clock) -> None:
        """
        Read the history of an order; of a new one (`new_name()`) there is none yet.

        Raises:
            JournalError: the journal cannot be read.

        """
        self._journal = journal
        self._order = order
        self._clock = clock
        self._writer = new_name()
        self.state: OrderState
        self.reload()

    def reload(self) -> None:
        """Read it again: another device's records may have been merged in."""
        self._records = self._journal.records(self._order)
        self.state = fold_order(self._records)

    def write(self, happened: Sequence[Event], source: Source) -> tuple[Record, ...]:
        """
        Write events as one group; the state changes once they are on disk.

        Raises:
            JournalError: it could not be written; then nothing is changed.

        """
        self.reload()
        after = heads(self._records)
        lamport = max((one.lamport for one in self._records), default=0)
        group, written = new_name(), []
        for event in happened:
            lamport += 1
            record = Record(
                after=after,
                lamport=lamport,
                writer=self._writer,
                piece=self._order,
                group=group,
                wall=self._clock.wall(),
                monotonic_ms=self._clock.monotonic_ms(),
                source=source,
                event=event,
            )
            why = why_unsound_record(record)
            if why:
                raise UnsoundError(why)
            written.append(record)
            after = (record.id,)
        self._journal.append(written, brought=True)
        self._records = (*self._records, *written)
        self.state = fold_order(self._records)
        return tuple(written)

    def take_back(self, source: Source) -> tuple[Record, ...]:
        """Take back what was written last; () if there is nothing but the order itself."""
        self.reload()  # another program may have written; who else reads is not kept from noticing
        group = self.state.undoable
        return self.write((Undone(group),), source) if group is not None else ()
