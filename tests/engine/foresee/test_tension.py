"""Whether the hand has changed: heard in time, and not from every wobble."""

from __future__ import annotations

import pytest

from bench.forecast_bench import alarms
from bench.simulated_knitters import simulate_tension
from engine.fabric import Fabric
from engine.forecast.charts import cusum_run_length
from engine.forecast.tension import (
    Cause,
    Hand,
    Look,
    SwatchGauge,
    WidthReading,
    combine,
    curve,
    decision_value,
    finished_size,
    looks,
    row_look,
    tension,
    width_look,
)
from engine.forecast.values import LengthReading

SWATCH = [SwatchGauge(Fabric.RESTED, 28, 20)]


def strip(heights: list[float], every: int = 14) -> list[Look]:
    """Return looks every `every` rows whose rows are so much taller (1: as the swatch)."""
    found: list[Look] = []
    for place, height in enumerate(heights):
        first = place * every + 1
        row = first + every - 1
        found += combine(
            (
                row_look(first, row, every * 10 / 28 * height, 28),
                width_look(row, 25 * height, 25, 10 / 28),
            )
        )
    return found


def test_an_even_hand_is_let_be() -> None:
    """Within two per cent of the swatch nothing is said."""
    found = tension(strip([1.0, 1.02, 0.98, 1.01, 0.99, 1.0]))
    assert found is not None
    assert found.hand is Hand.EVEN
    assert not found.worth_a_word
    assert found.since_row is None


@pytest.mark.parametrize(("height", "hand"), [(0.93, Hand.TIGHTER), (1.07, Hand.LOOSER)])
def test_a_changed_hand_is_told_with_its_row(height: float, hand: Hand) -> None:
    """Seven per cent off from row 43 on is told, in the direction, from about that row."""
    found = tension(strip([1.0, 1.0, 1.0, *[height] * 5]))
    assert found is not None
    assert found.hand is hand
    assert found.worth_a_word
    assert found.since_row == 43
    assert found.deviation == pytest.approx(height - 1, abs=0.01)
    assert found.causes == (Cause.NEEDLE, Cause.YARN_FEED, Cause.REST)


def test_once_is_not_twice() -> None:
    """One look beyond 5 % after even ones is charted but not said."""
    found = tension(strip([1.0, 1.0, 1.0, 1.08]))
    assert found is not None
    assert found.hand is Hand.LOOSER
    assert not found.worth_a_word


def test_four_per_cent_is_not_worth_a_word() -> None:
    """The chart may see 4 %, nobody hears of it."""
    found = tension(strip([1.0, 1.0, *[1.04] * 6]))
    assert found is not None
    assert not found.worth_a_word


def test_nothing_to_compare() -> None:
    """Without looks there is nothing to say."""
    assert tension([]) is None


def test_looks_from_measurements() -> None:
    """Lengths in one part and state make row looks, widths make width looks, others are left."""
    lengths = [
        LengthReading(14, 5.0, Fabric.RESTED, "body"),
        LengthReading(28, 9.5, Fabric.RESTED, "body"),
        LengthReading(30, 10.2, Fabric.RESTED, "body"),
        LengthReading(42, 15.0, Fabric.ON_NEEDLE, "body"),
        LengthReading(56, 18.0, Fabric.RESTED, "rib"),
    ]
    widths = [
        WidthReading(28, 23.0, Fabric.RESTED, 50),
        WidthReading(28, 23.0, Fabric.WASHED, 50),
    ]
    found = looks(lengths, widths, SWATCH)
    assert [look.row for look in found] == [28]
    assert found[0].deviation == pytest.approx(-0.08, abs=0.02)


def test_what_it_would_measure() -> None:
    """Half done and 5 % tighter since: a planned 40 cm would be 39 if nothing changes."""
    assert finished_size(-0.05, 40, 0.5) == pytest.approx(39)
    assert finished_size(-0.05, 40, 0.5, done_cm=19.5) == pytest.approx(38.5)
    with pytest.raises(ValueError, match="share"):
        finished_size(0.1, 40, 1.5)


def test_the_chart_is_set_for_one_false_alarm_in_500_rows() -> None:
    """The decision value gives the stated run length for looks every 10 and every 25 rows."""
    for every in (10, 25):
        value = decision_value(0.015, every)
        length = cusum_run_length(0.025 / 0.015, value / 0.015)
        assert length * every == pytest.approx(500, rel=0.05)


def test_simulated_hands() -> None:
    """Eight per cent is charted within 20 rows and nearly always said, an even hand never."""
    said = charted = 0
    for seed in range(800_000, 800_030):
        chart, word = alarms(simulate_tension(seed, rows=260, drift=-0.08, drift_from_row=60))
        charted += chart is not None and chart <= 80
        said += word is not None and word > 60
        even = alarms(simulate_tension(seed, rows=260, drift=0.0, drift_from_row=None))
        assert even[1] is None
    assert charted >= 29
    assert said >= 28


def test_notes_stand_beside_the_curve() -> None:
    """A note belongs to the look at its rows, a later one to the last look."""
    points = curve(strip([1.0, 0.95]), [(3, "tight"), (20, "loose"), (99, "even")])
    assert [point.notes for point in points] == [("tight",), ("loose", "even")]
    assert curve([], [(3, "tight")]) == ()


def test_the_smoothed_curve_leaves_its_limits_with_the_hand() -> None:
    """An even hand stays between the limits, a changed one leaves them downwards when tighter."""
    even = curve(strip([1.0, 1.01, 0.99, 1.0, 1.0]))
    assert all(point.low <= point.smooth <= point.high for point in even)
    tight = curve(strip([1.0, 1.0, *[0.93] * 5]))
    assert tight[-1].smooth < tight[-1].low
