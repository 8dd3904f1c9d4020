"""The chart beside the knitting: the marked row is the one that is worked."""

from __future__ import annotations

import pytest

from app.printing.chart_now import chart_now, charts_for
from app.printing.data import print_data
from engine.facts.stated_gauge import read_stated_gauge
from tests.app.at_the_needle import Needle


def band_of(needle: Needle) -> tuple[float, float] | None:
    """Return where the row that is worked is marked."""
    now = needle.situation()
    charts = charts_for(now.course, read_stated_gauge(now.course.gauge))
    place = now.course.where(now.state.loops_ended, now.state.working)
    found = chart_now(charts, place, print_data().signs, left_handed=False)
    return found.band if found is not None else None


@pytest.mark.parametrize("longer", [0, 5, -7])
def test_the_round_is_marked_however_long_the_body_became(longer: int) -> None:
    """The gauge gives 39 rounds to the crown; she knits as many as she likes."""
    needle = Needle("crew-cap", "M").say("12 rounds done", "this part is done")
    needle.say(f"{30 + longer} rounds done", "this part is done")
    for number in range(1, 5):
        band = band_of(needle)
        # 21 rounds of 5 mm, counted from the foot.
        assert band == ((21 - number) * 5.0 + 1, (21 - number) * 5.0 + 6)
        needle.say("round done")


def test_repeated_rows_are_marked_by_their_own_numbers() -> None:
    """Row 38 of the bottle sleeve is row 2 of its part, the upper of two squares."""
    needle = Needle("bottle-sleeve").say("37 rows done")
    assert band_of(needle) == (1.0, 6.0)
    assert band_of(needle.say("row done")) == (6.0, 11.0)
