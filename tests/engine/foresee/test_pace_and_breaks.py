"""Knitting hours from a pace that ignores pauses, and reminders of a rest."""

from __future__ import annotations

import math
import random
from itertools import accumulate

import pytest

from engine.forecast.breaks import BreakDue, BreakSettings, break_due
from engine.forecast.pace import RowStamp, hours_left, pace, usual_row
from engine.forecast.values import RowsLeft


def rows(times: list[float], first_row: int = 1, writer: str = "a") -> list[RowStamp]:
    """Return one stamp per row at the given seconds."""
    return [RowStamp(first_row + n, time, writer) for n, time in enumerate(times)]


def test_the_pace_is_that_of_the_rows() -> None:
    """Rows of a minute have a pace of a minute."""
    found = pace(rows([60.0 * n for n in range(20)]))
    assert found is not None
    assert found.seconds_per_row == pytest.approx(60)
    assert found.rows == 19


def test_pauses_do_not_move_it() -> None:
    """A meal, a night and a row told late leave the pace where it was."""
    times, now = [], 0.0
    for row in range(30):
        now += {10: 3600.0, 20: 8 * 3600.0, 25: 240.0}.get(row, 60.0 + row % 3)
        times.append(now)
    found = pace(rows(times))
    assert found is not None
    assert found.seconds_per_row == pytest.approx(61, abs=1)


def test_rows_told_together_share_their_time() -> None:
    """Three rows told after three minutes are a minute a row."""
    found = pace([RowStamp(1, 0), RowStamp(4, 180), RowStamp(5, 240)])
    assert found is not None
    assert found.seconds_per_row == pytest.approx(60)


def test_writers_are_never_compared() -> None:
    """Monotonic clocks of two process starts say nothing to each other; ripping back is no pace."""
    one, other = rows([0, 60, 120, 180]), rows([90_000, 90_060], 5, "b")
    found = pace([*one, *other])
    assert found is not None
    assert found.seconds_per_row == pytest.approx(60)
    assert found.rows == 4
    back = pace([RowStamp(9, 0), RowStamp(4, 500), RowStamp(5, 560), RowStamp(6, 620),
                 RowStamp(7, 680)])  # fmt: skip
    assert back is not None
    assert back.rows == 3


def test_too_few_rows_have_no_pace() -> None:
    """Before three rows have been timed there is no pace."""
    assert pace(rows([0, 60, 120])) is None
    assert pace([]) is None


def test_hours_left() -> None:
    """18 to 21 rows at two minutes are 36 to 42 minutes, and the doubt of the pace on top."""
    speed = pace(rows([120.0 * n for n in range(30)]))
    assert speed is not None
    found = hours_left(RowsLeft(18, 21, 19, 0.9, None), speed)
    assert found.best == pytest.approx(19 * 120 / 3600)
    assert found.low <= 18 * 120 / 3600
    assert found.high >= 21 * 120 / 3600
    assert found.high < 0.75


def test_a_break_is_due_by_time_of_knitting() -> None:
    """After half an hour without a rest, not before, and not after a pause in between."""
    settings = BreakSettings()
    stamps = rows([60.0 * n for n in range(40)])
    assert break_due(stamps[:20], 1140, settings) is None
    assert break_due(stamps, 2340, settings) == BreakDue(40)
    rested = rows([60.0 * n for n in range(20)]) + rows([1500.0 + 60 * n for n in range(20)], 21)
    assert break_due(rested, 2640, settings) is None


def test_a_break_can_be_put_off_and_switched_off() -> None:
    """A reminder comes again a whole interval later, or never."""
    stamps = rows([60.0 * n for n in range(40)])
    assert break_due(stamps, 2340, BreakSettings(), put_off_at_seconds=1900) is None
    assert break_due(stamps, 2340, BreakSettings(on=False)) is None
    assert break_due(stamps, 2340, BreakSettings(every_minutes=60)) is None
    assert break_due([], 2340, BreakSettings()) is None


