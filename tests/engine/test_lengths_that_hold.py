"""Which of the lengths that were told still hold, when rows are ripped back and knitted again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine import events
from engine.facts import distance as facts
from engine.facts.distance import distance, reached, readings, target
from engine.facts.part_stitch import stitch_of
from tests.engine.at_the_swatch import Work, sleeve

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pytest

    from engine.pattern import Course


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


def test_of_many_lengths_only_what_the_forecast_weighs_is_looked_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A hundred measurements cost what fourteen cost: no stitch is looked up for the others."""
    work = Work(sleeve()).knits(4)
    for row in range(8, 108):
        work.knits(row).measures(str(row * 4 // 10 + 1))
    looked: list[int] = []

    def looking(course: Course, ended: Mapping[str, int], row: int) -> str:
        looked.append(row)
        return stitch_of(course, ended, row)

    monkeypatch.setattr(facts, "stitch_of", looking)
    assert len(readings(work.state, work.course)) == len(looked) == 100
    looked.clear()
    assert len(readings(work.state, work.course, work.state.done)) == len(looked) == 14
    wanted = target(work.state, work.course)
    assert wanted is not None
    looked.clear()
    distance(work.state, work.course)
    assert len(looked) < 40
