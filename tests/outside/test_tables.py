"""The trade's tables against what their sources print, and against each other."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from itertools import pairwise

import pytest

from app import resources
from engine.plan.gauge import Count
from engine.plan.sizes_table import Child, read_sizes
from engine.plan.tables import (
    CategoryFit,
    care_of,
    read_care,
    read_needles,
    read_yarns,
)
from engine.quantities import centimetres, inches

YARNS = read_yarns(resources.text("shared/tables/yarn_categories.toml"))
NEEDLES = read_needles(resources.text("shared/tables/needles.toml"))
SIZES = read_sizes(resources.text("shared/tables/sizes.toml"))
CARE = read_care(resources.text("shared/tables/care.toml"))


@pytest.mark.parametrize(
    ("number", "name", "low", "high", "mm_low", "mm_high", "us_low", "us_high"),
    [
        # Craft Yarn Council, Standard Yarn Weight System.
        (0, "lace", 33, 40, "1.5", "2.25", "000", "1"),
        (1, "super fine", 27, 32, "2.25", "3.25", "1", "3"),
        (2, "fine", 23, 26, "3.25", "3.75", "3", "5"),
        (3, "light", 21, 24, "3.75", "4.5", "5", "7"),
        (4, "medium", 16, 20, "4.5", "5.5", "7", "9"),
        (5, "bulky", 12, 15, "5.5", "8", "9", "11"),
        (6, "super bulky", 7, 11, "8", "12.75", "11", "17"),
    ],
)
def test_yarn_categories(  # noqa: PLR0917 (the columns of the table)
    number: int, name: str, low: int, high: int, mm_low: str, mm_high: str, us_low: str,
    us_high: str,
) -> None:  # fmt: skip
    """Each category has its stitches and needles as the council prints them."""
    category = YARNS.categories[number]
    assert (category.number, category.name) == (number, name)
    assert category.stitches == (low, high)
    assert category.needle_mm == (Fraction(mm_low), Fraction(mm_high))
    assert category.needle_us == (us_low, us_high)
    for mm, us in zip(category.needle_mm, category.needle_us, strict=True):
        assert mm in NEEDLES.by_us(us), "both tables name the same needle"


def test_jumbo_has_open_ends() -> None:
    """Category 7 has no fewest stitches and no thickest needle."""
    jumbo = YARNS.categories[7]
    assert jumbo.stitches == (None, 6)
    assert jumbo.needle_mm == (Fraction("12.75"), None)
    assert YARNS.categories[-1] is jumbo


@pytest.mark.parametrize(
    ("stitches", "fit", "numbers"),
    [
        (18, CategoryFit.ONE, (4,)),
        (20, CategoryFit.ONE, (4,)),
        (23, CategoryFit.SEVERAL, (2, 3)),
        (24, CategoryFit.SEVERAL, (2, 3)),
        (Fraction("26.5"), CategoryFit.BETWEEN, (2, 1)),
        (Fraction("20.5"), CategoryFit.BETWEEN, (4, 3)),
        (Fraction("6.5"), CategoryFit.BETWEEN, (7, 6)),
        (3, CategoryFit.ONE, (7,)),
        (45, CategoryFit.FINER_THAN_ALL, (0,)),
    ],
)
def test_gauge_between_or_in_two(
    stitches: Fraction, fit: CategoryFit, numbers: tuple[int, ...]
) -> None:
    """A gauge in two categories, or between two, is answered with both."""
    answer = YARNS.by_stitches(stitches)
    assert answer.fit is fit
    assert tuple(category.number for category in answer.categories) == numbers


def test_gauge_counted_in_either_system() -> None:
    """20 stitches to 10 cm and 20 to 4 in are both the medium yarn that the trade calls so."""
    metric = YARNS.by_gauge(Count(Fraction(20), centimetres(10)))
    imperial = YARNS.by_gauge(Count(Fraction(5), inches(1)))
    assert [c.number for c in metric.categories] == [4]
    assert [c.number for c in imperial.categories] == [4]


@pytest.mark.parametrize(
    ("mm", "us", "uk"),
    [
        # "Needle numbers, United States and old United Kingdom": four general conversion tables,
        # none of a needle maker, seen in copies; at least three of them agree on these rows. US 1,
        # 3, 5, 7, 9 and 11 also stand in the Craft Yarn Council's table of categories above.
        ("2.0", "0", "14"), ("2.25", "1", "13"), ("2.75", "2", "12"), ("3.25", "3", "10"),
        ("3.5", "4", ""), ("3.75", "5", "9"), ("4.0", "6", "8"), ("4.5", "7", "7"),
        ("5.0", "8", "6"), ("5.5", "9", "5"), ("6.0", "10", "4"), ("6.5", "10 1/2", "3"),
        ("7.0", "", "2"), ("7.5", "", "1"), ("8.0", "11", "0"), ("9.0", "13", "00"),
        ("10.0", "15", "000"), ("25.0", "50", ""),
    ],
)  # fmt: skip
def test_needles(mm: str, us: str, uk: str) -> None:
    """Millimetres, US and old UK numbers are those that the tables agree on."""
    needle = NEEDLES.by_mm(Fraction(mm))
    assert needle is not None
    assert (needle.us, needle.uk) == (us, uk)
    if us:
        assert NEEDLES.by_us(us)[0] == Fraction(mm)
    if uk:
        assert NEEDLES.by_uk(uk) == (Fraction(mm),)


@pytest.mark.parametrize(
    ("number", "sizes"),
    [
        # The same four tables, where they differ.
        ("17", {"12.75", "12"}), ("19", {"15", "16"}), ("35", {"19"}), ("36", {"20"}),
        ("2 1/2", {"3"}), ("1½", {"2.5"}), ("10.5", {"6.5"}), ("US 7", {"4.5"}), ("99", set()),
    ],
)  # fmt: skip
def test_unsettled_needles(number: str, sizes: set[str]) -> None:
    """A number that means several sizes gives them all, in any spelling."""
    assert set(NEEDLES.by_us(number)) == {Fraction(size) for size in sizes}


@pytest.mark.parametrize("mm", ["2.5", "3", "7", "12", "12.75", "15", "16", "19", "20", "2.25"])
def test_disagreements_are_said(mm: str) -> None:
    """Where the four conversion tables differ the needle says so."""
    needle = NEEDLES.by_mm(Fraction(mm))
    assert needle is not None
    assert needle.disagreement


def test_needles_grow_with_their_numbers() -> None:
    """Millimetres grow with the US number, and the old UK numbers the other way."""
    numbers = [*map(str, range(11)), "10 1/2", "11", "13", "15", "17"]
    us = [NEEDLES.by_us(number)[0] for number in numbers]
    assert all(thin < thick for thin, thick in pairwise(us))
    old = [*map(str, range(14, -1, -1)), "00", "000"]
    uk = [NEEDLES.by_uk(number)[0] for number in old]
    assert all(thin < thick for thin, thick in pairwise(uk))
    alike = [needle.mm for needle in NEEDLES.needles if needle.us and needle.us == needle.uk]
    assert alike == [Fraction("4.5")], "only one size has the same number in both"


def test_old_leaflets_differ() -> None:
    """Leaflets of 1917 called English 8 American 5; today it is 6 (a transcribed leaflet)."""
    data = tomllib.loads(resources.text("shared/tables/needles.toml"))["old_leaflets"]
    then = dict(zip(data["english"], data["american"], strict=True))
    today = {needle.uk: needle.us for needle in NEEDLES.needles}
    assert then["8"] == "5"
    assert today["8"] == "6"


def test_stepping_along_the_needles() -> None:
    """A step up or down lands on a needle that exists, never on the same one."""
    up = NEEDLES.stepped(Fraction("4.5"), Fraction(1, 2))
    down = NEEDLES.stepped(Fraction("4.5"), Fraction(-1, 4))
    assert up.mm == 5
    assert down.mm == 4
    assert NEEDLES.stepped(Fraction("3.25"), Fraction(1, 4)).mm == Fraction("3.5")
    assert NEEDLES.stepped(Fraction(25), Fraction(1, 2)).mm == 20, "there is no thicker one"


@pytest.mark.parametrize(
    ("days", "boys_in", "girls_in"),
    [
        # WHO Child Growth Standards, head circumference-for-age (2007), medians in inches.
        (0, "13.57", "13.34"), (91, "15.95", "15.56"), (183, "17.06", "16.62"),
        (365, "18.14", "17.67"), (730, "19.00", "18.57"), (1095, "19.47", "19.10"),
        (1461, "19.77", "19.42"), (1826, "19.98", "19.65"),
    ],
)  # fmt: skip
def test_heads_of_children(days: int, boys_in: str, girls_in: str) -> None:
    """The medians of the growth standard come out in inches too."""
    point, same = SIZES.heads_at(days)
    assert point is same
    assert point.cm(Child.BOY) / 2.54 == pytest.approx(float(boys_in), abs=0.006)
    assert point.cm(Child.GIRL) / 2.54 == pytest.approx(float(girls_in), abs=0.006)


def test_head_centiles() -> None:
    """A centile is the median times one plus the spread times the normal deviate (L = 1)."""
    year, _ = SIZES.heads_at(365)
    assert year.cm(Child.BOY, 97.5) == pytest.approx(46.0637 * (1 + 0.02789 * 1.959964), abs=1e-4)


@pytest.mark.parametrize(
    ("days", "ages"),
    [
        (0, ("birth", "birth")), (14, ("birth", "1 month")), (365.25, ("1 year", "1 year")),
        (18 * 365.25 / 12, ("18 months", "18 months")), (555, ("18 months", "19 months")),
        (3 * 365.25, ("3 years", "3 years")), (5 * 365.25, ("5 years", "5 years")),
    ],
)  # fmt: skip
def test_between_the_ages_of_the_table_nothing_is_read(days: float, ages: tuple[str, str]) -> None:
    """An age that the table has is its row, another one lies between two; 5 years are in it."""
    below, above = SIZES.heads_at(days)
    assert (below.age, above.age) == ages
    for child in Child:
        assert below.cm(child) <= above.cm(child)


def test_every_month_of_the_growth_table() -> None:
    """All 61 months are there and run smoothly: no figure was copied wrong.

    From the second month on growth slows, by three tenths at most; a slip in a digit makes it jump.
    """
    assert [point.age for point in SIZES.heads][:3] == ["birth", "1 month", "2 months"]
    assert len({point.age for point in SIZES.heads}) == len(SIZES.heads) == 61
    for child in Child:
        a_day = [
            (late.cm(child) - early.cm(child)) / (late.days - early.days)
            for early, late in pairwise(SIZES.heads)
        ]
        for before, after in pairwise(a_day[1:]):
            assert 0.7 * before < after < before
        spreads = [point.spread[child] for point in SIZES.heads]
        assert all(abs(late - early) < 0.0015 for early, late in pairwise(spreads[1:]))


@pytest.mark.parametrize("days", [-2, 1828, 4000])
def test_no_age_beyond_the_growth_table(days: float) -> None:
    """Before birth and after five years the table says nothing."""
    with pytest.raises(ValueError, match="five years"):
        SIZES.heads_at(days)


def test_the_trades_toddler_is_a_baby() -> None:
    """The trade's toddler head (16 in) is the measured median of three months: the table warns."""
    toddler = next(size for size in SIZES.trade_heads if size.name == "toddler")
    assert toddler.low == inches(16)
    assert toddler.low.cm == pytest.approx(SIZES.heads_at(91)[0].cm(Child.BOY), abs=0.3)
    assert "three-month-old" in SIZES.trade_head_warning


def test_feet_and_flat_things() -> None:
    """Foot relations and flat sizes are as their (second-hand) sources have them."""
    assert SIZES.foot_relations["around_of_length"] == Fraction("0.95")
    assert dict(SIZES.flat)["crib blanket"] == (
        (inches(36), inches(52)), (inches(45), inches(60)),
    )  # fmt: skip
    lengths = [size for size in SIZES.feet if size.measure == "foot length"]
    assert [s.low for s in lengths if s.group == "women"] == [inches(n) for n in (9, 10, 11)]


def test_care_of_a_mixture() -> None:
    """The band's fibres are found, superwash is not taken for wool, and only wool felts."""
    both = care_of(CARE, "75% superwash wool, 25% polyamide")
    assert [fibre.name for fibre in both] == ["superwash wool", "polyamide"]
    wool = care_of(CARE, "100% Wool")
    assert [(fibre.name, fibre.felts) for fibre in wool] == [("wool", True)]
    assert "30 °C" in wool[0].wash
    assert care_of(CARE, "unobtainium") == ()


def test_every_table_names_its_source() -> None:
    """No table stands without a word on where it is from."""
    for path in resources.files("shared/tables", "*.toml"):
        assert "source" in path.read_text(encoding="utf-8"), path.name
