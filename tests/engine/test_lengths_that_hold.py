"""Which of the lengths that were told still hold, when rows are ripped back and knitted again."""

from __future__ import annotations

from engine import events
from engine.facts.distance import reached, readings, target
from tests.engine.at_the_swatch import Work, sleeve


def test_a_length_of_ripped_rows_does_not_hold_when_they_are_knitted_again() -> None:
    """What was read at row 60 was read on fabric that is gone; the one below it still holds."""
    work = Work(sleeve()).knits(4).knits(30).measures("11").knits(60).measures("25")
    assert [one.row for one in readings(work.state, work.course)] == [30, 60]
    work.happens(events.RippedBack(40, lifeline=False))
    again = work.knits(80)
    assert [one.row for one in readings(again.state, again.course)] == [30]


def test_a_part_is_not_long_enough_by_rows_that_are_gone() -> None:
    """38 cm at row 112, ripped back and knitted up to there again, has to be measured again."""
    work = Work(sleeve()).knits(4).knits(112).measures("38")
    wanted = target(work.state, work.course)
    assert wanted is not None
    assert reached(work.state, wanted)
    work.happens(events.RippedBack(100, lifeline=False)).knits(112)
    assert not reached(work.state, wanted)
