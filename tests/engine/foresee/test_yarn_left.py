"""Whether the yarn lasts, from what a kitchen scale said."""

from __future__ import annotations

import pytest

from bench.simulated_knitters import simulate_yarn
from engine.forecast.yarn import (
    CannotTell,
    WeighFirst,
    YarnForecast,
    YarnPerRow,
    YarnReading,
    rows_kept_back,
    scale_steps,
    yarn_lasts,
)


def told(forecast: YarnForecast | CannotTell) -> YarnForecast:
    """Return the forecast, which has to say something."""
    assert isinstance(forecast, YarnForecast), forecast
    assert 0 <= forecast.low <= forecast.best <= forecast.high
    return forecast


def test_two_weighings_far_apart_tell() -> None:
    """100 g, 60 g after 40 rows: a gram a row, so 58 rows with two rows kept back."""
    found = told(
        yarn_lasts([YarnReading(0, 100), YarnReading(40, 60)], 40, (50, 50), resolution_g=1)
    )
    assert found.grams_per_row == pytest.approx(1, abs=0.03)
    assert found.best == pytest.approx(58, abs=1)
    assert found.chance > 0.95
    assert (
        told(
            yarn_lasts([YarnReading(0, 100), YarnReading(40, 60)], 40, (66, 66), resolution_g=1)
        ).chance
        < 0.05
    )


def test_in_doubt_it_says_when_to_weigh_again() -> None:
    """A close thing has a chance in the middle and a row to weigh at, before the yarn can end."""
    found = told(yarn_lasts([YarnReading(0, 100), YarnReading(40, 60)], 40, (58, 58)))
    assert 0.2 < found.chance < 0.8
    assert found.weigh_again_at is not None
    assert 40 < found.weigh_again_at < 40 + found.low


def test_rows_since_the_last_weighing_count() -> None:
    """Ten rows knitted since the scale said 60 g are ten rows fewer."""
    weighings = [YarnReading(0, 100), YarnReading(40, 60)]
    now, then = (told(yarn_lasts(weighings, row, (20, 20))) for row in (50, 40))
    assert then.best - now.best == pytest.approx(10, abs=1)


def test_a_coarse_scale_says_less() -> None:
    """The same weighings on a finer scale leave less doubt."""
    weighings = [YarnReading(0, 50), YarnReading(30, 35)]
    coarse = told(yarn_lasts(weighings, 30, (60, 60), resolution_g=1.0))
    fine = told(yarn_lasts(weighings, 30, (60, 60), resolution_g=0.1))
    assert fine.high - fine.low < coarse.high - coarse.low


def test_what_has_to_be_weighed_first() -> None:
    """Never weighed, weighed once, and weighed too soon are told apart."""
    assert yarn_lasts([], 12, (20, 20)) == CannotTell(WeighFirst.NEVER_WEIGHED, 12)
    once = yarn_lasts([YarnReading(12, 50)], 12, (20, 20))
    assert once == CannotTell(WeighFirst.WEIGH_AGAIN, 22)
    soon = yarn_lasts([YarnReading(0, 50), YarnReading(1, 50)], 1, (20, 20))
    assert isinstance(soon, CannotTell)
    assert soon.reason is WeighFirst.SCALE_TOO_COARSE
    assert soon.weigh_at > 2


def test_an_estimate_beforehand_helps() -> None:
    """With the weight of a row known from the swatch, one weighing is enough."""
    known = YarnPerRow(0.5, 0.1)
    found = told(yarn_lasts([YarnReading(12, 25)], 12, (30, 30), known=(known,)))
    assert found.best == pytest.approx(48, abs=2)
    assert found.chance > 0.95


def test_ripped_rows_still_tell_what_they_took() -> None:
    """Ripped back from row 60 to 45 the yarn of 15 rows is in the ball again, less surely."""
    kept = [YarnReading(0, 101), YarnReading(60, 41)]
    ripped = told(yarn_lasts(kept, 45, (40, 40)))
    assert ripped.grams_left == pytest.approx(56, abs=1)
    assert ripped.grams_per_row == pytest.approx(1, abs=0.05)
    weighed = told(yarn_lasts([*kept, YarnReading(45, 52)], 45, (40, 40)))
    assert weighed.grams_left == pytest.approx(52, abs=1), "four grams were not used again"
    assert weighed.grams_per_row == pytest.approx(1, abs=0.05)


def test_another_ball_shares_the_yarn_of_a_row_and_nothing_else() -> None:
    """After a ball of another weight was joined only the new weighing tells what is left."""
    first = [YarnReading(0, 51), YarnReading(40, 11)]
    assert yarn_lasts(first, 50, (40, 40), stretch_now=1) == CannotTell(
        WeighFirst.NEVER_WEIGHED, 50
    )
    second = told(yarn_lasts([*first, YarnReading(50, 98, 1)], 50, (40, 40), stretch_now=1))
    assert second.grams_left == pytest.approx(98, abs=1)
    assert second.grams_per_row == pytest.approx(1, abs=0.05)
    assert second.chance > 0.99


