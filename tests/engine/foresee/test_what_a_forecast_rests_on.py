"""Inside a forecast: what a marker forgets, what tape, hand and hem do, which rows lie ahead."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.fabric import Fabric
from engine.forecast.evidence import Evidence, invert
from engine.forecast.growth import Growth
from engine.forecast.length import doubtful, rows_left
from engine.forecast.outlook import Outlook, yet_to_come
from engine.forecast.pace import RowStamp, pace
from engine.forecast.values import GaugePrior, LengthReading, PartSpan, RowsLeft

BODY = [PartSpan("body", 1, None)]
UNWASHED = GaugePrior(28, Fabric.RESTED, part="body")
NEEDLE = Fabric.ON_NEEDLE


def evidence(parts: list[PartSpan], rows: range) -> Evidence:
    """Return what is learnt from a measurement every so many rows of 3.6 mm."""
    readings = [LengthReading(row, 0.36 * row, NEEDLE, parts[0].part) for row in rows]
    return Evidence(Growth(readings, parts, [UNWASHED]))


def width(readings: list[LengthReading], row_now: int, target: float) -> int:
    """Return how many rows wide the interval is."""
    found = rows_left(readings, BODY, row_now, target, UNWASHED)
    assert isinstance(found, RowsLeft)
    return found.high - found.low


def test_at_a_marker_nothing_has_been_measured_from_it() -> None:
    """The length from a marker to its own row is nothing, for certain; ten rows on it is not."""
    seen = evidence(BODY, range(10, 31, 10))
    mean, deviation = Outlook(seen, 30, NEEDLE, 30).moments(0)
    assert mean == pytest.approx(0.0, abs=1e-9)
    assert deviation == pytest.approx(0.0, abs=1e-4)
    mean, deviation = Outlook(seen, 40, NEEDLE, 30).moments(0)
    assert mean == pytest.approx(3.6, abs=0.3)
    assert deviation > 0.01


def test_unevenness_of_the_rows_to_come_is_added() -> None:
    """Beyond what is not known of the gauge, every row to come may be a little off."""
    outlook = Outlook(evidence(BODY, range(10, 60, 10)), 50, NEEDLE)
    for view in outlook.views:
        (run,) = view.runs
        zero, one, two = run.variances
        for rows in (0, 1, 40):
            known = zero + rows * one + rows**2 * two
            uneven = run.row_cm**2 * yet_to_come(view.hand, rows)
            assert view.moments(rows)[1] ** 2 == pytest.approx(known + uneven)
            assert (uneven > 0) is (rows > 0)


def test_the_chance_is_that_of_the_views() -> None:
    """The written-out loop over all guesses gives what their means and deviations give."""
    parts = [PartSpan("body", 1, 60), PartSpan("rib", 61, None)]
    outlook = Outlook(evidence(parts, range(10, 60, 10)), 50, NEEDLE)
    assert sum(view.weight for view in outlook.views) == pytest.approx(1.0)
    for rows in (0, 7, 10, 40):
        chance = sum(
            view.weight * NormalDist(*view.moments(rows)).cdf(-20.0 + 2 * view.moments(rows)[0])
            for view in outlook.views
        )
        # By symmetry: P(length > t) is P(length < 2 mean - t).
        mirrored = outlook.chance_reached(20.0, rows)
        assert mirrored == pytest.approx(chance)


def test_a_conditional_is_that_of_linear_algebra() -> None:
    """Mean and variance of a length to come agree with numpy's solution for one likeliest guess,
    and surprise upon surprise is the rank-one change of the same matrix.
    """
    seen = evidence(BODY, range(10, 60, 10))
    (variance, *_), _, _ = seen.ahead([seen.growth.span(90, NEEDLE)])
    guess, growth = seen.likeliest, seen.growth
    spans = [*seen.spans, growth.span(90, NEEDLE)]
    weights = np.array([span.weights for span in spans])
    ends = np.array([span.end for span in spans])
    low, high = np.minimum.outer(ends, ends), np.maximum.outer(ends, ends)
    lapse = guess.hand.uneven**2 * low + guess.hand.walk**2 * low**2 * (3 * high - low) / 6
    joint = weights @ np.array(growth.known.covariance) @ weights.T + growth.row_cm**2 * lapse
    cm = np.array([reading.cm for reading in growth.readings])
    noisy = joint[:-1, :-1] + np.diag(guess.tape.error_cm**2 + (0.006 * cm) ** 2)
    assert np.array(guess.inverse) == pytest.approx(np.linalg.inv(noisy), rel=1e-6)
    gain = np.linalg.solve(noisy, joint[:-1, -1])
    assert variance == pytest.approx(joint[-1, -1] - joint[:-1, -1] @ gain, rel=1e-6)


@given(st.lists(st.lists(st.floats(-3, 3), min_size=4, max_size=4), min_size=4, max_size=4))
def test_a_covariance_matrix_is_inverted(rows: list[list[float]]) -> None:
    """Inverse and log determinant of a positive definite matrix agree with numpy's."""
    made = np.array(rows)
    wanted = made @ made.T + 0.1 * np.eye(4)
    matrix = wanted.tolist()
    assert invert(matrix) == pytest.approx(np.linalg.slogdet(wanted)[1], abs=1e-8)
    assert np.array(matrix) @ wanted == pytest.approx(np.eye(4), abs=1e-8)