def test_nobody_is_reminded_while_away() -> None:
    """Who has not finished a row for long is resting already."""
    stamps = rows([60.0 * n for n in range(40)])
    assert break_due(stamps, 2340 + 600, BreakSettings()) is None


def test_the_range_of_reminders() -> None:
    """Reminders go from 10 to 60 minutes."""
    for minutes in (9, 61):
        with pytest.raises(ValueError, match="10 to 60"):
            BreakSettings(every_minutes=minutes)


def test_three_rows_told_at_once_are_one_observation() -> None:
    """Thirty uneven rows told one by one are known better than told in ten bunches of three."""
    rng = random.Random(5)
    now, told = 0.0, [RowStamp(0, 0.0)]
    for row in range(1, 31):
        now += 60 * math.exp(rng.gauss(0, 0.2))
        told.append(RowStamp(row, now))
    single, bunched = pace(told), pace(told[::3])
    assert single is not None
    assert bunched is not None
    assert single.rows == bunched.rows == 30
    assert bunched.relative_error > single.relative_error


def test_a_row_forgotten_and_told_with_the_next_is_no_fast_row() -> None:
    """Two rows told within two seconds after a double time are two rows of the usual time."""
    stamps = rows([0, 60, 120, 240, 242, 300, 360])
    found = pace(stamps)
    assert found is not None
    assert found.seconds_per_row == pytest.approx(60, rel=0.02)
    assert found.rows == 6


def test_rows_that_follow_a_rip_take_no_time_of_it() -> None:
    """Ten rows told after five were ripped are not told in the time of five."""
    stamps = [RowStamp(row, 60.0 * row, "a", row) for row in range(1, 11)]
    found = pace([*stamps, RowStamp(15, 1500.0, "a", 6), RowStamp(16, 1560.0, "a", 16)])
    assert found is not None
    assert found.rows == 10


def test_the_pace_goes_by_the_work() -> None:
    """Rows of a shawl that take longer the wider it gets have one pace for each stitch."""
    stitches = [5 + row for row in range(60)]
    done = [0.0, *accumulate(stitches)]
    stamps = [RowStamp(row, 2.0 * done[row]) for row in range(61)]
    found = pace(stamps, lambda row: done[row] / 64)
    assert found is not None
    assert found.seconds_per_row == pytest.approx(128)
    left = hours_left(RowsLeft(40, 40, 40, 0.9, None), found, (60, 60, 60))
    assert left.low < 60 * 128 / 3600 < left.high


def test_pauses_in_bunches_do_not_make_her_slow() -> None:
    """Where every third bunch of four rows holds a pause the hours are still those of the rows."""
    now, stamps = 0.0, [RowStamp(0, 0.0)]
    for bunch in range(1, 25):
        now += 240 + (bunch % 5) + (400 if bunch % 3 == 0 else 0)
        stamps.append(RowStamp(4 * bunch, now))
    found = pace(stamps)
    assert found is not None
    left = hours_left(RowsLeft(60, 60, 60, 0.9, None), found)
    assert left.low < 60 * 60.5 / 3600 < left.high
    assert left.high < 60 * 75 / 3600
    assert usual_row(stamps) == pytest.approx(60.5, abs=1)


def test_rows_told_afterwards_have_no_pace() -> None:
    """Eighteen rows told within seconds, knitted elsewhere before, say nothing of the hand."""
    caught_up = [RowStamp(1, 0.0), RowStamp(13, 4.0), RowStamp(18, 9.0)]
    assert pace(caught_up) is None
    assert usual_row(caught_up) is None
    knitted = [RowStamp(18 + n, 9.0 + 90.0 * n) for n in range(1, 5)]
    found = pace([*caught_up, *knitted])
    assert found is not None
    assert found.seconds_per_row == pytest.approx(90)
