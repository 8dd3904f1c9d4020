"""Numbers that two devices gave at once: both lines are kept, each word means its own piece."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

from engine import order_events as said
from engine.batch.numbering import Moved
from engine.batch.order import fold_order
from engine.records import Record, heads, in_order
from engine.stages import Stage
from tests.made_up import record

ORDER = "0" * 32
MUGS = said.OrderLine(1, "Mug sleeve", "", "grey", 4, 0)
CAPS = said.OrderLine(5, "Crew cap", "M", "blue", 2, 0)
BOTTLES = said.OrderLine(5, "Bottle sleeve", "", "grey", 3, 0)


def told(known: list[Record], writer: str, *happened: object) -> list[Record]:
    """Return what a device knows after it has written these events."""
    known = [*known]
    for event in happened:
        new = record(event, known, piece=ORDER)  # type: ignore[arg-type]
        known.append(replace(new, writer=writer * 32, after=heads(known), group=new.id[:32]))
    return known


COMMON = told([], "a", said.OrderBegun("The hut", ""), MUGS)


def test_both_lines_are_kept_and_each_word_means_its_writers_piece() -> None:
    """Number 5 of one device is a cap, of the other a bottle sleeve, in any order."""
    one = told(COMMON, "a", CAPS, said.PieceGiven(5, "the cook"), said.PieceGiven(2, "the cook"))
    other = told(COMMON, "b", BOTTLES, said.PieceGiven(5, "the guide"), said.LineWanted(
        5, "", 50, 54, None, None, None))  # fmt: skip
    state = fold_order([*one, *other])
    assert all(fold_order(some) == state for some in ([*other, *one], [*reversed(one), *other]))
    assert sorted(line.item for line in state.lines) == ["Bottle sleeve", "Crew cap", "Mug sleeve"]
    places = {line.item: line.numbers for line in state.lines}
    assert not set(places["Crew cap"]) & set(places["Bottle sleeve"])
    by = {line.item: state.piece(line.first).knitter for line in state.lines}
    assert (by["Crew cap"], by["Bottle sleeve"]) == ("the cook", "the guide")
    assert state.piece(2).knitter == "the cook"
    bottles = next(line for line in state.lines if line.item == "Bottle sleeve")
    assert bottles.wanted is not None
    assert bottles.wanted.rows == 50
    assert len(state.moved) == 1
    assert state.moved[0].told == 5


def test_who_knows_of_both_means_the_numbers_as_they_are_shown() -> None:
    """After joining the new numbers count as they stand; said again, nothing is asked any more."""
    one, other = told(COMMON, "a", CAPS), told(COMMON, "b", BOTTLES)
    both = [*in_order(one, other)]
    state = fold_order(both)
    (moved,) = state.moved
    line = next(line for line in state.lines if line.first == moved.first)
    both = told(both, "b", said.PieceGiven(moved.first, "the guide"))
    assert fold_order(both).piece(moved.first).knitter == "the guide"
    again = said.OrderLine(line.first, line.item, line.size, line.colour, line.count, line.spares)
    settled = fold_order(told(both, "a", again))
    assert settled.moved == ()
    assert settled.lines == fold_order(both).lines
    more = told(both, "a", again, said.OrderLine(settled.next_number, "Lantern", "", "", 1, 0))
    assert len(fold_order(more).lines) == 4


def test_three_devices_at_once() -> None:
    """Three lines of the same numbers, joined two by two in any order, come out the same."""
    lines = [CAPS, BOTTLES, said.OrderLine(5, "Lantern sleeve", "", "red", 1, 0)]
    devices = [told(COMMON, writer, line) for writer, line in zip("abc", lines, strict=True)]
    devices[2] = told([*in_order(*devices[1:])], "c", said.PieceGiven(8, "the warden"))
    states = {fold_order(in_order(*some)) for some in permutations(devices)}
    (state,) = states
    taken = [number for line in state.lines for number in line.numbers]
    assert sorted(taken) == list(range(1, 11))
    # What the third saw as 8 was the moved one of the two lines that it knew.
    two = fold_order(devices[2])
    seen = two.line_of(8)
    assert seen is not None
    now = next(line for line in state.lines if line.item == seen.item)
    assert state.piece(now.first + 8 - seen.first).knitter == "the warden"


def test_a_line_changed_on_both_devices_stays_one_line() -> None:
    """Saying a line again, also at once on two devices, moves nothing."""
    one = told(COMMON, "a", said.OrderLine(1, "Mug sleeve", "", "grey", 6, 0))
    other = told(COMMON, "b", said.OrderLine(1, "Mug sleeve", "", "grey", 5, 0))
    state = fold_order([*one, *other])
    assert len(state.lines) == 1
    assert state.moved == ()


def test_a_piece_that_is_begun_twice_is_asked_about() -> None:
    """Two who begin the same number are shown until somebody who knows of both says something."""
    begun = said.StageReached(2, Stage.BEGUN)
    one, other = told(COMMON, "a", begun), told(COMMON, "b", begun)
    both = [*in_order(one, other)]
    assert fold_order(both).twice == (2,)
    assert fold_order(one).twice == ()
    assert fold_order(told(one, "b", begun)).twice == ()
    assert fold_order(told(both, "a", begun)).twice == ()
    tied = [told(COMMON, who, said.PieceTied(3, piece)) for who, piece in ("ax", "by", "cy")]
    assert fold_order(in_order(*tied)).twice == (3,)
    assert fold_order(in_order(*tied[1:])).twice == ()


def test_moved_says_what_was_told_and_what_is() -> None:
    """The value names both first numbers."""
    one, other = told(COMMON, "a", CAPS), told(COMMON, "b", BOTTLES)
    (moved,) = fold_order([*one, *other]).moved
    assert moved in {Moved(5, 7), Moved(5, 8)}
