"""Every journal keeps the same promises: the one in memory, and the one in a file."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine.events import PieceBegun, RowNoted, RowsWorked
from engine.journal.journal import KeptPiece
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from tests.in_memory import folder_in_memory
from tests.made_up import CAP, SLEEVE, any_record, histories, knitted, record

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from random import Random

    from engine.journal.journal import Journal
    from engine.records import Record

# One set of examples is run on every journal: that is the point of a contract.
few = settings(max_examples=40, suppress_health_check=[HealthCheck.differing_executors])


class JournalContract:
    """What everybody may rely on; a subclass brings `begin`, which begins an empty journal."""

    begin: Callable[[], Journal]

    def test_begins_empty(self) -> None:
        """A new journal holds no record and no piece."""
        with closing(self.begin()) as journal:
            assert journal.records() == ()
            assert journal.records(SLEEVE) == ()
            assert journal.pieces() == ()

    def test_gives_back_what_was_appended(self) -> None:
        """Records come back equal, piece by piece and all together, in the one order."""
        sleeve, cap = knitted(3), knitted(2, CAP, "crew cap")
        with closing(self.begin()) as journal:
            journal.append(sleeve[:2])
            journal.append(cap)
            journal.append(sleeve[2:])
            assert journal.records(SLEEVE) == tuple(sleeve)
            assert journal.records(CAP) == tuple(cap)
            everything = sorted(sleeve + cap, key=lambda record: record.order)
            assert journal.records() == tuple(everything)

    @few
    @given(st.lists(any_record, max_size=5))
    def test_any_record_survives(self, records: list[Record]) -> None:
        """Whatever an event may hold comes back the same to the last character."""
        with closing(self.begin()) as journal:
            journal.append(records)
            assert set(journal.records()) == set(records)
            for piece in {one.piece for one in records}:
                assert set(journal.records(piece)) == {r for r in records if r.piece == piece}

    @few
    @given(histories(), st.randoms(use_true_random=False), st.integers(1, 4))
    def test_order_and_repetition_mean_nothing(
        self, history: list[Record], dice: Random, at_once: int
    ) -> None:
        """Appended in any order, in any portions, some of them twice: the records are the same."""
        shuffled = history + history[::2]
        dice.shuffle(shuffled)
        with closing(self.begin()) as journal:
            for first in range(0, len(shuffled), at_once):
                journal.append(shuffled[first : first + at_once])
            assert journal.records() == tuple(sorted(set(history), key=lambda r: r.order))

    def test_the_same_record_twice_in_one_go(self) -> None:
        """A record that is handed over twice at once is kept once."""
        one = knitted(0)[0]
        with closing(self.begin()) as journal:
            journal.append([one, one])
            assert journal.records() == (one,)

    def test_nothing_to_append(self) -> None:
        """Appending nothing is no mistake."""
        with closing(self.begin()) as journal:
            journal.append([])
            assert journal.records() == ()

    def test_refuses_a_record_that_is_not_what_its_name_says(self) -> None:
        """A record changed after it was named is refused, and so is all that came with it."""
        good, changed = knitted(1)
        object.__setattr__(changed, "lamport", 7)
        with closing(self.begin()) as journal:
            with pytest.raises(ValueError, match="does not match its own name"):
                journal.append([good, changed])
            assert journal.records() == ()
            journal.append([good])
            assert journal.records() == (good,)

    @pytest.mark.parametrize(
        "event",
        [
            RowsWorked("body", -1, 4),
            RowsWorked("body", 1, last=True),
            RowNoted("three", "note", ""),  # type: ignore[arg-type]
        ],
    )
    def test_refuses_what_could_not_be_read_again(self, event: RowsWorked | RowNoted) -> None:
        """A record that no Walesong could read is refused before it locks anybody out."""
        with closing(self.begin()) as journal:
            with pytest.raises(ValueError, match="This record cannot be kept"):
                journal.append([record(event)])
            assert journal.records() == ()

    def test_lists_the_pieces(self) -> None:
        """Pieces have the name they were last begun with; the one worked on last comes first."""
        sleeve = knitted(2, SLEEVE, "mug sleeve")
        again = PieceBegun("lantern sleeve", "hut", None, None, 44, None, 0)
        sleeve.append(record(again, sleeve, wall="2026-01-11T09:00:00Z"))
        # A clock that was set back: its time is that of the last record all the same.
        sleeve.append(record(RowsWorked("body", 3, 3), sleeve, wall="2026-01-09T09:00:00Z"))
        cap = knitted(1, CAP, "crew cap")
        orphan = record(RowsWorked("body", 9, 9), piece="elsewhere", wall="2026-01-12T00:00:00Z")
        with closing(self.begin()) as journal:
            journal.append([*cap, *sleeve, orphan])
            assert journal.pieces() == (
                KeptPiece("elsewhere", "", "2026-01-12T00:00:00Z"),
                KeptPiece(SLEEVE, "lantern sleeve", "2026-01-09T09:00:00Z"),
                KeptPiece(CAP, "crew cap", "2026-01-10T18:00:00Z"),
            )

    def test_the_piece_worked_on_last_is_so_by_no_clock(self) -> None:
        """A clock that was years ahead on one evening does not keep that piece in front."""
        sleeve, cap = knitted(1), knitted(1, CAP)
        ahead = record(RowsWorked("body", 2, 2), sleeve, wall="2099-01-01T00:00:00Z")
        with closing(self.begin()) as journal:
            journal.append([*sleeve, ahead])
            journal.append(cap)
            assert [piece.id for piece in journal.pieces()] == [CAP, SLEEVE]
            journal.append([record(RowsWorked("body", 3, 3), [ahead], wall="1970-01-01T00:00:00Z")])
            assert [piece.id for piece in journal.pieces()] == [SLEEVE, CAP]

    def test_what_was_brought_is_not_worked_on_here(self) -> None:
        """Another device's piece comes after those of this one, however new it is."""
        brought = [replace(one, wall="2030-01-01T00:00:00Z") for one in knitted(5, CAP)]
        with closing(self.begin()) as journal:
            journal.append(knitted(1))
            journal.append(brought, brought=True)
            assert [piece.id for piece in journal.pieces()] == [SLEEVE, CAP]

    def test_a_mark_names_the_records(self) -> None:
        """The mark of a piece changes with every new record and is the same in any order."""
        marks = []
        for portions in ([[0, 1], [2]], [[2], [0], [1], [0]]):
            with closing(self.begin()) as journal:
                for portion in portions:
                    journal.append([knitted(2)[at] for at in portion])
                    marks.append(journal.pieces()[0].mark)
        assert marks[-1] == marks[1] == marks[-2]
        assert len(set(marks[:3])) == 3
        assert "" not in marks

    def test_nobody_else_has_written(self) -> None:
        """What it appends itself is no news from elsewhere."""
        with closing(self.begin()) as journal:
            assert not journal.changed_elsewhere()
            journal.append(knitted(1))
            assert not journal.changed_elsewhere()
            assert journal.gap is None

    def test_belongs_to_one_thread(self) -> None:
        """Another thread is refused with a sentence, whatever it wants, and nothing happens."""
        with closing(self.begin()) as journal, ThreadPoolExecutor(1) as pool:
            for use in (
                lambda: journal.append(knitted(0)),
                journal.records,
                journal.pieces,
                journal.close,
            ):
                with pytest.raises(RuntimeError, match="only by the thread that opened it"):
                    pool.submit(use).result()
            assert journal.records() == ()

    def test_closed_is_closed(self) -> None:
        """After closing it is refused with a sentence; closing again does nothing."""
        journal = self.begin()
        journal.close()
        journal.close()
        for use in (lambda: journal.append(knitted(0)), journal.records, journal.pieces):
            with pytest.raises(RuntimeError, match="This journal is closed"):
                use()


class TestMemory(JournalContract):
    """The fake."""

    @pytest.fixture(autouse=True)
    def _begin(self) -> None:
        """Begin journals in memory."""
        self.begin = MemoryJournal


class TestSqlite(JournalContract):
    """The file."""

    @pytest.fixture(autouse=True)
    def _begin(self) -> Iterator[None]:
        """Begin journals in files of their own."""
        numbers = count(1)
        with folder_in_memory() as folder:
            self.begin = lambda: SqliteJournal.open(folder / f"{next(numbers)}.walesong")
            yield
