"""
The piece that is there before anybody has begun one: it is kept only once something is knitted.

At the very first start she can count at once, without being asked anything. If she casts on
something else instead, nothing of this piece was ever in her journal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.journal.journal import Gap, Journal, KeptPiece
    from engine.records import Record


class Unknitted:
    """A journal whose first piece waits to be kept until its second append, as one with it."""

    def __init__(self, journal: Journal) -> None:
        """Stand before a journal; what is appended first waits."""
        self._journal = journal
        self._waiting: tuple[Record, ...] = ()
        self._begun = False

    @property
    def gap(self) -> Gap | None:
        """What was acknowledged once and is missing."""
        return self._journal.gap

    @gap.setter
    def gap(self, gap: Gap | None) -> None:
        self._journal.gap = gap

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """Keep the records, with those that waited if they are of the same piece."""
        if not self._begun:
            self._begun, self._waiting = True, tuple(records)
            return
        waiting = self._waiting
        together = waiting and any(one.piece == waiting[0].piece for one in records)
        self._journal.append([*waiting, *records] if together else records, brought=brought)
        self._waiting = ()

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Return the records of a piece (None: of all pieces), those that wait included."""
        if self._waiting and piece == self._waiting[0].piece:
            return self._waiting
        return self._journal.records(piece)

    def pieces(self) -> tuple[KeptPiece, ...]:
        """Return the pieces that are kept; one that waits is in no list."""
        return self._journal.pieces()

    def changed_elsewhere(self) -> bool:
        """Tell whether another program has written to it since this was asked."""
        return not self._waiting and self._journal.changed_elsewhere()

    def close(self) -> None:
        """Let go of what the journal is kept in."""
        self._journal.close()
