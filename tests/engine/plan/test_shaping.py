"""Shaping arithmetic: what holds for every layout and rate."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from engine.plan.shaping import (
    Counting,
    Layout,
    shaping_rate,
    space_decreases,
    space_increases,
)


@given(st.integers(1, 400), st.integers(1, 60), st.sampled_from(list(Layout)))
def test_increases_are_even(stitches: int, increases: int, layout: Layout) -> None:
    """Gaps differ by one at most, fill the row, and there are as many as the layout says."""
    assume(increases <= stitches)
    found = space_increases(stitches, increases, layout)
    assert sum(found.gaps) + found.rest == stitches
    assert len(found.gaps) == increases
    assert found.stitches_after == stitches + increases
    shares = [0]
    match layout:
        case Layout.ROUND:
            shares = list(found.gaps)
            assert found.rest == 0
        case Layout.BETWEEN:
            shares = [*found.gaps, found.rest]
        case Layout.CENTRED:
            shares = [*found.gaps[1:], found.gaps[0] + found.rest]
            assert 0 <= found.rest - found.gaps[0] <= 1
    assert max(shares) - min(shares) <= 1


@given(st.integers(2, 400), st.integers(1, 60), st.sampled_from(list(Layout)))
def test_decreases_use_up_two(stitches: int, decreases: int, layout: Layout) -> None:
    """Plain stitches and two for every decrease make up the row."""
    assume(2 * decreases <= stitches)
    found = space_decreases(stitches, decreases, layout)
    assert sum(found.gaps) + found.rest + 2 * decreases == stitches
    assert found.stitches_after == stitches - decreases


@given(
    st.integers(2, 200),
    st.integers(1, 40),
    st.integers(1, 400),
    st.sampled_from([1, 2, 4]),
    st.sampled_from(list(Counting)),
    st.booleans(),
)
def test_rates_arrive(
    start: int,
    shapings: int,
    rows: int,
    each: int,
    counting: Counting,
    one_side: bool,  # noqa: FBT001 (drawn by hypothesis)
) -> None:
    """The rate ends on its count within its rows, evenly, and on one side if asked."""
    end = start + shapings * each
    try:
        rate = shaping_rate(
            start, end, rows, per_shaping=each, counting=counting, right_side_only=one_side
        )
    except ValueError:
        intervals = shapings - (counting is Counting.NEXT_AND_FOLLOWING)
        assert rows < shapings * 2
        early = one_side and counting is Counting.EVERY
        room = rows - (counting is Counting.NEXT_AND_FOLLOWING) + early
        assert room < intervals * (1 + one_side)
        return
    at = rate.shaping_rows()
    assert len(at) == rate.shapings == shapings
    assert rate.stitches_after(rows) == end
    assert at[0] >= 1
    assert at[-1] <= rows
    assert at[-1] + rate.left_over == rows
    gaps = [late - early for early, late in pairwise(at)]
    if gaps:
        assert max(gaps) - min(gaps) <= (2 if one_side else 1)
    if one_side:
        assert {row % 2 for row in at} <= {1}, "row 1 is a right-side row"
    back = shaping_rate(
        end, start, rows, per_shaping=each, counting=counting, right_side_only=one_side
    )
    assert back.shaping_rows() == at


@pytest.mark.parametrize(
    ("counting", "rows"),
    [
        (Counting.EVERY, (7, 17, 27, 37, 47, 57, 67, 77, 87, 97, 107)),
        (Counting.NEXT_AND_FOLLOWING, (1, 11, 21, 31, 41, 51, 61, 71, 83, 95, 107)),
    ],
)
def test_shaping_on_the_right_side(counting: Counting, rows: tuple[int, ...]) -> None:
    """38 to 60 stitches in 108 rows, row 1 a right-side row: all shaping rows are odd."""
    rate = shaping_rate(38, 60, 108, counting=counting, right_side_only=True)
    assert rate.shaping_rows() == rows
    assert rate.left_over == 108 - rows[-1]
    assert shaping_rate(3, 5, 1, right_side_only=True).shaping_rows() == (1,)


def test_what_cannot_be_shared_out() -> None:
    """An odd difference by twos, more shapings than rows or stitches: one sentence each."""
    with pytest.raises(ValueError, match="shared out"):
        shaping_rate(60, 37, 108)
    with pytest.raises(ValueError, match="more shaping rows"):
        shaping_rate(60, 20, 10)
    with pytest.raises(ValueError, match="for each"):
        space_increases(3, 4, Layout.ROUND)
    with pytest.raises(ValueError, match="two stitches"):
        space_decreases(7, 4, Layout.ROUND)


def test_nothing_to_shape() -> None:
    """From 40 to 40 there is nothing to do but knit."""
    rate = shaping_rate(40, 40, 20)
    assert rate.shapings == 0
    assert rate.left_over == 20