def test_a_bad_tape_is_learnt_from_its_readings() -> None:
    """Readings that scatter by a centimetre widen the interval, though as many say as much."""
    rows = (20, 30, 40, 50, 60)
    good = [LengthReading(row, 0.36 * row, NEEDLE, "body") for row in rows]
    off = (0.9, -1.0, 1.1, -1.0, 0.2)
    bad = [
        LengthReading(row, 0.36 * row + by, NEEDLE, "body")
        for row, by in zip(rows, off, strict=True)
    ]
    assert width(bad, 60, 40) > 1.3 * width(good, 60, 40)


def test_one_reading_far_off_does_not_move_the_rest() -> None:
    """One slip of three centimetres among six readings moves the middle by a row and no more."""
    rows = range(20, 80, 10)
    good = [LengthReading(row, 0.36 * row, NEEDLE, "body") for row in rows]
    slipped = [LengthReading(one.row, one.cm + 3 * (one.row == 50), NEEDLE, "body") for one in good]
    found = [rows_left(known, BODY, 70, 40, UNWASHED) for known in (good, slipped)]
    straight, bent = found
    assert isinstance(straight, RowsLeft)
    assert isinstance(bent, RowsLeft)
    assert bent.best == pytest.approx(straight.best, abs=1)


def test_a_change_nobody_announced_widens_and_then_moves() -> None:
    """From row 60 on the rows are 8 % taller and nobody says so: at first the interval is wider
    than with an even hand, and with four readings on the new side the middle of it is nearer to
    the 100 rows that are really left than length over rows is, and so is its soonest end.
    """

    def cm(row: int) -> float:
        return 0.36 * (row + 0.08 * max(0, row - 60))

    def after(*rows: int) -> RowsLeft:
        readings = [LengthReading(row, cm(row), Fabric.RESTED, "body") for row in rows]
        target = cm(rows[-1]) + 100 * 0.36 * 1.08
        found = rows_left(readings, BODY, rows[-1], target, UNWASHED)
        assert isinstance(found, RowsLeft)
        return found

    even = [LengthReading(row, 0.36 * row, Fabric.RESTED, "body") for row in (20, 40, 60, 80, 100)]
    first, later = after(20, 40, 60, 80, 100), after(20, 40, 60, 80, 100, 120, 140)
    assert first.high - first.low > 1.5 * width(even, 100, 72)
    by_ruler = 100 * 0.36 * 1.08 / (cm(140) / 140)
    assert later.low <= 100 <= later.high
    assert abs(later.best - 100) < abs(by_ruler - 100)
    assert abs(later.best - 100) < abs(first.best - 100)


def test_a_hem_is_not_taken_for_a_loose_hand() -> None:
    """A hem of 1.5 cm under rows as the swatch has them is put aside as a hem: the rows to come are
    as high as the swatch's and not as length over rows has it.
    """
    known = [LengthReading(row, 0.357 * row + 1.5, NEEDLE, "body") for row in (10, 20, 30, 40)]
    found = rows_left(known, BODY, 40, 60, UNWASHED)
    assert isinstance(found, RowsLeft)
    truth = (60 - known[-1].cm) / 0.357
    by_ruler = (60 - known[-1].cm) / (known[-1].cm / 40)
    assert found.low <= truth <= found.high
    assert abs(found.best - truth) < 0.5 * abs(found.best - by_ruler)


def test_rows_ahead_are_those_of_their_own_part() -> None:
    """Ten rows of the body are still to come before the rib, whose rows are shorter."""
    parts = [PartSpan("body", 1, 60), PartSpan("rib", 61, None)]
    outlook = Outlook(evidence(parts, range(10, 60, 10)), 50, NEEDLE)

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
