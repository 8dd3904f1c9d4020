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
from engine.quantities import LengthUnit, centimetres, inches

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


@pytest.mark.parametrize(
    ("wanted", "multiple", "rounding", "chosen"),
    [
        ("22", Multiple(4), Rounding.NEAREST, 24),
        ("40", Multiple(4, 2), Rounding.NEAREST, 42),
        ("39.9", Multiple(4, 2), Rounding.NEAREST, 38),
        ("40.1", Multiple(4, 2), Rounding.AT_MOST, 38),
        ("40.1", Multiple(4, 2), Rounding.AT_LEAST, 42),
        ("42", Multiple(4, 2), Rounding.AT_LEAST, 42),
        ("0.5", Multiple(4), Rounding.AT_MOST, 4),
        ("0.5", Multiple(4, 2), Rounding.AT_MOST, 2),
        ("0.5", Multiple(), Rounding.AT_MOST, 1),
    ],
)
def test_a_tie_goes_to_the_wider_piece(
    wanted: str, multiple: Multiple, rounding: Rounding, chosen: int
) -> None:
    """Halfway between two legal counts the larger is taken; the least is one repeat or the plus."""
    assert multiple.near(Fraction(wanted), rounding) == chosen


def test_the_others_are_the_legal_counts_next_to_it() -> None:
    """38 and 46 stand beside 42 (multiple of 4 plus 2), each with its width without the seam."""
    stitches = Count(Fraction(20), TEN_CM)
    found = cast_on(centimetres(20), stitches, Multiple(4, 2), edge_stitches=2)
    assert (found.stitches, found.width, found.off) == (42, centimetres(20), centimetres(0))
    assert found.others == ((38, centimetres(18)), (46, centimetres(22)))


@pytest.mark.parametrize(
    ("width", "edge_stitches", "others"),
    [("0.5", 0, [2]), ("1", 1, [2, 4]), ("0.5", 1, [3])],
)
def test_a_cast_on_of_seam_alone_is_no_other(
    width: str, edge_stitches: int, others: list[int]
) -> None:
    """Beside the smallest cast-on only a larger one stands: something has to be left in front."""
    stitches = Count(Fraction(20), TEN_CM)
    found = cast_on(centimetres(Fraction(width)), stitches, edge_stitches=edge_stitches)
    assert [count for count, _ in found.others] == others


@pytest.mark.parametrize(("width", "edge_stitches"), [("0", 0), ("-1", 0), ("10", -1)])
def test_a_width_is_more_than_nothing(width: str, edge_stitches: int) -> None:
    """Nothing cannot be cast on, nor can fewer than no seam stitches be sewn away."""
    with pytest.raises(ValueError, match="more than nothing"):
        cast_on(
            centimetres(Fraction(width)), Count(Fraction(20), TEN_CM), edge_stitches=edge_stitches
        )


@pytest.mark.parametrize(
    ("of", "plus", "fits"),
    [(4, 2, [2, 6, 10]), (4, 0, [4, 8]), (1, 0, [1, 2, 3, 4, 5, 6, 7, 8, 9, 10])],
)
def test_which_counts_are_legal(of: int, plus: int, fits: list[int]) -> None:
    """Whole repeats and what is beside them; none is no count."""
    assert [count for count in range(11) if Multiple(of, plus).fits(count)] == fits


@pytest.mark.parametrize(("of", "plus"), [(0, 0), (-1, 0), (4, -1)])
def test_a_multiple_is_of_something(of: int, plus: int) -> None:
    """A repeat of no stitches, or less than none beside it, is refused."""
    with pytest.raises(ValueError, match="multiple"):
        Multiple(of, plus)


@pytest.mark.parametrize(
    ("length", "parity", "rows"),
    [
        # 28 rows to 10 cm, unwashed 30: 5 cm are 14 rows exactly, 1.25 cm are 3.5.
        ("5", RowParity.ANY, 14),
        ("5", RowParity.EVEN, 14),
        ("5", RowParity.ODD, 15),
        ("1.25", RowParity.ANY, 4),
        ("0.1", RowParity.ANY, 1),
        ("0.1", RowParity.EVEN, 2),
        ("0.1", RowParity.ODD, 1),
    ],
)
def test_rows_of_a_length(length: str, parity: RowParity, rows: int) -> None:
    """Ties go to the longer piece, at least one row (two if even); both states are told."""
    stitches = Count(Fraction(20), TEN_CM)
    washed, rested = (Count(Fraction(number), TEN_CM) for number in (28, 30))
    swatch = Swatch(Gauge(stitches, washed), Gauge(stitches, rested, Fabric.RESTED))
    found = plan_length(centimetres(Fraction(length)), swatch, parity)
    assert found.rows == rows
    assert found.wanted == centimetres(Fraction(length))
    assert found.exact_rows == Fraction(length) * Fraction(14, 5)
    assert found.length == centimetres(rows * Fraction(5, 14))
    assert found.in_hand == centimetres(Fraction(rows, 3))


