"""Pieces beside their reference: tolerances, what is odd, and when there is a chart."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from engine.batch.alike import Odd, Oddity, batch_of
from engine.batch.piece_traits import PieceTraits, knitting_seconds
from engine.batch.tolerance import allowed, holding, usual
from engine.forecast.pace import RowStamp
from engine.quantities import Length, LengthUnit, centimetres, grams, inches
from engine.stages import Trait
from engine.state import Tolerance

PARTS = (("Lower rib", 4), ("Body", 42), ("Upper rib", 4))
FIRST = PieceTraits(
    "Bottle sleeve",
    piece="first",
    finished=True,
    rows=50,
    stitches=54,
    parts=PARTS,
    length=centimetres(18),
    width=centimetres(26),
    weight=grams(28),
    needles=((1, "4.5 mm"),),
    lots=((0, "4107"),),
    minutes=120.0,
)


def like_first(number: int, **other: object) -> PieceTraits:
    """Return a piece like the first but for what is named."""
    piece = replace(FIRST, name=f"Bottle sleeve {number}", piece=f"piece {number}", number=number)
    return replace(piece, **other)  # type: ignore[arg-type]


def test_the_trades_tolerances() -> None:
    """Rows are equal, lengths within half a centimetre or a quarter inch, twice that over 30 cm."""
    cm, inch = LengthUnit.CM, LengthUnit.IN
    assert allowed(usual(Trait.ROWS, 50, cm), 50) == 0
    assert allowed(usual(Trait.LENGTH, 30, cm), 30) == pytest.approx(0.5)
    assert allowed(usual(Trait.LENGTH, 30.1, cm), 30.1) == pytest.approx(1.0)
    assert allowed(usual(Trait.WIDTH, 26, inch), 26) == pytest.approx(0.635)
    assert allowed(usual(Trait.WIDTH, 60, inch), 60) == pytest.approx(1.27)
    assert allowed(usual(Trait.WEIGHT, 28, cm), 28) == pytest.approx(1.4)
    assert allowed(usual(Trait.STITCH_GAUGE, 20, cm), 20) == pytest.approx(0.5)
    assert allowed(usual(Trait.ROW_GAUGE, 28, cm), 28) == pytest.approx(1.0)


def test_her_own_tolerance_goes_first() -> None:
    """A tolerance in inches that she set holds in the place of the trade's; others stay."""
    own = (Tolerance(Trait.LENGTH, inches(Fraction(1, 8)), None),)
    assert allowed(holding(Trait.LENGTH, 18, LengthUnit.CM, own), 18) == pytest.approx(0.3175)
    assert allowed(holding(Trait.WIDTH, 18, LengthUnit.CM, own), 18) == pytest.approx(0.5)
    off = batch_of("sleeves", FIRST, [like_first(2, length=centimetres(Fraction(184, 10)))], own)
    assert [one.trait for one in off.pieces[0].beyond] == [Trait.LENGTH]


def test_just_at_the_tolerance_is_the_same() -> None:
    """Half a centimetre more is still the same, a millimetre beyond it is not."""
    at, over = centimetres(Fraction(185, 10)), centimetres(Fraction(186, 10))
    found = batch_of("sleeves", FIRST, [like_first(2, length=at), like_first(3, length=over)])
    assert [bool(one.beyond) for one in found.pieces] == [False, True]


def test_the_odd_one_is_told_with_its_causes() -> None:
    """Two rows more come from the body, with a new needle at row 30 and rows that felt loose."""
    odd = like_first(
        5,
        rows=52,
        parts=(("Lower rib", 4), ("Body", 44), ("Upper rib", 4)),
        length=centimetres(Fraction(197, 10)),
        needles=((1, "4.5 mm"), (30, "5 mm")),
        loose=(31, 34, 38),
    )
    found = batch_of("sleeves", FIRST, [FIRST, like_first(2), like_first(3), odd])
    assert [one.odd for one in found.pieces] == [False, False, False, True]
    told = found.pieces[3]
    assert [(one.trait, round(one.by, 1)) for one in told.beyond] == [
        (Trait.ROWS, 2.0),
        (Trait.LENGTH, 1.7),
        (Trait.ROW_GAUGE, -1.4),
    ]
    assert told.oddities == (
        Oddity(Odd.PART, 2, text="Body"),
        Oddity(Odd.NEEDLE_AT, row=30, text="5 mm"),
        Oddity(Odd.LOOSE, 3, 31),
    )


