"""What is known when a piece is begun, and needles and balls along the way: how it folds."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from engine import events
from engine.fabric import Fabric
from engine.history import fold
from engine.quantities import centimetres, grams
from engine.state import NeedleChange, PieceState
from tests.made_up import record

if TYPE_CHECKING:
    from engine.records import Record


def after(*happened: events.Event) -> PieceState:
    """Return the state after some events, one after the other."""
    records: list[Record] = []
    for event in happened:
        records.append(record(event, records[-1:]))
    return fold(records)


BEGUN = events.PieceBegun("sleeve", "hut", None, None, 50, None, 0)
NAMED = events.PartnerNamed("e" * 32, "first sleeve", 50, finished=True, mirrored=True)


def test_swatch_counts_and_weights_are_kept_as_said() -> None:
    """Washed and unwashed counts and the weight stand in the state, in the order they came."""
    washed = events.SwatchCounted(
        Fraction(20), centimetres(10), Fraction(26), centimetres(10), Fabric.WASHED, "4.5 mm"
    )
    rested = events.SwatchCounted(
        None, None, Fraction(28), centimetres(10), Fabric.RESTED, "4.5 mm"
    )
    state = after(BEGUN, washed, rested, events.SwatchWeighed(grams(7), 30, 40, "4.5 mm"))
    assert [count.fabric for count in state.swatch_counts] == [Fabric.WASHED, Fabric.RESTED]
    assert state.swatch_counts[1].rows == 28
    assert (state.swatch_weights[0].stitches, state.swatch_weights[0].rows) == (30, 40)


def test_a_partner_is_kept_with_its_parts_and_readings() -> None:
    """What follows the naming of a partner belongs to it."""
    state = after(
        BEGUN,
        NAMED,
        events.PartnerPartKnitted("body", 42, 46, ended=True),
        events.PartnerMeasured(46, centimetres(16), Fabric.ON_NEEDLE),
    )
    assert state.partner is not None
    assert state.partner.mirrored
    assert [part.rows for part in state.partner.parts] == [42]
    assert state.partner.readings[0].length == centimetres(16)


def test_a_later_partner_takes_the_place_of_an_earlier_one() -> None:
    """Naming a partner again forgets the parts of the one before."""
    other = events.PartnerNamed("d" * 32, "other", 30, finished=False, mirrored=False)
    state = after(BEGUN, NAMED, events.PartnerPartKnitted("body", 42, 46, ended=True), other)
    assert state.partner is not None
    assert (state.partner.name, state.partner.parts) == ("other", ())


def test_a_part_without_its_partner_changes_nothing() -> None:
    """Folding is total: half of a history that was merged in still folds."""
    state = after(BEGUN, events.PartnerPartKnitted("body", 42, 46, ended=True))
    assert state.partner is None


def test_the_needle_in_the_hands_stays_there_after_ripping_back() -> None:
    """Rows ripped back past a change of needle are knitted again on the new needle."""
    state = after(
        BEGUN,
        events.RowsWorked("body", 1, 40),
        events.NeedleChanged(21, "4 mm"),
        events.NeedleChanged(41, "5 mm"),
        events.RippedBack(10, lifeline=False),
    )
    assert state.needles == (NeedleChange(11, "5 mm"),)
    kept = after(
        BEGUN,
        events.RowsWorked("body", 1, 40),
        events.NeedleChanged(21, "4 mm"),
        events.RippedBack(30, lifeline=False),
    )
    assert kept.needles == (NeedleChange(21, "4 mm"),)


def test_a_ball_knows_its_lot_row_and_stitch() -> None:
    """Balls of both kinds of record stand in one list; ripping back sets a join aside."""
    state = after(
        BEGUN,
        events.YarnJoined(0, None, "4711"),
        events.BallJoined(21, "4712"),
        events.RowsWorked("body", 1, 40),
        events.YarnJoined(41, 23, "4711"),
        events.RippedBack(39, lifeline=False),
    )
    assert [(ball.row, ball.after, ball.lot) for ball in state.balls] == [
        (0, None, "4711"),
        (21, None, "4712"),
        (41, 23, "4711"),
    ]
    assert [ball.aside for ball in state.balls] == [False, False, True]