def test_a_length_is_more_than_nothing() -> None:
    """No rows are planned for no length, and a plan is in the unit of the wish."""
    count = Count(Fraction(20), TEN_CM)
    swatch = Swatch(Gauge(count, count), None)
    with pytest.raises(ValueError, match="more than nothing"):
        plan_length(centimetres(0), swatch)
    assert plan_length(inches(4), swatch).length.unit is LengthUnit.IN


def compared(stitches: str, rows: str) -> tuple[GaugeAdvice, Fraction]:
    """Hold a swatch of so many stitches and rows to 10 cm against a pattern's 20 by 28."""
    pattern = Gauge(Count(Fraction(20), TEN_CM), Count(Fraction(28), TEN_CM))
    swatch = Gauge(Count(Fraction(stitches), TEN_CM), Count(Fraction(rows), TEN_CM))
    found = match_gauge(swatch, pattern)
    assert found.stitch_difference == Fraction(stitches) / 20 - 1
    assert found.row_difference == Fraction(rows) / 28 - 1
    return found.advice, found.needle_step_mm


# Common practice, no source: the figures that stand beside the limits in engine/plan/gauge.py.
@pytest.mark.parametrize(
    ("stitches", "rows", "advice", "step"),
    [
        ("20.5", "28", GaugeAdvice.AS_PATTERN, "0"),
        ("19.5", "28", GaugeAdvice.AS_PATTERN, "0"),
        ("20", "29", GaugeAdvice.AS_PATTERN, "0"),
        ("20", "27", GaugeAdvice.AS_PATTERN, "0"),
        ("20", "29.5", GaugeAdvice.ROWS_ONLY, "0"),
        ("20.5", "26.5", GaugeAdvice.ROWS_ONLY, "0"),
        ("20.6", "28", GaugeAdvice.NEEDLE_UP, "0.25"),
        ("19.4", "28", GaugeAdvice.NEEDLE_DOWN, "0.25"),
        ("20.8", "28", GaugeAdvice.NEEDLE_UP, "0.25"),
        ("20.9", "28", GaugeAdvice.NEEDLE_UP, "0.5"),
        ("19.1", "28", GaugeAdvice.NEEDLE_DOWN, "0.5"),
        ("22.4", "28", GaugeAdvice.NEEDLE_UP, "0.5"),
        ("17.6", "28", GaugeAdvice.NEEDLE_DOWN, "0.5"),
        ("22.5", "28", GaugeAdvice.OTHER_YARN, "0"),
        ("17.5", "28", GaugeAdvice.OTHER_YARN, "0"),
    ],
)
def test_where_the_advice_changes(stitches: str, rows: str, advice: GaugeAdvice, step: str) -> None:
    """Half a stitch and one row pass; 4 per cent is the end of the small step, 12 of the needle."""
    assert compared(stitches, rows) == (advice, Fraction(step))


def test_after_which_advice_a_swatch_is_knitted_again() -> None:
    """With another needle or yarn; not where only rows differ, nor where all fits."""
    count = Count(Fraction(20), TEN_CM)
    again = {
        match_gauge(Gauge(Count(Fraction(number), TEN_CM), count), Gauge(count, count)).advice
        for number in (18, 19, 20, 21, 22, 25)
        if match_gauge(
            Gauge(Count(Fraction(number), TEN_CM), count), Gauge(count, count)
        ).swatch_again
    }
    assert again == {GaugeAdvice.NEEDLE_UP, GaugeAdvice.NEEDLE_DOWN, GaugeAdvice.OTHER_YARN}


@pytest.mark.parametrize(("number", "over"), [("0", "10"), ("-1", "10"), ("20", "0")])
def test_a_count_is_of_something(number: str, over: str) -> None:
    """Nothing counted, or counted over nothing, is refused."""
    with pytest.raises(ValueError, match="over some length"):
        Count(Fraction(number), centimetres(Fraction(over)))


def test_a_plan_in_inches_is_told_in_inches() -> None:
    """Width, length and what the ruler reads have the unit of the wish; no seam unless asked."""
    twenty = Count(Fraction(20), TEN_CM)
    exactly = Fraction(10) / Fraction("2.54")
    found = cast_on(inches(4), twenty)
    assert (found.stitches, found.edge_stitches, found.width) == (20, 0, inches(exactly))
    assert cast_on(inches(4), twenty, rounding=Rounding.AT_LEAST).stitches == 21
    swatch = Swatch(Gauge(twenty, twenty), Gauge(twenty, twenty, Fabric.RESTED))
    assert plan_length(inches(4), swatch).in_hand == inches(exactly)


def test_a_cast_on_that_the_seam_takes_has_no_width() -> None:
    """Two stitches of which both are sewn away measure nothing; half a stitch can be counted."""
    found = cast_on(centimetres(Fraction(1, 10)), Count(Fraction(20), TEN_CM), edge_stitches=2)
    assert (found.stitches, found.width) == (2, centimetres(0))
    assert Count(Fraction(1, 2), TEN_CM).per(TEN_CM) == Fraction(1, 2)
