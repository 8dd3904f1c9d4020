"""Rows left to a length: what is said, what is refused, and that it is honest."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.forecast_bench import ours
from bench.simulated_knitters import Kind, simulate
from engine.fabric import Fabric
from engine.forecast.length import doubtful, rows_left
from engine.forecast.values import (
    CannotSay,
    Doubtful,
    GaugePrior,
    LengthReading,
    PartSpan,
    Remedy,
    RowsForecast,
    RowsLeft,
    WhyNot,
)

BODY = [PartSpan("body", 1, None)]
SWATCH = GaugePrior(28, Fabric.WASHED)
UNWASHED = GaugePrior(28, Fabric.RESTED)
NEEDLE = Fabric.ON_NEEDLE


def said(forecast: RowsForecast) -> RowsLeft:
    """Return the forecast, which has to say something."""
    assert isinstance(forecast, RowsLeft), forecast
    assert forecast.low <= forecast.best <= forecast.high
    return forecast


def read(row: int, cm: float, fabric: Fabric = NEEDLE, part: str = "body") -> LengthReading:
    """Return a reading from the cast-on."""
    return LengthReading(row, cm, fabric, part)


def test_a_swatch_alone_gives_a_wide_interval() -> None:
    """Without a measurement the swatch speaks: 40 cm at 28 rows are about 112 rows."""
    found = said(rows_left([], BODY, 0, 40, SWATCH))
    assert found.low < 112 < found.high
    assert found.best == pytest.approx(112, abs=1)
    assert 8 < found.high - found.low < 25
    assert found.level == 0.9


def test_measurements_narrow_the_interval() -> None:
    """One measurement narrows it, six narrow it more."""
    none = said(rows_left([], BODY, 60, 40, UNWASHED, target_fabric=NEEDLE))
    one = said(rows_left([read(60, 21.5)], BODY, 60, 40, UNWASHED))
    six = said(rows_left([read(10 * n, 3.6 * n) for n in range(1, 7)], BODY, 60, 40, UNWASHED))
    widths = [found.high - found.low for found in (none, one, six)]
    assert widths[0] > widths[1] >= widths[2]


def test_without_a_swatch_measurements_speak() -> None:
    """41 rows of 14.5 cm make 20 cm in about 16 rows more, swatch or not."""
    found = said(rows_left([read(41, 14.5)], BODY, 41, 20))
    assert found.low <= 16 <= found.high
    assert found.high - found.low < 8


def test_nothing_known_is_said_so() -> None:
    """No measurement, no swatch, no partner: measure now."""
    assert rows_left([], BODY, 41, 20) == CannotSay(WhyNot.NOTHING_KNOWN, Remedy.MEASURE_NOW, 41)


def test_a_hopeless_start_is_not_guessed_from() -> None:
    """One row measured by a ruler that errs by as much says nothing of the rate of growth."""
    found = rows_left([read(1, 0.5)], BODY, 1, 60)
    assert isinstance(found, CannotSay)
    assert found.reason is WhyNot.TOO_UNCERTAIN
    assert found.remedy is Remedy.MEASURE_FURTHER_ON
    assert found.measure_again_at > 1


def test_long_enough_is_no_row_more() -> None:
    """A piece that measures more than the target needs none."""
    found = said(rows_left([read(41, 14.5)], BODY, 41, 10, SWATCH))
    assert (found.low, found.best, found.high) == (0, 0, 0)
    assert found.measure_again_at is None


def test_washed_target_of_an_unwashed_piece() -> None:
    """Swatch 28 rows before and 26 after the wash: the washed target needs fewer rows."""
    both = [GaugePrior(28, Fabric.RESTED), GaugePrior(26, Fabric.WASHED)]
    readings = [read(84, 30, Fabric.RESTED)]
    unwashed = said(rows_left(readings, BODY, 84, 60, both, target_fabric=Fabric.RESTED))
    washed = said(rows_left(readings, BODY, 84, 60, both, target_fabric=Fabric.WASHED))
    assert unwashed.best == pytest.approx(84, abs=2)
    assert washed.best == pytest.approx(156 - 84, abs=2)


def test_rib_and_body_are_not_one_line() -> None:
    """Rib at 32 rows to 10 cm does not pull the forecast of a body at 28 by much."""
    spans = [PartSpan("rib", 1, 32), PartSpan("body", 33, None)]
    readings = [read(32, 10, part="rib"), read(60, 20), read(88, 30)]
    mine = said(rows_left(readings, spans, 88, 50))
    one_line = said(rows_left(readings, BODY, 88, 50))
    assert mine.best == pytest.approx(56, abs=1.5)
    assert one_line.best >= mine.best


def test_rows_to_come_in_another_part_are_less_sure() -> None:
    """While only rib was measured, a body to come widens the interval."""
    rib_only = [PartSpan("rib", 1, None)]
    then_body = [PartSpan("rib", 1, 30), PartSpan("body", 31, None)]
    readings = [read(14, 4.4, part="rib"), read(28, 8.8, part="rib")]
    rib, body = (said(rows_left(readings, spans, 28, 40)) for spans in (rib_only, then_body))
    assert body.high - body.low > rib.high - rib.low


def test_a_needle_change_starts_a_regime() -> None:
    """Rows on a thicker needle are forecast by the readings taken on it."""
    old = [LengthReading(n, n * 0.36, NEEDLE, "body", "4 mm") for n in (20, 40)]
    new = [LengthReading(n, 14.4 + (n - 40) * 0.40, NEEDLE, "body", "4.5 mm") for n in (60, 80)]
    found = said(rows_left([*old, *new], BODY, 80, 46.4))
    assert found.best == pytest.approx(40, abs=2)
    spans = [PartSpan("body", 1, 40, "4 mm"), PartSpan("body", 41, None, "4.5 mm")]
    assert said(rows_left([*old, *new], spans, 80, 46.4)).best == found.best


def test_ripped_rows_take_their_readings_with_them() -> None:
    """Readings beyond the row of now are set aside, as if they had never been."""
    kept, gone = [read(20, 7), read(40, 14.2)], [read(60, 30)]
    assert rows_left([*kept, *gone], BODY, 45, 30, SWATCH) == rows_left(kept, BODY, 45, 30, SWATCH)


def test_the_partner_is_trusted_more_than_the_swatch() -> None:
    """A partner piece narrows what a swatch leaves open."""
    swatch = said(rows_left([], BODY, 0, 40, UNWASHED))
    partner = GaugePrior(28, Fabric.RESTED, spread=0.02, source="the back")
    both = said(rows_left([], BODY, 0, 40, [UNWASHED, partner]))
    assert both.high - both.low < swatch.high - swatch.low


def test_measured_from_a_marker() -> None:
    """A length from a marker speaks for the rows above it, a target from there too."""
    readings = [LengthReading(60, 7.2, NEEDLE, "body", from_row=40)]
    found = said(rows_left(readings, BODY, 60, 18, target_from_row=40))
    assert found.best == pytest.approx(30, abs=1.5)


def test_the_order_of_readings_does_not_matter() -> None:
    """The same readings in another order give the same forecast."""
    readings = [read(12, 4.5), read(30, 10.5), read(51, 18)]
    one = rows_left(readings, BODY, 60, 40, SWATCH)
    assert one == rows_left(readings[::-1], BODY, 60, 40, SWATCH)


def test_many_readings_are_thinned() -> None:
    """Forty readings are as welcome as six."""
    readings = [read(row, round(row * 0.72) / 2) for row in range(5, 205, 5)]
    found = said(rows_left(readings, BODY, 205, 90, SWATCH, target_fabric=NEEDLE))
    assert found.best == pytest.approx(45, abs=3)


def test_the_next_measurement_lies_ahead() -> None:
    """It is advised between now and the end, neither at once nor too late."""
    found = said(rows_left([read(30, 10.5)], BODY, 30, 40, SWATCH, target_fabric=NEEDLE))
    assert found.measure_again_at is not None
    ahead = found.measure_again_at - 30
    assert 0.3 * found.best < ahead < found.best
    near = said(rows_left([read(30, 10.5)], BODY, 30, 11, SWATCH, target_fabric=NEEDLE))
    assert near.measure_again_at is None or near.high - near.low > 2


def test_nonsense_is_refused() -> None:
    """Negative rows, no target and impossible levels are errors of the program."""
    for row, target, level in ((-1, 20, 0.9), (4, 0, 0.9), (4, 20, 1.0)):
        with pytest.raises(ValueError, match="sensible"):
            rows_left([], BODY, row, target, SWATCH, level=level)
    with pytest.raises(ValueError, match="before its own"):
        LengthReading(4, 2.0, NEEDLE, from_row=5)
    with pytest.raises(ValueError, match="more than none"):
        GaugePrior(0, NEEDLE)


def test_readings_that_no_swatch_agrees_with_are_survived() -> None:
    """Eleven centimetres after a million rows: a refusal, not a root of less than nothing."""
    reading = LengthReading(999_998, 11.0, NEEDLE, "piece")
    prior = GaugePrior(9.99999, Fabric.RESTED, 0.03, "piece", "null")
    parts = [PartSpan("piece", 1, None)]
    found = rows_left([reading, reading], parts, 999_998, 100.0, prior, target_fabric=Fabric.WASHED)
    assert isinstance(found, CannotSay)


@pytest.mark.parametrize(
    ("row", "cm", "rows_per_10cm"), [(999_999, 100_000.0, 6.3e-4), (99, 11.0, 1e-7)]
)
def test_a_swatch_with_rows_of_kilometres_is_survived(
    row: int, cm: float, rows_per_10cm: float
) -> None:
    """Two readings of one row drown in what such a swatch leaves open; that ends nothing."""
    prior = GaugePrior(rows_per_10cm, NEEDLE, 0.03, "body")
    found = rows_left([read(row, cm)] * 2, BODY, row, 4000.0, prior, target_fabric=Fabric.WASHED)
    assert isinstance(found, RowsLeft | CannotSay)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 400), st.floats(0.0, 300.0), st.sampled_from(list(Fabric))),
        max_size=8,
    ),
    st.integers(0, 400),
    st.floats(0.5, 300.0),
    st.one_of(st.none(), st.floats(4.0, 80.0)),
)
def test_any_readings_give_an_answer(
    raw: list[tuple[int, float, Fabric]], row_now: int, target: float, rows: float | None
) -> None:
    """Whatever was measured, the answer is an interval in order or an honest refusal."""
    readings = [LengthReading(row, cm, fabric, "body") for row, cm, fabric in raw]
    prior = GaugePrior(rows, Fabric.WASHED) if rows else None
    found = rows_left(readings, BODY, row_now, target, prior)
    if isinstance(found, RowsLeft):
        assert 0 <= found.low <= found.best <= found.high
    else:
        assert found.measure_again_at >= row_now


# --- measurements that cannot be ---------------------------------------------------------------


def test_thirty_for_thirteen_is_doubted() -> None:
    """After 14.5 cm at row 41, 15.5 cm at row 43 can be and 50 cm cannot."""
    known = [read(41, 14.5)]
    assert doubtful(known, read(43, 15.5), SWATCH, BODY) is None
    found = doubtful(known, read(43, 50), SWATCH, BODY)
    assert isinstance(found, Doubtful)
    assert found.low_cm < 15.2 < found.high_cm
    assert found.expected_cm == pytest.approx(15.2, abs=0.3)


@pytest.mark.parametrize(("row", "true", "heard"), [(36, 13.0, 30.0), (84, 30.0, 13.0)])
def test_teens_and_tens_are_told_apart(row: int, true: float, heard: float) -> None:
    """With only a swatch the true length passes and the one that sounds like it does not."""
    assert doubtful([], read(row, true), UNWASHED) is None
    assert doubtful([], read(row, heard), UNWASHED) is not None


def test_nothing_known_still_knows_knitting() -> None:
    """40 cm in two rows cannot be, whatever the yarn; 15 cm in 43 can."""
    assert doubtful([], read(2, 40)) is not None
    assert doubtful([], read(43, 15)) is None


def test_an_honest_ruler_is_not_nagged() -> None:
    """Half a centimetre more or less is never asked about."""
    known = [read(10, 3.6), read(20, 7.2), read(30, 10.8)]
    for off in (-0.5, 0.5):
        assert doubtful(known, read(40, 14.4 + off), UNWASHED, BODY) is None


# --- calibration --------------------------------------------------------------------------------


def test_nine_in_ten_simulated_pieces_are_held() -> None:
    """Over 360 simulated pieces of all kinds the 90 % interval holds about nine in ten, and each
    kind at least 80 % (60 pieces of a kind may be 5 % off by chance).
    """
    held: dict[Kind, list[bool]] = {kind: [] for kind in Kind}
    for kind in Kind:
        for seed in range(500_000, 500_060):
            piece = simulate(kind, seed)
            found = ours(piece)
            if isinstance(found, RowsLeft):
                held[kind].append(found.low <= piece.rows_left <= found.high)
    shares = {kind: sum(hits) / len(hits) for kind, hits in held.items()}
    pooled = sum(map(sum, held.values())) / sum(map(len, held.values()))
    assert 0.86 <= pooled <= 0.95, shares
    assert min(shares.values()) >= 0.8, shares
    assert not any(math.isnan(share) for share in shares.values())
