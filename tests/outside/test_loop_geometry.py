"""Loop geometry against the constants in print, an examination item and measured fabrics."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.plan.gauge import TEN_CM, Count, Gauge
from engine.plan.loops import LOOP_ERROR, PLAIN_WOOL, Relaxed, loop_from_counts, tightness
from engine.plan.yarn import Ball, balls_needed, ends_metres, need_from_gauge
from engine.quantities import Length, LengthUnit, grams, inches

# Kc, Kw and Ks of Munden 1959 and Knapton 1968 as in Spencer, Knitting Technology, pp. 280-282.
PRINTED = [
    (Relaxed.DRY, 5.0, 3.8, 19.0),
    (Relaxed.WET, 5.3, 4.1, 21.6),
    (Relaxed.FULLY, 5.5, 4.2, 23.1),
]


@pytest.mark.parametrize(("relaxed", "courses", "wales", "area"), PRINTED)
def test_constants(relaxed: Relaxed, courses: float, wales: float, area: float) -> None:
    """The constant is that in print, and is the product of the two for rows and columns."""
    assert PLAIN_WOOL[relaxed] == area
    assert courses * wales == pytest.approx(area, abs=0.15)


@pytest.mark.parametrize(
    ("loop_mm", "relaxed", "courses", "wales"),
    [
        # Worked from the constants apart from this project.
        (5, Relaxed.DRY, 10.0, 7.6),
        (5, Relaxed.FULLY, 11.0, 8.4),
        (10, Relaxed.DRY, 5.0, 3.8),
        (10, Relaxed.WET, 5.3, 4.1),
        (12, Relaxed.FULLY, 4.583, 3.5),
    ],
)
def test_worked_values(loop_mm: float, relaxed: Relaxed, courses: float, wales: float) -> None:
    """The loop of counts per centimetre that were worked by hand comes out."""
    assert 10 * loop_from_counts(wales, courses, relaxed) == pytest.approx(loop_mm, rel=0.004)


def test_examination_item() -> None:
    """GATE Textile Engineering 2015, question 54: fully relaxed, loop 0.5 cm: 92 loops/cm^2."""
    assert loop_from_counts(1.0, 92.0, Relaxed.FULLY) == pytest.approx(0.5, abs=0.002)


JERSEY = (2.77, 12.677, 18.819, 19.68)  # loop mm, wales/cm, courses/cm, tex
"""Machine-knit cotton jersey, dry-relaxed: Hossain and others, PLoS One 20 (2025) e0323572,
Table 2, sample 1 (CC BY; seen second hand)."""


@pytest.mark.parametrize(
    ("relaxed", "estimate", "error"),
    [(Relaxed.DRY, 2.822, 0.019), (Relaxed.WET, 3.009, 0.086), (Relaxed.FULLY, 3.112, 0.123)],
)
def test_measured_jersey_is_estimated(relaxed: Relaxed, estimate: float, error: float) -> None:
    """Both counts together in the right state come within 2 %, in a wrong one they err as known."""
    loop, wales, courses, _ = JERSEY
    found = 10 * loop_from_counts(wales, courses, relaxed)
    assert found == pytest.approx(estimate, abs=0.001)
    assert found / loop - 1 == pytest.approx(error, abs=0.001)
    if relaxed is Relaxed.DRY:
        assert abs(found / loop - 1) < LOOP_ERROR


def test_simulated_acrylic() -> None:
    """The mechanics of Singal and others (Nature Communications 15, 2024; data under MIT): a loop
    of 11.28 mm in a cell of 2.80 by 2.127 mm is the wet-relaxed fabric within the cell's 5 %.
    """
    loop = loop_from_counts(10 / 2.80, 10 / 2.127, Relaxed.WET)
    assert loop == pytest.approx(1.128, rel=0.02)


@pytest.mark.parametrize(
    ("relaxed", "loop_mm", "metres"),
    [(Relaxed.DRY, 18.42, 309.5), (Relaxed.WET, 19.64, 329.9), (Relaxed.FULLY, 20.31, 341.2)],
)
def test_worked_estimate(relaxed: Relaxed, loop_mm: float, metres: float) -> None:
    """20 x 150 cm at 20 stitches and 28 rows to 10 cm, worked apart from this project."""
    gauge = Gauge(Count(Fraction(20), TEN_CM), Count(Fraction(28), TEN_CM))
    assert 10 * loop_from_counts(2.0, 2.8, relaxed) == pytest.approx(loop_mm, abs=0.005)
    need = need_from_gauge(40 * 420, gauge, 20, relaxed)
    assert need.best_m - ends_metres(20) == pytest.approx(metres, abs=0.05)
    assert need.low_m < metres * 0.92
    assert need.high_m > metres * 1.1


@pytest.mark.parametrize(
    ("relaxed", "yards"), [(Relaxed.DRY, 266.7), (Relaxed.WET, 282.7), (Relaxed.FULLY, 293.3)]
)
def test_folk_rule_has_some_in_hand(relaxed: Relaxed, yards: float) -> None:
    """48 x 8 in at 5 stitches: 320 yards by the folk rule in print, 267 to 293 by the geometry.

    The yards are from Kc alone; at 5 x 7 to the inch, near the fabric's own shape, both counts
    give the same within 4 %, and the rule has 5 % or more in hand.
    """
    gauge = Gauge(Count(Fraction(5), inches(1)), Count(Fraction(7), inches(1)))
    need = need_from_gauge(40 * 336, gauge, 20.32, relaxed)
    found = (need.best_m - ends_metres(20.32)) / 0.9144
    assert found == pytest.approx(yards, rel=0.04)
    assert 320 / found > 1.05


def test_worked_swatch_of_a_guide() -> None:
    """A guide's worked example (5 stitches, 7 rows to the inch, 25 200 stitches, 560 yards) lies
    within the error of the geometry.
    """
    gauge = Gauge(Count(Fraction(5), inches(1)), Count(Fraction(7), inches(1)))
    need = need_from_gauge(200 * 126, gauge, 101.6, Relaxed.WET)
    assert need.low_m < 560 * 0.9144 < need.high_m


@pytest.mark.parametrize(
    ("low", "high", "scarf_yd"),
    [(7, 8, 350), (6, 7, 300), (5, 6, 250), (4, 5, 200), (3, 4, 150), (1.5, 3, 125)],
)
def test_scarves_in_print(low: float, high: float, scarf_yd: int) -> None:
    """The yards that a book gives for a scarf of each yarn category, within a factor of two.

    Knitting & Crocheting All-in-One For Dummies, "Estimating how much yarn to buy", stitches to the
    inch and yards; the scarf is the smallest of the sizes in print, 6 by 60 in, in plain fabric.
    """
    stitches = Fraction(str(low + high)) / 2
    rows = stitches * Fraction("1.3")
    gauge = Gauge(Count(stitches, inches(1)), Count(rows, inches(1)))
    need = need_from_gauge(round(6 * stitches) * round(60 * rows), gauge, 6 * 2.54)
    assert 0.5 < need.best_m / 0.9144 / scarf_yd < 2
    ball = Ball(grams(100), Length(Fraction(200), LengthUnit.M))
    bought = balls_needed(need, ball).metres / 0.9144
    assert scarf_yd <= bought, "what the book says is never more than what we have her buy"


def test_tightness() -> None:
    """Tightness factor of the measured jersey in the unit that is stated."""
    loop, _, _, tex = JERSEY
    assert tightness(tex, loop) == pytest.approx(1.6015, abs=0.001)


def test_nothing_is_refused() -> None:
    """A fabric without stitches or yarn is refused."""
    with pytest.raises(ValueError, match="more than nothing"):
        loop_from_counts(0, 2.8, Relaxed.DRY)
