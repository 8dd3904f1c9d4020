"""Loop geometry against the constants in print, an examination item and measured fabrics."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.plan.gauge import TEN_CM, Count, Gauge
from engine.plan.loops import (
    LOOP_ERROR,
    PLAIN_WOOL,
    Relaxed,
    courses_per_length,
    loop_from_counts,
    loop_from_courses,
    loop_from_wales,
    mass_per_square_metre,
    measured_constants,
    row_yarn,
    stitches_per_area,
    tightness,
    wales_per_length,
)
from engine.plan.yarn import area_rule_yards, ends_metres, need_from_gauge
from engine.quantities import inches


@pytest.mark.parametrize(
    ("relaxed", "courses", "wales", "area", "shape"),
    [
        # Munden 1959 and Knapton 1968 as quoted in Spencer, Knitting Technology, pp. 280-282.
        (Relaxed.DRY, 5.0, 3.8, 19.0, 1.32),
        (Relaxed.WET, 5.3, 4.1, 21.6, 1.29),
        (Relaxed.FULLY, 5.5, 4.2, 23.1, 1.31),
    ],
)
def test_constants(
    relaxed: Relaxed, courses: float, wales: float, area: float, shape: float
) -> None:
    """The constants are those in print, and they agree among themselves."""
    found = PLAIN_WOOL[relaxed]
    assert (found.courses, found.wales, found.area) == (courses, wales, area)
    assert found.shape == pytest.approx(shape, abs=0.005)
    assert found.courses * found.wales == pytest.approx(found.area, abs=0.15)


@pytest.mark.parametrize(
    ("loop_mm", "relaxed", "courses", "wales", "area"),
    [
        # Worked from the constants apart from this project.
        (5, Relaxed.DRY, 10.0, 7.6, 76.0),
        (5, Relaxed.FULLY, 11.0, 8.4, 92.4),
        (10, Relaxed.DRY, 5.0, 3.8, 19.0),
        (10, Relaxed.WET, 5.3, 4.1, 21.6),
        (12, Relaxed.FULLY, 4.583, 3.5, 16.042),
    ],
)
def test_worked_values(
    loop_mm: float, relaxed: Relaxed, courses: float, wales: float, area: float
) -> None:
    """Counts per centimetre of a loop come out as worked by hand."""
    loop = loop_mm / 10
    assert courses_per_length(loop, relaxed) == pytest.approx(courses, abs=5e-4)
    assert wales_per_length(loop, relaxed) == pytest.approx(wales, abs=5e-4)
    assert stitches_per_area(loop, relaxed) == pytest.approx(area, abs=5e-4)


def test_examination_item() -> None:
    """GATE Textile Engineering 2015, question 54: fully relaxed, loop 0.5 cm: 92 loops/cm^2."""
    assert round(stitches_per_area(0.5, Relaxed.FULLY)) == 92


JERSEY = (2.77, 12.677, 18.819, 19.68)  # loop mm, wales/cm, courses/cm, tex
"""Machine-knit cotton jersey, dry-relaxed: Hossain and others, PLoS One 20 (2025) e0323572,
Table 2, sample 1 (CC BY; seen second hand)."""


def test_measured_jersey_shows_these_constants() -> None:
    """Kw, Kc, Ks and R of the measured jersey come out as computed from the article."""
    loop, wales, courses, _ = JERSEY
    found = measured_constants(loop / 10, wales, courses)
    assert found.wales == pytest.approx(3.512, abs=0.001)
    assert found.courses == pytest.approx(5.213, abs=0.001)
    assert found.area == pytest.approx(18.305, abs=0.01)
    assert found.shape == pytest.approx(1.484, abs=0.001)


@pytest.mark.parametrize(
    ("method", "estimate", "error"),
    [
        ("both, dry", 2.822, 0.019), ("rows, dry", 2.657, -0.041),
        ("stitches, dry", 2.998, 0.082), ("both, wet", 3.009, 0.086),
        ("both, fully", 3.112, 0.123),
    ],
)  # fmt: skip
def test_measured_jersey_is_estimated(method: str, estimate: float, error: float) -> None:
    """Both counts together in the right state come within 2 %, the others err as known."""
    loop, wales, courses, _ = JERSEY
    found = (
        10
        * {
            "both, dry": loop_from_counts(wales, courses, Relaxed.DRY),
            "rows, dry": loop_from_courses(courses, Relaxed.DRY),
            "stitches, dry": loop_from_wales(wales, Relaxed.DRY),
            "both, wet": loop_from_counts(wales, courses, Relaxed.WET),
            "both, fully": loop_from_counts(wales, courses, Relaxed.FULLY),
        }[method]
    )
    assert found == pytest.approx(estimate, abs=0.001)
    assert found / loop - 1 == pytest.approx(error, abs=0.001)
    if method == "both, dry":
        assert abs(found / loop - 1) < LOOP_ERROR


def test_simulated_acrylic() -> None:
    """The mechanics of Singal and others (Nature Communications 15, 2024; data under MIT): a loop
    of 11.28 mm in a cell of 2.80 by 2.127 mm is the wet-relaxed fabric within the cell's 5 %.
    """
    found = measured_constants(1.128, 10 / 2.80, 10 / 2.127)
    assert found.wales == pytest.approx(PLAIN_WOOL[Relaxed.WET].wales, rel=0.05)
    assert found.courses == pytest.approx(PLAIN_WOOL[Relaxed.WET].courses, rel=0.05)
    loop = loop_from_counts(10 / 2.80, 10 / 2.127, Relaxed.WET)
    assert loop == pytest.approx(1.128, rel=0.02)


def test_row_takes_four_times_its_width() -> None:
    """A plain row takes 3.8 to 4.2 times its width, not three times."""
    found = [row_yarn(50, relaxed) for relaxed in Relaxed]
    assert found == pytest.approx([190.0, 205.0, 210.0])


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


def test_folk_rule_is_munden_with_six() -> None:
    """48 x 8 in at 5 stitches: 320 yards by the folk rule (in print), 267 to 293 by geometry."""
    assert area_rule_yards(Fraction(48), Fraction(8), Fraction(5)) == 320
    for relaxed, yards in ((Relaxed.DRY, 266.7), (Relaxed.WET, 282.7), (Relaxed.FULLY, 293.3)):
        by_rows = 48 * 8 * 5 * PLAIN_WOOL[relaxed].courses / 36
        assert by_rows == pytest.approx(yards, abs=0.05)
        assert 1.08 < 320 / by_rows < 1.21


def test_worked_swatch_of_a_guide() -> None:
    """A guide's worked example (5 stitches, 7 rows to the inch, 25 200 stitches, 560 yards) lies
    within the error of the geometry.
    """
    gauge = Gauge(Count(Fraction(5), inches(1)), Count(Fraction(7), inches(1)))
    need = need_from_gauge(200 * 126, gauge, 101.6, Relaxed.WET)
    assert need.low_m < 560 * 0.9144 < need.high_m


def test_tightness_and_weight() -> None:
    """Tightness factor and weight of the measured jersey in the units that are stated."""
    loop, wales, courses, tex = JERSEY
    assert tightness(tex, loop) == pytest.approx(1.6015, abs=0.001)
    assert mass_per_square_metre(wales * courses, loop, tex) == pytest.approx(130.05, abs=0.1)


def test_nothing_is_refused() -> None:
    """A fabric without stitches or yarn is refused."""
    with pytest.raises(ValueError, match="more than nothing"):
        loop_from_counts(0, 2.8, Relaxed.DRY)
