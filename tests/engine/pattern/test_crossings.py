"""Crossings by their names: which stitches wait, where, and what is purled."""

from __future__ import annotations

import pytest

from engine.pattern.crossings import Crossing, crossing_of
from engine.pattern.stitches import cable_width

# Each as its usual abbreviation list explains it, worked out by hand (common practice, no source):
# "2/1 LPC: slip 2 to cable needle and hold in front, p1, k2 from cable needle", and so on.
KNOWN = {
    "c4f": Crossing(2, 2, front=True),
    "c6b": Crossing(3, 3, front=False),
    "c4 left": Crossing(2, 2, front=True),
    "2/2 lc": Crossing(2, 2, front=True),
    "1/3 rc": Crossing(3, 1, front=False),
    "2/1 lpc": Crossing(2, 1, front=True, purl=True),
    "2/1 rpc": Crossing(1, 2, front=False, purl=True),
    "2/1/2 rpc": Crossing(2, 2, front=False, middle=1, purl=True),
    "t3f": Crossing(2, 1, front=True, purl=True),
    "t3b": Crossing(1, 2, front=False, purl=True),
    "t4b": Crossing(2, 2, front=False, purl=True),
    "rt": Crossing(1, 1, front=False),
    "lt": Crossing(1, 1, front=True),
}


@pytest.mark.parametrize("name", KNOWN)
def test_a_name_says_what_waits_and_where(name: str) -> None:
    """Every usual name gives the stitches that wait, on which side, and those that are purled."""
    assert crossing_of(name) == KNOWN[name]
    assert KNOWN[name].width == cable_width(name)


@pytest.mark.parametrize("name", ["tw2", "k2tog", "3/3 t", "c1f", ""])
def test_a_name_that_does_not_say_is_not_guessed(name: str) -> None:
    """What leaves the direction open has no crossing."""
    assert crossing_of(name) is None


def test_what_lies_in_front_is_knit() -> None:
    """Of a purl cross the strand behind is purled, or the stitch between the two strands."""
    assert KNOWN["2/1 lpc"].purls == (True, False, False)
    assert KNOWN["2/1 rpc"].purls == (False, False, True)
    assert KNOWN["2/1/2 rpc"].purls == (False, True, False)
    assert KNOWN["c4f"].purls == (False, False, False)