@pytest.mark.parametrize(
    ("other", "oddity"),
    [
        ({"lots": ((0, "4108"),)}, Oddity(Odd.OTHER_LOT, text="4108")),
        ({"lots": ((0, "4107"), (20, "4108"))}, Oddity(Odd.MANY_LOTS, row=20, text="4108")),
        ({"needles": ((1, "5 mm"),)}, Oddity(Odd.OTHER_NEEDLE, text="5 mm")),
        ({"stitches": 52}, Oddity(Odd.STITCHES, -2)),
    ],
)
def test_what_it_was_made_with_is_odd_by_itself(other: dict[str, object], oddity: Oddity) -> None:
    """Another dye lot, needle or cast-on is told although all that is measured is the same."""
    found = batch_of("sleeves", FIRST, [FIRST, like_first(2, **other)])
    assert oddity in found.pieces[1].oddities


def test_tight_rows_alone_make_no_odd_piece() -> None:
    """That a row felt tight explains what is odd; by itself it is not told."""
    found = batch_of("sleeves", FIRST, [FIRST, like_first(2, tight=(3, 9))])
    assert not found.pieces[1].odd


def test_what_the_reference_lacks_is_the_middle_of_the_others() -> None:
    """Without a weight of the reference three others have one; two are too few to judge by."""
    plan = PieceTraits("the plan", rows=50)
    weights = [grams(28), grams(27), grams(35)]
    pieces = [like_first(at, weight=one) for at, one in enumerate(weights, 2)]
    found = batch_of("sleeves", plan, pieces)
    assert dict(found.wanted)[Trait.WEIGHT] == 28
    assert Trait.WEIGHT in found.from_rest
    assert [one.odd for one in found.pieces] == [False, False, True]
    assert Trait.WEIGHT not in dict(batch_of("sleeves", plan, pieces[:2]).wanted)


def test_pieces_of_which_nothing_is_known_are_not_judged() -> None:
    """A piece that was never measured has no differences and is not odd."""
    bare = PieceTraits("Bottle sleeve 9", finished=True)
    found = batch_of("sleeves", FIRST, [FIRST, bare])
    assert found.pieces[1].differences == ()
    assert not found.pieces[1].odd


def test_a_chart_needs_twenty_pieces_of_one_maker() -> None:
    """Nineteen of one hand and one of another have no chart; the twentieth makes it."""
    lengths = [Length(Fraction(180 + place * 7 % 5, 10), LengthUnit.CM) for place in range(20)]
    mine = [
        like_first(place, length=one, maker="the guide", ended=f"2026-01-{place + 1:02}")
        for place, one in enumerate(lengths)
    ]
    by_two = [*mine[:19], replace(mine[19], maker="the cook")]
    assert batch_of("sleeves", FIRST, by_two).charts == ()
    charts = batch_of("sleeves", FIRST, mine).charts
    assert [one.trait for one in charts] == [Trait.LENGTH, Trait.WIDTH, Trait.WEIGHT, None]
    assert charts[0].values == tuple(one.cm for one in lengths)
    assert charts[1].chart.coarse, "twenty equal widths make no limits"


def test_a_pause_is_no_knitting() -> None:
    """An hour away counts as the row it was; rows of another process are not timed by it."""
    stamps = [RowStamp(row, row * 60.0, "a") for row in range(1, 11)]
    stamps += [RowStamp(11, 600 + 3600.0, "a"), RowStamp(12, 5.0, "b")]
    assert knitting_seconds(stamps) == pytest.approx(12 * 60)
    assert knitting_seconds(stamps[:3]) is None
