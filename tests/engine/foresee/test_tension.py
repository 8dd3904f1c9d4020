"""Whether the hand has changed: heard in time, and not from every wobble."""

from __future__ import annotations

import statistics

import pytest

from bench.forecast_bench import alarms
from bench.simulated_knitters import simulate_tension
from engine.fabric import Fabric
from engine.forecast.tension import (
    Cause,
    Hand,
    SwatchGauge,
    TensionLook,
    WidthSeen,
    combine,
    curve,
    finished_size,
    looks,
    row_look,
    tension,
    width_look,
)
from engine.forecast.values import LengthReading

SWATCH = [SwatchGauge(Fabric.RESTED, 28, 20)]


def strip(heights: list[float], every: int = 14) -> list[TensionLook]:
    """Return looks every `every` rows whose rows are so much taller (1: as the swatch)."""
    found: list[TensionLook] = []
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
        WidthSeen(28, 23.0, Fabric.RESTED, 50),
        WidthSeen(28, 23.0, Fabric.WASHED, 50),
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


def test_a_change_is_told_with_how_sure_it_is() -> None:
    """The more looks have seen it the surer; an even hand leaves the chance small."""
    chances = []
    for looks_after in (2, 3, 4):
        found = tension(strip([1.0, 1.0, 1.0, *[0.94] * looks_after]))
        assert found is not None
        chances.append(found.chance)
    assert 0.5 < chances[0] <= chances[1] <= chances[2] <= 1
    even = tension(strip([1.0, 1.01, 0.99, 1.0]))
    assert even is not None
    assert even.chance < 0.2


def test_a_hand_that_is_off_all_along_is_no_change() -> None:
    """Three per cent looser than its swatch from the first row on nobody hears of."""
    for height in (0.97, 1.03):
        found = tension(strip([height, height + 0.005, height - 0.005] * 4))
        assert found is not None
        assert not found.worth_a_word


def test_simulated_hands() -> None:
    """Eight per cent is charted in 20 rows and said in 30; an even hand hardly ever hears a word.

    The bar for honest hands is one word in 1,500 rows; here they knit 7,800 rows.
    """
    said = charted = false = 0
    words = []
    for seed in range(800_000, 800_030):
        chart, word = alarms(simulate_tension(seed, rows=260, drift=-0.08, drift_from_row=60))
        charted += chart is not None and chart <= 80
        said += word is not None and word > 60
        words.append(word or 999)
        even = alarms(simulate_tension(seed, rows=260, drift=0.0, drift_from_row=None))
        false += even[1] is not None
    assert charted >= 29
    assert said >= 28
    assert statistics.median(words) <= 90
    assert false <= 1


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
