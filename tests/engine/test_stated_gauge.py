"""The gauge that a designer states in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.fabric import Fabric
from engine.facts.stated_gauge import read_stated_gauge


@pytest.mark.parametrize(
    ("text", "stitches", "rows"),
    [
        ("20 sts and 28 rows to 10 cm in stockinette, washed", 20, 28),
        ("22 sts x 30 rows = 10 cm / 4 in", 22, 30),
        ("18 stitches and 24 rows per 4 inches", Fraction(4500, 254), Fraction(6000, 254)),
        ('5 sts to 1"', Fraction(5000, 254), None),
        ("Tension: 17½ sts and 25 rows over 10cm", Fraction(35, 2), 25),
        ("24 rnds to 10 cm", None, 24),
    ],
)
def test_gauges_are_read(text: str, stitches: Fraction | int | None, rows: Fraction | None) -> None:
    """Stitches and rows are read over the measure that is named first; 4 in are 10.16 cm."""
    stated = read_stated_gauge(text)
    assert stated is not None
    assert (stated.stitches_per_10cm, stated.rows_per_10cm) == (stitches, rows)


def test_a_gauge_is_meant_washed_unless_it_says_otherwise() -> None:
    """Washed is usual (common practice, no source); "unblocked" is taken at its word."""
    washed, unwashed = "20 sts and 28 rows to 10 cm", "20 sts and 28 rows to 10 cm, unblocked"
    for text, fabric in ((washed, Fabric.WASHED), (unwashed, Fabric.RESTED)):
        stated = read_stated_gauge(text)
        assert stated is not None
        assert stated.fabric is fabric


@pytest.mark.parametrize("text", ["", "gauge is not critical", "20 sts", "10 cm", "0 sts to 0 cm"])
def test_what_is_no_gauge_is_none(text: str) -> None:
    """Without stitches or rows over a measure there is no gauge to go by."""
    assert read_stated_gauge(text) is None
