"""Inside a forecast: what a marker forgets, what unevenness adds, which rows lie ahead."""

from __future__ import annotations

import pytest

from engine.fabric import Fabric
from engine.forecast.growth import HABITS, Growth, lapse_variance
from engine.forecast.length import doubtful
from engine.forecast.outlook import Outlook
from engine.forecast.pace import RowStamp, pace
from engine.forecast.values import GaugePrior, LengthReading, PartSpan

BODY = [PartSpan("body", 1, None)]
UNWASHED = GaugePrior(28, Fabric.RESTED, part="body")


def growth(parts: list[PartSpan], rows: range, marks: tuple[int, ...] = ()) -> Growth:
    """Return what is learnt from a measurement every so many rows of 3.6 mm."""
    readings = [LengthReading(row, 0.36 * row, Fabric.ON_NEEDLE, parts[0].part) for row in rows]
    return Growth(readings, parts, [UNWASHED], marks)


def test_at_a_marker_nothing_has_been_measured_from_it() -> None:
    """The length from a marker to its own row is nothing, for certain; ten rows on it is not."""
    learnt = growth(BODY, range(10, 31, 10), marks=(30,))
    belief = learnt.learn(HABITS[-1], 30)
    constant, weights = learnt.length(30, Fabric.ON_NEEDLE, 30)
    mean, variance = belief.expect(weights)
    assert constant + mean == pytest.approx(0.0, abs=1e-9)
    assert variance == pytest.approx(0.0, abs=1e-9)
    later = learnt.learn(HABITS[-1], 40)
    constant, weights = learnt.length(40, Fabric.ON_NEEDLE, 30)
    assert constant + later.expect(weights)[0] == pytest.approx(3.6, abs=0.3)
    assert later.expect(weights)[1] > 0


def test_unevenness_of_the_rows_to_come_is_added() -> None:
    """Beyond what is not known of the gauge, every row to come may be a little off."""
    outlook = Outlook(growth(BODY, range(10, 60, 10)), 50, Fabric.ON_NEEDLE)
    for view in outlook.views:
        (run,) = view.runs
        for rows in (0, 1, 40):
            known = run.variance + rows * (2 * run.cross + rows * run.slope_variance)
            uneven = run.height**2 * lapse_variance(view.habits, rows)
            assert view.moments(rows)[1] ** 2 == pytest.approx(known + uneven)
            assert (uneven > 0) is (rows > 0)


def test_rows_ahead_are_those_of_their_own_part() -> None:
    """Ten rows of the body are still to come before the rib, whose rows are shorter."""
    parts = [PartSpan("body", 1, 60), PartSpan("rib", 61, None)]
    outlook = Outlook(growth(parts, range(10, 60, 10)), 50, Fabric.ON_NEEDLE)

    def a_row(first: int, last: int) -> float:
        return (outlook.moments(last)[0] - outlook.moments(first)[0]) / (last - first)

    assert a_row(0, 5) == pytest.approx(a_row(5, 10))
    assert a_row(0, 10) == pytest.approx(0.36, rel=0.03)
    assert a_row(20, 40) < 0.97 * a_row(0, 10)


def test_a_centimetre_is_never_asked_about() -> None:
    """However well a piece is known, two honest rulers may differ by a centimetre."""
    known = [LengthReading(row, 0.36 * row, Fabric.ON_NEEDLE, "body") for row in range(5, 100, 5)]
    for off, doubted in ((0.99, False), (-0.99, False), (4.0, True), (-4.0, True)):
        new = LengthReading(100, 36.0 + off, Fabric.ON_NEEDLE, "body")
        assert (doubtful(known, new, UNWASHED, BODY) is not None) is doubted


def test_the_same_row_told_twice_is_no_row() -> None:
    """A row that was taken back and told again gives no time of its own, and no error."""
    stamps = [RowStamp(row, 60.0 * row) for row in (1, 2, 3, 4)]
    found = pace([*stamps, RowStamp(4, 250.0), RowStamp(5, 310.0)])
    assert found is not None
    assert found.seconds_per_row == pytest.approx(60)
    assert found.rows == 4


def test_the_clock_of_another_start_is_no_gap() -> None:
    """A later start whose clock happens to fit on gives no time between its rows and these."""
    one = [RowStamp(row, 60.0 * row, "a") for row in (1, 2, 3)]
    other = [RowStamp(row, 60.0 * row, "b") for row in (4, 5)]
    found = pace([*one, *other])
    assert found is not None
    assert found.rows == 3
