"""An order: what its history folds into, what is doubted, next, to come, and its yarn."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from engine import order_events as said
from engine.batch.order import OrderState, fold_order
from engine.batch.progress import (
    StageDoubt,
    drying,
    next_to_start,
    progress,
    stage_doubt,
)
from engine.batch.readiness import Timing, readiness
from engine.batch.wool import wool_needs
from engine.events import Undone
from engine.quantities import centimetres, grams
from engine.stages import Stage
from tests.made_up import record

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.events import Event
    from engine.records import Record

ORDER = "0" * 32
MUGS = said.OrderLine(1, "Mug sleeve", "", "grey", 4, 1)
CAPS = said.OrderLine(6, "Crew cap", "M", "blue", 2, 0)


def history(*happened: Event, walls: Sequence[str] = ()) -> list[Record]:
    """Return the records of an order to which these things happened, one after another."""
    records: list[Record] = []
    for place, event in enumerate(
        (said.OrderBegun("The hut", "2026-03-01"), MUGS, CAPS, *happened)
    ):
        wall = walls[place - 3] if 0 <= place - 3 < len(walls) else "2026-01-10T18:00:00Z"
        records.append(record(event, records[-1:], piece=ORDER, wall=wall))
    return records


def order(*happened: Event, walls: Sequence[str] = ()) -> OrderState:
    """Return the state of that order."""
    return fold_order(history(*happened, walls=walls))


def packed(*numbers: int) -> list[Event]:
    """Return that pieces are packed."""
    return [said.StageReached(number, Stage.PACKED) for number in numbers]


def test_an_order_counts_its_pieces_by_stage() -> None:
    """Each piece is just at one stage; the counts of a line are those of all its numbers."""
    state = order(
        said.StageReached(1, Stage.KNITTED), said.StageReached(2, Stage.BEGUN), *packed(6)
    )
    mugs, caps = progress(state)
    assert (state.count, state.next_number) == (6, 8)
    assert (mugs.knitted, mugs.packed, mugs.at[None], mugs.at[Stage.BEGUN]) == (1, 0, 3, 1)
    assert (caps.knitted, caps.packed) == (1, 1)
    assert all(sum(one.at.values()) == len(one.line.numbers) for one in (mugs, caps))


def test_a_rejected_piece_begins_anew_under_its_number() -> None:
    """Stage and measurements are gone, who knits it stays, and why it did not do is kept."""
    check = said.PieceChecked(1, 22, centimetres(9), None, None, 55)
    state = order(
        said.PieceGiven(1, "the cook"), *packed(1), check, said.PieceRejected(1, "too long")
    )
    piece = state.piece(1)
    assert (piece.stage, piece.checked, piece.knitter) == (None, None, "the cook")
    assert piece.rejected == ("too long",)
    assert progress(state)[0].rejected == 1
    assert next_to_start(state) == piece


def test_undo_takes_back_the_last_word_but_not_the_order() -> None:
    """`undoable` names the newest group; with all of them taken back the order is left."""
    records = history(said.StageReached(1, Stage.KNITTED))
    for _ in range(3):
        state = fold_order(records)
        assert state.undoable is not None
        records.append(record(Undone(state.undoable), records, piece=ORDER))
    state = fold_order(records)
    assert state.begun
    assert state.lines == ()
    assert state.undoable is None


def test_two_devices_agree_whatever_came_first() -> None:
    """Records that did not know of each other fold into one state, in any order of arrival."""
    common = history()
    one = record(said.StageReached(1, Stage.WASHED), common, piece=ORDER)
    other = record(said.StageReached(2, Stage.KNITTED), common, piece=ORDER)
    together = fold_order([*common, one, other])
    assert together == fold_order([other, *reversed(common), one])
    assert [together.piece(n).stage for n in (1, 2)] == [Stage.WASHED, Stage.KNITTED]


def test_what_is_said_of_no_piece_is_named() -> None:
    """A number that no line has changes no count and is not lost."""
    state = order(said.StageReached(99, Stage.PACKED))
    assert state.unplaced == (99,)
    assert sum(one.packed for one in progress(state)) == 0


@pytest.mark.parametrize(
    ("at", "to", "doubt"),
    [
        (None, Stage.BEGUN, None),
        (None, Stage.KNITTED, None),
        (None, Stage.WASHED, StageDoubt.NOT_KNITTED),
        (Stage.BEGUN, Stage.KNITTED, None),
        (Stage.KNITTED, Stage.WASHED, None),
        (Stage.KNITTED, Stage.KNITTED, StageDoubt.SO_ALREADY),
        (Stage.PACKED, Stage.WASHED, StageDoubt.BACK),
        (Stage.WASHED, Stage.DRY, StageDoubt.STILL_WET),
    ],
)
def test_what_is_doubted_of_a_stage(at: Stage | None, to: Stage, doubt: StageDoubt | None) -> None:
    """Going back, skipping the knitting and drying in two hours are doubted, the usual is not."""
    state = order(*(() if at is None else [said.StageReached(1, at)]))
    assert stage_doubt(state, 1, to, "2026-01-10T20:00:00Z") is doubt
    assert stage_doubt(state, 77, to, "") is StageDoubt.NO_SUCH_PIECE


def test_what_lies_drying_is_told_by_its_hours() -> None:
    """From a day on a piece may be dry, beyond two it surely is; what is packed lies nowhere."""
    wet = [said.StageReached(number, Stage.WASHED) for number in (1, 2, 3, 4)]
    walls = [f"2026-01-{day:02}T12:00:00Z" for day in (9, 10, 11, 9)]
    state = order(*wet, *packed(4), walls=walls)
    found = drying(state, "2026-01-11T18:00:00Z")
    assert [(one.number, one.hours) for one in found] == [(1, 54.0), (2, 30.0), (3, 6.0)]
    assert [(one.ready, one.late) for one in found] == [(True, True), (True, False), (False, False)]


def test_the_kind_that_lacks_most_is_started_next() -> None:
    """Of two kinds it is the one with the larger share to begin; spares come last of all."""
    assert next_to_start(order()) == order().piece(1)
    half = order(*packed(1, 2, 3))
    assert next_to_start(half) == half.piece(6)
    only_spare = order(*packed(1, 2, 3, 4, 6, 7))
    assert next_to_start(only_spare) == only_spare.piece(5)
    assert next_to_start(order(*packed(1, 2, 3, 4, 5, 6, 7))) is None


# --- what is to come ------------------------------------------------------------------------------

KNITTED = [
    event
    for number in (1, 2, 3)
    for event in (said.PieceGiven(number, "the cook"), said.StageReached(number, Stage.MEASURED))
]
PLAN = said.LineWanted(1, "", 22, 50, None, None, grams(12))
CAP_PLAN = said.LineWanted(6, "", 60, 96, None, None, grams(55))
TIMED = Timing({1: 50.0, 2: 55.0, 3: 60.0}, {}, 21.0, 30.0)


def test_hours_and_day_of_an_order_by_hand() -> None:
    """Two mugs of 55 minutes and two caps of as many minutes a stitch are about 11.4 hours."""
    state = order(*KNITTED, PLAN, CAP_PLAN)
    found = readiness(state, TIMED)
    by_hand = (2 * 55 + 2 * 55 * 60 * 96 / (22 * 50)) / 60
    assert found.hours is not None
    assert found.hours.low < by_hand < found.hours.high
    assert found.hours.best == pytest.approx(by_hand, rel=0.15)
    # 2.75 hours in three weeks: that pace takes more than 12 weeks.
    assert found.days is not None
    assert found.days.best == pytest.approx(by_hand / (2.75 / 21), rel=0.3)
    assert found.chance is not None
    assert found.chance < 0.05
    assert found == readiness(state, TIMED), "the same order gives the same answer"


def test_what_is_not_known_is_not_told() -> None:
    """Caps that nobody timed or planned have no hours; a knitter of unknown hours has no day."""
    assert readiness(order(*KNITTED, PLAN), TIMED).unknown_lines == ("Crew cap, M, blue",)
    early = replace(TIMED, days=3.0)
    given = order(*KNITTED, PLAN, CAP_PLAN, said.PieceGiven(4, "the cook"))
    found = readiness(given, early)
    assert found.unknown_hours == ("the cook",)
    assert found.days is None
    assert found.hours is not None
    told = order(*KNITTED, PLAN, CAP_PLAN, said.HoursAWeek("the cook", Fraction(6)))
    known = readiness(told, early)
    assert known.days is not None
    assert known.days.low < 7 * 11.4 / 6 + 3 < known.days.high


def test_an_order_that_is_packed_needs_nothing_more() -> None:
    """No hours and no days are left when all is packed."""
    done = readiness(order(*packed(*range(1, 8)), said.HoursAWeek("the cook", Fraction(6))), TIMED)
    assert done.hours is not None
    assert done.days is not None
    assert (done.hours.high, done.days.high) == (0, 0)


def test_yarn_in_whole_balls_of_one_lot() -> None:
    """Five mugs of 12 g take some 62 g: a ball of 100 g does, two of 50 g of two lots do not."""
    ball, half = grams(100), grams(50)
    one = order(PLAN, CAP_PLAN, said.YarnStocked("grey", "4107", 1, ball))
    grey, blue = wool_needs(one, {})
    assert grey.chance is not None
    assert grey.chance > 0.98
    assert (grey.balls, grey.lot, grey.there) == (1, "4107", 1)
    assert grey.grams is not None
    assert grey.grams[0] < 5 * 12 * 1.03 < grey.grams[1]
    assert (blue.chance, blue.balls) == (None, None)
    lots = [said.YarnStocked("grey", lot, 1, half) for lot in ("4107", "4108")]
    grey, _ = wool_needs(order(PLAN, CAP_PLAN, *lots), {})
    assert grey.chance is not None
    assert grey.chance < 0.05, "balls of two lots are not added up"
    assert (grey.balls, grey.lots) == (2, 2)


def test_weighed_pieces_go_before_the_plan() -> None:
    """Pieces that weigh 15 g where 12 g were planned make all of it heavier."""
    weights = {1: 15.1, 2: 14.9, 3: 15.0}
    state = order(*KNITTED, PLAN, CAP_PLAN, said.YarnStocked("grey", "4107", 1, grams(100)))
    grey, _ = wool_needs(state, weights)
    assert grey.grams is not None
    assert grey.grams[0] > 74
    unknown, _ = wool_needs(order(CAP_PLAN), {})
    assert unknown.unknown == ("Mug sleeve, grey",)
    assert unknown.chance is None
