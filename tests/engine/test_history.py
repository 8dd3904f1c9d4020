"""Histories: one order on every device, undo that erases nothing, forks shown and settled."""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import events
from engine.commands import Feel, Since, Source
from engine.fabric import Fabric
from engine.history import advance, fold, live
from engine.quantities import Length, LengthUnit
from engine.records import Record, heads, in_order

if TYPE_CHECKING:
    import random
    from collections.abc import Sequence

    from engine.events import Event


class Device:
    """A device that writes records after everything it knows."""

    def __init__(self, name: str, known: Sequence[Record] = ()) -> None:
        """Know some records."""
        self.name = name
        self.known = {record.id: record for record in known}
        self._groups = itertools.count(1)

    def write(self, *happened: Event) -> str:
        """Write events as one group and return the group's name."""
        group = f"{self.name}-{next(self._groups)}"
        for event in happened:
            lamport = max((record.lamport for record in self.known.values()), default=0) + 1
            record = Record(
                after=heads(self.known.values()),
                lamport=lamport,
                writer=self.name,
                piece="sleeve",
                group=group,
                wall="2026-01-01T00:00:00Z",
                monotonic_ms=1000 * lamport,
                source=Source.KEY,
                event=event,
            )
            self.known[record.id] = record
        return group

    def merge(self, other: Device) -> None:
        """Take over what another device knows."""
        self.known |= other.known

    @property
    def records(self) -> list[Record]:
        """All that is known."""
        return list(self.known.values())


def begun() -> Device:
    """Return a device on which a sleeve of 50 stitches is cast on."""
    device = Device("phone")
    device.write(
        events.PieceBegun(
            name="mug sleeve",
            project="hut",
            pattern=None,
            size=None,
            cast_on=50,
            target=None,
            count_every=12,
        )
    )
    return device


def rows(first: int, last: int | None = None) -> events.RowsWorked:
    """Return the event that rows were worked."""
    return events.RowsWorked("body", first, last or first)


def length(row: int, cm: int, *, assumed: bool = False) -> events.Measured:
    """Return the event that a length was read."""
    value = Length(Fraction(cm), LengthUnit.CM)
    return events.Measured(row, value, Since.CAST_ON, 0, Fabric.ON_NEEDLE, assumed)


def test_rows_are_positions() -> None:
    """The same row told twice is one row, and the next one follows it."""
    device = begun()
    device.write(rows(1))
    device.write(rows(1))
    device.write(rows(2, 4))
    assert fold(device.records).done == 4
    assert fold(device.records).working == 5


def test_news_of_an_earlier_row_takes_nothing_back() -> None:
    """Four rows were told here and two of them there: four are done, and the open row stays open.

    That holds in whichever order the two are sorted.
    """
    four, two = rows(1, 4), rows(1, 2)
    late, device = begun(), begun()
    late.write(two)
    late.write(four)
    assert fold(late.records).done == 4
    device.write(four)
    device.write(events.StoppedInRow(5, 20))
    device.write(events.BitReached(5, 2))
    before = fold(device.records)
    device.write(two)
    after = fold(device.records)
    assert (after.done, after.in_row, after.bit) == (4, before.in_row, 2)


@pytest.mark.parametrize(
    "moved",
    [rows(5), events.Recounted(7), events.Recounted(4), events.RippedBack(4, False)],  # noqa: FBT003
    ids=["done", "recounted on", "recounted here", "ripped back"],
)
def test_another_row_is_read_from_its_beginning(moved: Event) -> None:
    """Wherever the work goes, the instruction is read from its first bit and no row is open."""
    device = begun()
    device.write(rows(1, 4))
    device.write(events.StoppedInRow(5, 20))
    device.write(events.BitReached(5, 2))
    assert fold(device.records).bit == 2
    device.write(moved)
    state = fold(device.records)
    assert (state.bit, state.in_row) == (0, None)


def test_what_is_ripped_back_is_not_finished_any_more() -> None:
    """A piece that was off the needles is on them again, and can be finished anew."""
    device = begun()
    device.write(rows(1, 4))
    device.write(events.PieceFinished(4))
    assert fold(device.records).finished
    device.write(events.RippedBack(2, False))  # noqa: FBT003
    assert (fold(device.records).finished, fold(device.records).done) == (False, 2)


def test_undo_redo_and_undo_again() -> None:
    """Redo undoes the undo; each names a group; nothing is erased."""
    device = begun()
    device.write(rows(1))
    group = device.write(rows(2, 3))
    undo = device.write(events.Undone(group))
    assert fold(device.records).done == 1
    assert fold(device.records).redoable == (undo,)
    device.write(events.Undone(undo))
    assert fold(device.records).done == 3
    assert fold(device.records).redoable == ()
    assert fold(device.records).undoable == group
    assert len(device.records) == 5


