"""Partner pieces, mirrored fronts, and yarn to buy."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.fabric import Fabric
from engine.plan.gauge import TEN_CM, Count, Gauge, Swatch
from engine.plan.piece import Caveat, plan_piece
from engine.plan.pieces import Edge, EdgeShaping, Lean, Partner, PieceSide, as_partner, mirrored
from engine.plan.size import Multiple, RowParity
from engine.plan.wish import WeighedSwatch, Wish
from engine.plan.yarn import (
    Ball,
    Basis,
    balls_needed,
    ends_metres,
    mixed_lots,
    need_from_gauge,
    need_from_swatch,
)
from engine.quantities import Length, LengthUnit, centimetres, grams

BALL = Ball(grams(100), Length(Fraction(200), LengthUnit.M), "A")
GAUGE = Gauge(Count(Fraction(20), TEN_CM), Count(Fraction(28), TEN_CM))


@given(
    st.builds(
        EdgeShaping,
        row=st.integers(1, 200),
        side=st.sampled_from(list(PieceSide)),
        edge=st.sampled_from(list(Edge)),
        change=st.integers(-10, 10),
        lean=st.sampled_from(list(Lean)),
        at_beginning=st.booleans(),
    )
)
def test_a_mirror_image_mirrored_is_the_piece(shaping: EdgeShaping) -> None:
    """Mirroring twice gives the shaping back; once changes edge and lean, never the count."""
    once = mirrored(shaping)
    assert once.edge is shaping.edge.other
    assert once.lean is shaping.lean.other
    assert (once.row, once.side, once.change) == (shaping.row, shaping.side, shaping.change)
    assert mirrored(once) == shaping


def test_a_bind_off_can_only_begin_a_row() -> None:
    """Mirrored, a bind-off at the beginning falls one row later, on the other side."""
    armhole = EdgeShaping(60, PieceSide.RIGHT_SIDE, Edge.RIGHT, -5, bound_off=True)
    found = mirrored(armhole)
    assert found.row == 61
    assert found.side is PieceSide.WRONG_SIDE
    assert found.edge is Edge.LEFT
    assert found.at_beginning


def test_as_long_as_the_back() -> None:
    """The back has 112 rows: at row 90 there are 22 to go, exactly."""
    back = Partner("the back", 112, 40.0, Fabric.RESTED)
    found = as_partner(90, back, 31.5)
    assert (found.rows_left.low, found.rows_left.high) == (22, 22)
    assert found.rows_over == 0
    assert found.longer_cm == pytest.approx(31.5 / 90 * 112 - 40)
    assert found.margin_cm == pytest.approx(0.5 * ((112 / 90) ** 2 / 2 + 1 / 2) ** 0.5)
    longer = as_partner(120, back, 43.0).longer_cm
    assert longer == pytest.approx(43.0 / 120 * 112 - 40)  # the same rows are the partner's
    over = as_partner(114, back)
    assert (over.rows_left.best, over.rows_over, over.longer_cm) == (0, 2, None)


def test_the_partner_is_a_swatch_as_well() -> None:
    """112 rows of 40 cm are 28 rows to 10 cm, trusted more than a swatch."""
    prior = Partner("the back", 112, 40.0, Fabric.RESTED).gauge()
    assert prior is not None
    assert prior.rows_per_10cm == pytest.approx(28)
    assert prior.spread < 0.03
    assert Partner("the back", 112).gauge() is None


@pytest.mark.parametrize(
    ("stitches", "width_cm", "weight"), [(50 * 22, 24, 12), (54 * 50, 26, 28), (66 * 40, 32, 28)]
)
def test_the_huts_sleeves_weigh_what_they_do(stitches: int, width_cm: float, weight: float) -> None:
    """Mug 12 g, bottle and lantern 28 g (common practice of the demo) lie in the band."""
    need = need_from_gauge(stitches, GAUGE, width_cm)
    assert need.basis is Basis.LOOP_GEOMETRY
    low, high = (metres * BALL.grams_per_metre for metres in (need.low_m, need.high_m))
    assert low - 0.5 < weight < high + 0.5


def test_a_weighed_swatch_is_better_than_geometry() -> None:
    """A swatch of 1200 stitches weighing 12 g: as many stitches again take as much, and the error
    is smaller.
    """
    need = need_from_swatch(12_000, 1200, grams(12), BALL, 50)
    assert need.best_m == pytest.approx(240 + ends_metres(50))
    assert need.error < need_from_gauge(12_000, GAUGE, 50).error
    light = need_from_swatch(12_000, 120, grams(1), BALL, 50)
    assert light.error > need.error, "a scale of one gram says little of one gram"
    with pytest.raises(ValueError, match="swatch"):
        need_from_swatch(12_000, 0, grams(12), BALL, 50)


@given(st.integers(500, 60_000))
def test_balls_are_whole_and_a_tenth_more(stitches: int) -> None:
    """Never less than a tenth in hand, never a ball more than that takes."""
    need = need_from_gauge(stitches, GAUGE, 50)
    found = balls_needed(need, BALL)
    wanted = max(1.1 * need.best_m, need.high_m)
    assert found.balls * 200 >= wanted - 1e-6
    assert (found.balls - 1) * 200 < wanted
    assert found.spare_m == pytest.approx(found.metres - need.best_m)


def test_lots() -> None:
    """One lot is no warning, two are, an unnamed one beside a named one too."""
    assert mixed_lots(["A", "A "]) == ()
    assert mixed_lots(["A", "B", "A"]) == ("A", "B")
    assert mixed_lots(["A", ""]) == ("A", "")
    assert mixed_lots([]) == ()


def test_a_whole_plan() -> None:
    """The mug's sleeve planned at once, with every caveat where it belongs."""
    wish = Wish(
        swatch=Swatch(GAUGE, None),
        width=centimetres(24),
        length=centimetres(8),
        multiple=Multiple(4, 2),
        edge_stitches=2,
        parity=RowParity.EVEN,
        ball=BALL,
        have=1,
        lots=("A", "B"),
    )
    plan = plan_piece(wish, None, None)
    assert (plan.cast_on.stitches, plan.length.rows) == (50, 22)
    assert plan.width_in_hand is None
    assert set(plan.caveats) == {Caveat.NOT_COUNTED_UNWASHED, Caveat.LOTS_MIXED}
    assert plan.buy is not None
    assert plan.buy.balls == 1


def test_a_plan_that_does_not_come_out() -> None:
    """An unwashed swatch, a wide multiple, too little yarn: each is said."""
    unwashed = Gauge(GAUGE.stitches, GAUGE.rows, Fabric.RESTED)
    wish = Wish(
        swatch=Swatch(None, unwashed),
        width=centimetres(50),
        length=centimetres(60),
        multiple=Multiple(24),
        ball=BALL,
        have=1,
        weighed=WeighedSwatch(1200, grams(12)),
    )
    plan = plan_piece(wish, None, None)
    assert set(plan.caveats) == {Caveat.NOT_WASHED, Caveat.WIDTH_OFF, Caveat.YARN_SHORT}
    assert plan.need is not None
    assert plan.need.basis is Basis.WEIGHED_SWATCH
    assert plan.width_in_hand is not None


def test_balls_reach_to_the_upper_end_of_the_band() -> None:
    """Where the scale says little, the band's upper end lies beyond a tenth more, and is bought."""
    need = need_from_swatch(20_000, 120, grams(1), BALL, 50)
    assert 1.1 * need.best_m < 400 < need.high_m < 600
    assert balls_needed(need, BALL).balls == 3
