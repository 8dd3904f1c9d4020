"""Cast-on, rows and ease: properties that hold for every size."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.fabric import Fabric
from engine.plan.gauge import TEN_CM, Count, Gauge, GaugeAdvice, Swatch, match_gauge
from engine.plan.size import (
    Ease,
    Multiple,
    Rounding,
    RowParity,
    cast_on,
    plan_length,
)
from engine.quantities import centimetres, inches

COUNTS = st.builds(
    Count,
    st.fractions(min_value=5, max_value=60, max_denominator=4),
    st.sampled_from([TEN_CM, inches(4), inches(1)]),
)
MULTIPLES = st.builds(Multiple, st.integers(1, 24), st.integers(0, 12))


@given(st.fractions(min_value=1, max_value=400), MULTIPLES)
def test_the_nearest_legal_count_is_nearest(wanted: Fraction, multiple: Multiple) -> None:
    """No legal count lies nearer than the chosen one, and it is legal."""
    chosen = multiple.near(wanted)
    assert multiple.fits(chosen)
    for other in (chosen - multiple.of, chosen + multiple.of):
        if multiple.fits(other):
            assert abs(chosen - wanted) <= abs(other - wanted)


@given(st.fractions(min_value=1, max_value=400), MULTIPLES)
def test_at_least_and_at_most(wanted: Fraction, multiple: Multiple) -> None:
    """One legal count is not below the wish, the other not above it if any can be."""
    above, below = (multiple.near(wanted, r) for r in (Rounding.AT_LEAST, Rounding.AT_MOST))
    assert above >= wanted
    smallest = Fraction(multiple.plus or multiple.of)
    assert below <= wanted or below == smallest
    assert set(multiple.around(wanted)) <= {below, above}


@given(st.integers(8, 200), COUNTS, MULTIPLES, st.integers(0, 4))
def test_the_width_is_what_the_stitches_make(
    width_cm: int, count: Count, multiple: Multiple, edges: int
) -> None:
    """Width times gauge gives the stitches back, seam stitches left out."""
    found = cast_on(centimetres(width_cm), count, multiple, edges)
    assert multiple.fits(found.stitches)
    assert count.number_in(found.width) == max(0, found.stitches - edges)
    for stitches, width in found.others:
        assert multiple.fits(stitches)
        assert (width.value < found.width.value) == (stitches < found.stitches)


@given(st.integers(3, 200), COUNTS, st.sampled_from(list(RowParity)))
def test_rows_come_near_the_length(length_cm: int, count: Count, parity: RowParity) -> None:
    """Rows are whole, of the parity asked for, and within one row of the length."""
    swatch = Swatch(Gauge(count, count, Fabric.WASHED), None)
    found = plan_length(centimetres(length_cm), swatch, parity)
    if parity is not RowParity.ANY:
        assert found.rows % 2 == (parity is RowParity.ODD)
    assert abs(found.rows - found.exact_rows) <= 1
    assert found.in_hand is None


@given(st.integers(1, 100), COUNTS, COUNTS)
def test_reading_in_hand_counts_the_same_rows(cm: int, washed: Count, unwashed: Count) -> None:
    """What is planned and what it reads before the wash hold the same number of rows."""
    swatch = Swatch(Gauge(washed, washed, Fabric.WASHED), Gauge(unwashed, unwashed, Fabric.RESTED))
    plan = plan_length(centimetres(cm), swatch)
    assert plan.in_hand is not None
    assert unwashed.number_in(plan.in_hand) == washed.number_in(plan.length) == plan.rows


def test_reading_in_another_state_is_not_guessed() -> None:
    """What the swatch was not counted in is not known."""
    count = Count(Fraction(20), TEN_CM)
    only_washed = Swatch(Gauge(count, count), None)
    assert plan_length(TEN_CM, only_washed).in_hand is None
    only_rested = Swatch(None, Gauge(count, count, Fabric.RESTED))
    assert only_rested.finished.fabric is Fabric.RESTED
    assert only_washed.in_hand.fabric is Fabric.WASHED
    with pytest.raises(ValueError, match="counted"):
        Swatch(None, None)


@pytest.mark.parametrize(
    ("ease", "finished"),
    [
        (Ease(percent=Fraction(-10)), "45"),
        (Ease(extra=centimetres(5)), "55"),
        (Ease(extra=inches(-1)), "47.46"),
        (Ease(), "50"),
    ],
)
def test_ease(ease: Ease, finished: str) -> None:
    """A head of 50 cm with ten per cent less, five centimetres more, an inch less, none."""
    assert ease.applied(centimetres(50)) == centimetres(Fraction(finished))


def test_advice_is_the_right_way_round() -> None:
    """More stitches mean a tighter hand and a thicker needle; both tell to swatch again."""
    pattern = Gauge(Count(Fraction(20), TEN_CM), Count(Fraction(28), TEN_CM))
    for stitches, advice in ((22, GaugeAdvice.NEEDLE_UP), (18, GaugeAdvice.NEEDLE_DOWN)):
        mine = Gauge(Count(Fraction(stitches), TEN_CM), Count(Fraction(28), TEN_CM))
        found = match_gauge(mine, pattern)
        assert found.advice is advice
        assert found.swatch_again
        assert (found.stitch_difference > 0) == (stitches > 20)


def test_nonsense_is_refused() -> None:
    """No width, no length, no count and no multiple are refused with a sentence."""
    count = Count(Fraction(20), TEN_CM)
    with pytest.raises(ValueError, match="width"):
        cast_on(centimetres(0), count)
    with pytest.raises(ValueError, match="length"):
        plan_length(centimetres(0), Swatch(Gauge(count, count), None))
    with pytest.raises(ValueError, match="count"):
        Count(Fraction(0), TEN_CM)
    with pytest.raises(ValueError, match="multiple"):
        Multiple(0)
