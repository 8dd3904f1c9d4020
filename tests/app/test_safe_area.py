"""Which edges of a screen are kept free: bars, cut-outs and corners, and nothing twice."""

from __future__ import annotations

from math import hypot

import pytest

from app.display.safe_area import Edges, Surroundings, kept_free

WHOLE = Edges(0, 0, 1080, 2340)


def test_where_the_system_tells_nothing_all_of_the_screen_is_used() -> None:
    """A desktop, and an old device, keep nothing free."""
    assert kept_free(Surroundings()) == Edges()


def test_what_the_system_keeps_free_itself_is_not_kept_free_again() -> None:
    """Our part begins below its bar: only what reaches further down counts."""
    below = Surroundings((1080, 2340), Edges(0, 63, 1080, 2214), Edges(0, 63, 0, 126))
    assert kept_free(below) == Edges()
    assert kept_free(below._replace(content=WHOLE)) == Edges(0, 63, 0, 126)


def test_a_cut_out_beside_a_phone_on_its_side() -> None:
    """The camera lies on the left, then on the right, as the phone is turned."""
    side = Surroundings((2340, 1080), Edges(0, 0, 2340, 1080), Edges(90, 0, 0, 0))
    assert kept_free(side) == Edges(90, 0, 0, 0)
    assert kept_free(side._replace(covered=Edges(0, 0, 90, 0))) == Edges(0, 0, 90, 0)


@pytest.mark.parametrize("covered", [Edges(), Edges(0, 40, 0, 0), Edges(0, 0, 0, 200)])
def test_the_corners_of_what_is_left_are_seen(covered: Edges) -> None:
    """A screen with round corners shows all four corners of what is left, with little given up."""
    radius = 100.0
    round_ = Surroundings((1080, 2340), WHOLE, covered, (radius,) * 4)
    left, top, right, bottom = kept_free(round_)
    for x, y in ((left, top), (right, top), (left, bottom), (right, bottom)):
        outside = x < radius and y < radius and hypot(radius - x, radius - y) > radius + 1e-6
        assert not outside, (x, y)
    assert max(left, right) <= 0.3 * radius
