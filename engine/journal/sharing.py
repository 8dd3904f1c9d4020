"""
A journal and the store that several hands share, kept in step.

Nothing is kept of what was shared before, so nothing of it can grow stale, on either side: joining
compares what each has of every piece by its mark, and where these differ the ids. Both sides pass
over what they have, so that anything may be broken off anywhere and done again. While they are in
step only what has changed is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from engine.journal.errors import DamagedJournalError, NewerJournalError
from engine.journal.journal import decoded
from engine.journal.postgres import Mark
from engine.journal.postgres_errors import ForeignRecordsError
from engine.records import in_order
from engine.soundness import MOST_LAMPORT, sentences, set_aside

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from engine.journal.postgres import Arrived, PostgresJournal
    from engine.journal.sqlite import SqliteJournal
    from engine.records import Record

_AT_ONCE: Final = 500


@dataclass(slots=True)
class Shared:
    """
    What a step did: how many records were `given` and `taken`.

    `gained` are the pieces that have new records here; `refused` says in a sentence what was not
    taken in or not given, and why.
    """

    given: int = 0
    taken: int = 0
    gained: set[str] = field(default_factory=set)
    refused: list[str] = field(default_factory=list)

    @property
    def anything(self) -> bool:
        """Whether there is anything to tell."""
        return bool(self.given or self.taken or self.refused)


class Sharing:
    """
    Keeps a journal in step with a store, in the one thread that opened both.

    Every method may raise a `JournalError`: of the store, then begin anew with a new connection; or
    of the journal.
    """

    def __init__(self, journal: SqliteJournal, store: PostgresJournal) -> None:
        """Be ready to `join`."""
        self._journal, self._store = journal, store
        self._arrival = 0
        self._there: dict[str, set[str]] = {}
        """The ids that are in the store, of the pieces that changed since joining."""
        self._given: set[str] = set()
        """What was given and has not come back yet among what arrived."""
        self._tops: dict[str, int] = {}
        self._foreign: set[str] = set()
        self._newer = ""

    def join(self) -> Shared:
        """Compare everything, give what the store lacks and take what the journal lacks."""
        done = Shared()
        # Whatever arrives or is written from here on is looked at again by `step`.
        self._arrival = self._store.newest()
        self._journal.changed_elsewhere()
        self._tops = self._journal.tops()
        there = self._store.marks()
        here = {one.id: Mark.of(one) for one in self._journal.pieces()}
        for piece in sorted(here.keys() | there.keys()):
            if here.get(piece) != there.get(piece):
                self._compare(piece, done, in_store=piece in there)
        return done

    def _compare(self, piece: str, done: Shared, *, in_store: bool) -> None:
        there = self._store.ids(piece) if in_store else frozenset()
        self._give(self._journal.records_but(piece, there), done)
        lacking = sorted(there - self._journal.ids(piece))
        for first in range(0, len(lacking), _AT_ONCE):
            self._take(self._store.called(lacking[first : first + _AT_ONCE]), done)

    def step(self, wait_s: float) -> Shared:
        """Wait at most so long, in seconds, for news from the store; give and take what is new."""
        done = Shared()
        told = self._store.told(wait_s)
        if self._journal.changed_elsewhere():
            self._give_new(done)
        if (told or done.given) and not self._newer:
            self._take_new(done)
        return done

    def _give_new(self, done: Shared) -> None:
        tops = self._journal.tops()
        changed = {piece for piece, top in tops.items() if self._tops.get(piece) != top}
        # A row that was written without knowing of another device's has no larger number; so the
        # pieces that others work on, too, are looked at whole.
        for piece in sorted(changed | self._there.keys()):
            there = self._known(piece)
            new = self._journal.records_but(piece, there)
            self._give(new, done)
            there.update(record.id for record in new)
            self._given.update(record.id for record in new)
        self._tops = tops

    def _known(self, piece: str) -> set[str]:
        if piece not in self._there:
            self._there[piece] = set(self._store.ids(piece))
        return self._there[piece]

    def _take_new(self, done: Shared) -> None:
        while arrived := self._store.arrived(self._arrival, _AT_ONCE):
            own = {one.id.hex() for one in arrived} & self._given
            if not self._take((one for one in arrived if one.id.hex() not in own), done):
                return
            self._given -= own
            self._arrival = arrived[-1].arrival
            if len(arrived) < _AT_ONCE:
                return

    # --- one portion -----------------------------------------------------------------------------

    def _give(self, records: Sequence[Record], done: Shared) -> None:
        records = [one for one in records if one.writer not in self._foreign]
        if not records:
            return
        try:
            self._store.bring(records)
            done.given += len(records)
        except ForeignRecordsError:
            for writer in dict.fromkeys(one.writer for one in records):
                self._give_of(writer, [one for one in records if one.writer == writer], done)

    def _give_of(self, writer: str, records: Sequence[Record], done: Shared) -> None:
        try:
            self._store.bring(records)
            done.given += len(records)
        except ForeignRecordsError:
            self._foreign.add(writer)
            done.refused.append(
                f"Not shared, but kept here: records of writer {writer}, the first of which "
                "another knitter brought. Who keeps the store can hand it over to you."
            )

    def _take(self, arrived: Iterable[Arrived], done: Shared) -> bool:
        """Take records in; False where they have to wait for a newer Walesong."""
        offered: list[Record] = []
        for one in arrived:
            try:
                offered.append(decoded(one.id.hex(), one.content))
            except NewerJournalError as error:
                if not self._newer:
                    done.refused.append(f"Nothing more is taken from the store: {error}")
                self._newer = str(error)
                return False
            except DamagedJournalError as error:
                done.refused.append(f"Not taken in: {error.happened}")
        refused = list(self._refused(offered, done))
        new = [record for record in offered if record not in refused]
        self._journal.append(new, brought=True)
        for record in new:
            done.gained.add(record.piece)
            if record.piece in self._there:
                self._there[record.piece].add(record.id)
        done.taken += len(new)
        return True

    def _refused(self, offered: Sequence[Record], done: Shared) -> Iterator[Record]:
        """Give the records that cannot be; only of a huge number it depends on what is there."""
        pieces = {one.piece for one in offered if one.lamport > MOST_LAMPORT}
        there = [self._journal.records(piece) for piece in pieces]
        aside = set_aside(in_order(*there, offered))
        refused = [one for one in offered if one.id in aside]
        done.refused.extend(sentences(refused, aside))
        yield from refused