def test_a_ball_that_nobody_told_of_is_seen() -> None:
    """Yarn cannot grow: 11 g and then 97 g is another ball, not a row of minus two grams."""
    weighings = [YarnReading(0, 51), YarnReading(40, 11), YarnReading(50, 97), YarnReading(70, 77)]
    found = told(yarn_lasts(weighings, 70, (60, 60)))
    assert found.grams_per_row == pytest.approx(1, abs=0.05)
    assert found.grams_left == pytest.approx(77, abs=1)


def test_the_step_of_the_scale_is_learnt() -> None:
    """72.4 is of a fine scale, 73 of one of 1 g, 80, 75, 55 of one of 5 g; balls say nothing."""
    likely = [
        max(scale_steps(said), key=lambda one: one[1])[0]
        for said in ([72.4, 60], [80, 73, 53], [80, 75, 55], [80, 60, 40, 20])
    ]
    assert likely == [0.1, 1.0, 5.0, 10.0]
    assert scale_steps([100.0, 50.0]) == scale_steps([])


def test_the_longer_said_in_fives_the_wider() -> None:
    """The same use, said in steps of five grams, leaves more doubt than in single grams."""
    fine = told(
        yarn_lasts([YarnReading(0, 98), YarnReading(30, 71), YarnReading(60, 43)], 60, (40, 40))
    )
    coarse = told(
        yarn_lasts([YarnReading(0, 95), YarnReading(30, 70), YarnReading(60, 45)], 60, (40, 40))
    )
    assert coarse.high - coarse.low > 1.5 * (fine.high - fine.low)


def test_another_stitch_is_less_sure() -> None:
    """Rows ahead in a stitch that was never weighed leave more doubt than rows of the same."""

    def alike(row: int) -> tuple[float, float]:
        return (float(row), 0.0)

    def other(row: int) -> tuple[float, float]:
        return (min(row, 100.0), max(row - 100.0, 0.0))

    weighings = [YarnReading(0, 198.3), YarnReading(50, 148.2), YarnReading(100, 98.4)]
    same, another = (
        told(yarn_lasts(weighings, 100, (90, 90), work=work)) for work in (alike, other)
    )
    assert another.high - another.low > 1.5 * (same.high - same.low)


def test_shaped_pieces_count_their_stitches() -> None:
    """Where rows get shorter the same yarn makes more of them."""

    def narrowing(row: int) -> tuple[float]:
        return (row - row * row / 400,)

    weighings = [YarnReading(0, 100), YarnReading(40, 60)]
    plain = told(yarn_lasts(weighings, 40, (50, 50)))
    shaped = told(yarn_lasts(weighings, 40, (50, 50), work=narrowing))
    assert shaped.best > plain.best


def test_kept_back_for_bind_off_and_end() -> None:
    """Four widths and 30 cm are a row and a bit: 1.3 rows of a piece 25 cm wide."""
    assert rows_kept_back(25) == pytest.approx(1.3)


def test_an_interval_of_rows_spreads_the_chance() -> None:
    """Not knowing how many rows are needed pulls the chance towards the middle."""
    weighings = [YarnReading(0, 100), YarnReading(40, 60)]
    sure = told(yarn_lasts(weighings, 40, (50, 50)))
    unsure = told(yarn_lasts(weighings, 40, (40, 60)))
    assert unsure.chance < sure.chance


def test_chances_are_reliable() -> None:
    """Over 600 simulated balls what is said with 0.8 or more lasts, with 0.2 or less does not."""
    low: list[bool] = []
    high: list[bool] = []
    middle: list[bool] = []
    for seed in range(700_000, 700_600):
        piece = simulate_yarn(seed)
        needed = piece.rows_whole - piece.row_now
        found = yarn_lasts(
            [YarnReading(w.row, w.grams) for w in piece.weighings],
            piece.row_now,
            (needed, needed),
            resolution_g=piece.resolution_g,
            kept_back_rows=piece.bind_off_rows,
        )
        if isinstance(found, CannotTell):
            continue
        pile = low if found.chance < 0.2 else high if found.chance > 0.8 else middle
        pile.append(piece.lasts)
    assert sum(low) / len(low) < 0.05
    assert sum(high) / len(high) > 0.95
    assert 0.3 < sum(middle) / len(middle) < 0.7


def test_nonsense_is_refused() -> None:
    """A scale without resolution, an interval upside down and no width are refused."""
    with pytest.raises(ValueError, match="resolution"):
        yarn_lasts([], 0, (1, 1), resolution_g=0)
    with pytest.raises(ValueError, match="interval"):
        yarn_lasts([], 0, (2, 1))
    with pytest.raises(ValueError, match="width"):
        rows_kept_back(0)