def test_several_undos_are_redone_in_turn() -> None:
    """Two undos in a row are put back one after the other, the last one taken back first."""
    device = begun()
    first = device.write(rows(1))
    second = device.write(rows(2))
    device.write(events.Undone(second))
    device.write(events.Undone(first))
    assert fold(device.records).done == 0
    for expected in (1, 2):
        (undo,) = fold(device.records).redoable
        device.write(events.Undone(undo))
        assert fold(device.records).done == expected


def test_a_new_command_ends_redo() -> None:
    """After something new was done, what was taken back stays taken back."""
    device = begun()
    device.write(events.Undone(device.write(rows(1))))
    device.write(rows(1, 2))
    assert fold(device.records).redoable == ()


def test_casting_on_is_not_undone() -> None:
    """The beginning of the piece is nothing that undo would name."""
    assert fold(begun().records).undoable is None


def test_undo_takes_a_whole_group() -> None:
    """What one command wrote is taken back as one."""
    device = begun()
    group = device.write(rows(1, 6), events.RowsWorked("top", 7, 8))
    assert fold(device.records).done == 8
    device.write(events.Undone(group))
    assert fold(device.records).done == 0


def test_ripping_back_is_not_undo() -> None:
    """Ripping sets later readings aside and keeps notes; rows above are worked again later."""
    device = begun()
    device.write(rows(1, 41))
    device.write(length(30, 10))
    device.write(length(41, 14))
    device.write(events.LifelinePlaced(38, 50))
    device.write(events.BallJoined(40, ""))
    device.write(events.RowNoted(41, "note", "felt odd"))
    device.write(events.StitchesCounted(40, 50, 50))
    device.write(events.RippedBack(36, lifeline=False))
    state = fold(device.records)
    assert state.done == 36
    assert [reading.aside for reading in state.lengths] == [False, True]
    assert state.lifelines == ()
    assert state.balls[0].aside
    assert state.counts[0].aside
    assert state.notes[0].text == "felt odd"


def test_unpicking_reopens_the_row() -> None:
    """The row that is unpicked is the row in work, and no stitch of it counts."""
    device = begun()
    device.write(rows(1, 41))
    device.write(events.RowReopened(41))
    state = fold(device.records)
    assert (state.done, state.working) == (40, 41)
    assert state.in_row is not None
    assert state.in_row.row == 41


def test_how_measured_speaks_for_earlier_readings() -> None:
    """What was assumed is corrected once she says how she measures; what she said stays."""
    device = begun()
    device.write(rows(1, 20))
    device.write(length(10, 4))
    device.write(length(20, 8, assumed=True))
    device.write(events.MeasuringAgreed(Since.CAST_ON, 0, Fabric.RESTED))
    state = fold(device.records)
    assert [reading.fabric for reading in state.lengths] == [Fabric.ON_NEEDLE, Fabric.RESTED]
    assert not any(reading.assumed for reading in state.lengths)


def test_a_loop_that_ended_above_a_rip_is_open_again() -> None:
    """Ripping back into a part "until it measures" opens that part again."""
    device = begun()
    device.write(rows(1, 30))
    device.write(events.LoopEnded("body", 30))
    device.write(events.RowsWorked("top", 31, 36))
    device.write(events.RippedBack(30, lifeline=False))
    assert fold(device.records).ended == (("body", 30),), "that row was its last one"
    device.write(events.RippedBack(28, lifeline=False))
    assert fold(device.records).ended == ()


def test_a_changed_pattern_takes_the_place_of_what_it_overlays() -> None:
    """From its row on the newest pattern holds; an older change further on is no more."""
    device = begun()
    for row, text in ((1, "a"), (9, "b"), (20, "c"), (9, "d")):
        device.write(events.PatternChanged(from_row=row, pattern=text * 64, size=None))
    found = [(one.from_row, one.sha256[0]) for one in fold(device.records).patterns]
    assert found == [(1, "a"), (9, "d")]


def test_two_devices_that_knit_on_are_a_fork() -> None:
    """Both positions are shown, and a recount after both settles it."""
    phone = begun()
    phone.write(rows(1, 40))
    tablet = Device("tablet", phone.records)
    phone.write(rows(41))
    tablet.write(rows(41, 44))
    phone.merge(tablet)
    tablet.merge(phone)
    assert fold(phone.records) == fold(tablet.records)
    assert fold(phone.records).fork == (41, 44)
    phone.write(events.RowNoted(41, "note", ""))
    assert fold(phone.records).fork == (41, 44)
    phone.write(events.Recounted(43))
    assert fold(phone.records).fork == ()
    assert fold(phone.records).done == 43


