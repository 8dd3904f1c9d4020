"""
The history of one piece: read, written and only then folded into its state.

What a command brings about is one group of records; the state changes once they are on disk.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.events import Undone
from engine.forecast.stamps import row_stamps
from engine.history import advance, fold, live, without_last
from engine.journal.errors import UnsoundError
from engine.records import Record, heads, new_name
from engine.soundness import sound, why_unsound_record

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from app.session.clock import Clock
    from engine.commands import Source
    from engine.events import Event
    from engine.forecast.pace import RowStamp
    from engine.journal.journal import Journal
    from engine.state import PieceState

    _Earlier = tuple[str, PieceState, tuple[RowStamp, ...] | None]

_REMEMBERED = 20
"""So many commands are taken back without folding the whole history again."""


class PieceHistory:
    """The records of one piece in a journal, and the state that they make."""

    def __init__(self, journal: Journal, piece: str, clock: Clock) -> None:
        """
        Read the history of a piece.

        Raises:
            JournalError: the journal cannot be read.

        """
        self._journal = journal
        self.piece = piece
        """Its name in the journal."""
        self._clock = clock
        self._writer = new_name()
        self._records: dict[str, Record] = {}
        self._heads: tuple[str, ...] = ()
        self._lamport = 0
        self._stamps: tuple[RowStamp, ...] | None = None
        self._earlier: list[_Earlier] = []
        """The last groups that were written here, each with state and stamps before it."""
        self._taken: list[tuple[str, _Earlier, PieceState, tuple[RowStamp, ...] | None]] = []
        """The undos since then: what each took back, and state and stamps before it."""
        self._rewound: _Earlier | None = None
        """The group that is being mended, with state and stamps behind it."""
        self.state: PieceState
        self.reload()

    def __len__(self) -> int:
        """Return how many records there are."""
        return len(self._records)

    @property
    def last(self) -> Record | None:
        """The last record in the one order, or None."""
        return max(self._records.values(), key=lambda record: record.order, default=None)

    @property
    def records(self) -> tuple[Record, ...]:
        """The history of the piece, in its one order."""
        return tuple(sorted(self._records.values(), key=lambda record: record.order))

    def stamps(self) -> tuple[RowStamp, ...]:
        """Return when the rows were done that still hold, by each writer's own clock."""
        if self._stamps is None:
            self._stamps = row_stamps(live(self.records))
        return self._stamps

    def reload(self) -> None:
        """Read the history again, for instance after another device's records were merged in."""
        self._records = {record.id: record for record in self._journal.records(self.piece)}
        counting = sound(self.records)
        self._heads = heads(counting)
        self._lamport = max((record.lamport for record in counting), default=0)
        self.state = fold(self._records.values())
        self._stamps = None
        self._earlier.clear()
        self._taken.clear()
        self._rewound = None

    def taken_in(self) -> bool:
        """Take in what another program wrote to the piece; tell whether it did."""
        if not self._journal.changed_elsewhere():
            return False
        before = self._records.keys()
        self.reload()
        return self._records.keys() != before

    def write(self, happened: Iterable[Event], source: Source) -> tuple[Record, ...]:
        """
        Write the events of one command as one group; the state changes once they are on disk.

        Raises:
            JournalError: it could not be written; then nothing is changed.

        """
        group, happened = new_name(), [*happened]
        if self._rewound is not None and happened:
            group = self._rewound[0]
            happened.insert(0, Undone(group))
        written: list[Record] = []
        after, lamport = self._heads, self._lamport
        for event in happened:
            lamport += 1
            record = Record(
                after=after,
                lamport=lamport,
                writer=self._writer,
                piece=self.piece,
                group=group,
                wall=self._clock.wall(),
                monotonic_ms=self._clock.monotonic_ms(),
                source=source,
                event=event,
            )
            written.append(record)
            after = (record.id,)
        if not written:
            return ()
        for why in filter(None, map(why_unsound_record, written)):
            raise UnsoundError(why)
        self._journal.append(written)
        self._records |= {record.id: record for record in written}
        self._heads, self._lamport = after, lamport
        self._rewound = None
        if any(isinstance(record.event, Undone) for record in written):
            self._take_back(written)
        else:
            self._taken.clear()
            self._earlier = [*self._earlier[-_REMEMBERED:], (group, self.state, self._stamps)]
            if self._stamps is not None:
                self._stamps = (*self._stamps, *row_stamps(written))
            self.state = advance(self.state, written)
        return tuple(written)

    def rewind(self, group: str) -> bool:
        """Stand before a group, if it is the last; what is written then mends it, as one group."""
        last = self._earlier[-1] if self._earlier else None
        if not group or last is None or last[0] != group or self._journal.changed_elsewhere():
            return False
        self._rewound = (group, self.state, self._stamps)
        _, self.state, self._stamps = last
        return True

    def end_rewinding(self) -> None:
        """Stand behind the group again, where nothing was written that mends it."""
        if self._rewound is not None:
            _, self.state, self._stamps = self._rewound
            self._rewound = None

    def _take_back(self, written: Sequence[Record]) -> None:
        """Change the state by undo records that are on disk: from memory, or by folding again."""
        event = written[0].event
        target = event.group if len(written) == 1 and isinstance(event, Undone) else ""
        if self._taken and target == self._taken[-1][0]:  # what was taken back is put back
            _, earlier, self.state, self._stamps = self._taken.pop()
            self._earlier.append(earlier)
            return
        if self._earlier and target == self._earlier[-1][0]:
            earlier = self._earlier.pop()
            _, before, stamps = earlier
            state = without_last(before, written[0])
            if state is not None:
                self._taken.append((written[0].group, earlier, self.state, self._stamps))
                self.state, self._stamps = state, stamps
                return
        self._earlier.clear()
        self._taken.clear()
        self.state, self._stamps = fold(self._records.values()), None