def test_devices_that_say_the_same_are_no_fork() -> None:
    """The same row told to two devices is the same news."""
    phone = begun()
    tablet = Device("tablet", phone.records)
    phone.write(rows(1))
    tablet.write(rows(1))
    phone.merge(tablet)
    assert fold(phone.records).fork == ()
    assert fold(phone.records).done == 1


def test_notes_on_another_device_are_no_fork() -> None:
    """A note does not move the work, so it never asks for settling."""
    phone = begun()
    tablet = Device("tablet", phone.records)
    phone.write(rows(1, 5))
    tablet.write(events.HandNoted(1, Feel.TIGHT))
    phone.merge(tablet)
    state = fold(phone.records)
    assert (state.fork, state.done, len(state.hand)) == ((), 5, 1)


def test_an_undo_against_knitting_on_is_a_fork() -> None:
    """One device takes a row back while the other goes on: they disagree, and that is shown."""
    phone = begun()
    group = phone.write(rows(1, 10))
    tablet = Device("tablet", phone.records)
    phone.write(events.Undone(group))
    tablet.write(rows(11))
    phone.merge(tablet)
    assert len(fold(phone.records).fork) == 2


def test_both_undoing_the_same_is_redone_on_both() -> None:
    """Redo puts back what two devices took back independently."""
    phone = begun()
    group = phone.write(rows(1, 10))
    tablet = Device("tablet", phone.records)
    phone.write(events.Undone(group))
    tablet.write(events.Undone(group))
    phone.merge(tablet)
    state = fold(phone.records)
    assert (state.done, len(state.redoable)) == (0, 2)
    phone.write(*(events.Undone(undo) for undo in state.redoable))
    assert fold(phone.records).done == 10


_HAPPENED = st.one_of(
    st.builds(rows, st.integers(1, 30)),
    st.builds(lambda to: events.RippedBack(to, lifeline=False), st.integers(0, 20)),
    st.builds(events.Recounted, st.integers(0, 30)),
    st.builds(length, st.integers(1, 30), st.integers(1, 20)),
    st.builds(events.HandNoted, st.integers(1, 30), st.sampled_from(Feel)),
    st.builds(events.LoopEnded, st.just("body"), st.integers(0, 30)),
    st.just("undo"),
)
_STEPS = st.lists(st.tuples(st.sampled_from([0, 1, 2]), _HAPPENED), max_size=25)


@given(_STEPS, st.randoms(use_true_random=False))
def test_the_union_in_any_order_is_the_same_state(
    steps: list[tuple[int, Event | str]], dice: random.Random
) -> None:
    """Three devices that write, undo and exchange end in one state, in whatever order."""
    first = begun()
    devices = [first, Device("tablet", first.records), Device("desk", first.records)]
    for which, happened in steps:
        device = devices[which]
        if isinstance(happened, str):
            group = fold(device.records).undoable
            if group is not None:
                device.write(events.Undone(group))
        else:
            device.write(happened)
        if dice.random() < 0.2:
            device.merge(dice.choice(devices))
    everything = [record for device in devices for record in device.records]
    expected = fold(everything)
    for _ in range(3):
        dice.shuffle(everything)
        assert fold(everything) == expected
    merged = begun()
    for device in dice.sample(devices, 3):
        merged.merge(device)
    assert fold(merged.records) == expected


@given(_STEPS)
def test_advancing_is_folding(steps: list[tuple[int, Event | str]]) -> None:
    """The quick way over one command gives what folding the whole history gives."""
    device = begun()
    state = fold(device.records)
    for _, happened in steps:
        known = set(device.known)
        if isinstance(happened, str):
            if state.undoable is None:
                continue
            device.write(events.Undone(state.undoable))
            state = fold(device.records)
        else:
            device.write(happened)
            written = [record for name, record in device.known.items() if name not in known]
            state = advance(state, written)
        assert state == fold(device.records)


def test_the_order_never_puts_a_record_before_what_it_came_after() -> None:
    """Sorting by Lamport number and id respects the causes (Lamport 1978)."""
    phone = begun()
    tablet = Device("tablet", phone.records)
    for row in range(1, 6):
        phone.write(rows(row))
        tablet.write(rows(row))
        if row == 3:
            phone.merge(tablet)
    phone.merge(tablet)
    seen: set[str] = set()
    for record in in_order(phone.records):
        assert seen.issuperset(record.after)
        seen.add(record.id)
    assert len(live(in_order(phone.records))) == len(phone.records)


@pytest.mark.parametrize("row", [1, 10, 50])
def test_stopping_is_only_about_the_row_in_work(row: int) -> None:
    """A stop in a row that is not being worked (another device went on) changes nothing."""
    device = begun()
    device.write(rows(1, 9))
    device.write(events.StoppedInRow(row, 23))
    state = fold(device.records)
    assert (state.in_row is not None) == (row == 10)
