"""The first length without a swatch is held against what yarn, stitches or needle allow."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path

import pytest

from app.pieces.pattern_cache import document_of
from engine import commands, events
from engine.fabric import Fabric
from engine.facts.row_heights import YARN_CATEGORIES, row_heights
from engine.judging.plausible import doubtful_length
from engine.pattern import Course, PatternDocument
from engine.quantities import centimetres
from tests.engine.at_the_swatch import Work

TABLE = Path(__file__).parents[2] / "shared" / "tables" / "yarn_categories.toml"
STRIP = """
title = "Lantern strip"
cast_on = 40
{facts}
[[section]]
id = "body"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end",
        "Rep rows 1 and 2 until piece measures 38 cm from cast-on edge"]
"""


def strip(facts: str) -> Course:
    """Return a course whose pattern says these facts."""
    document = document_of(STRIP.format(facts=facts))
    assert isinstance(document, PatternDocument), document
    return document.course()


def doubted(work: Work, cm: str) -> bool:
    """Return whether a length from the cast-on is doubted."""
    command = commands.Measure(centimetres(Fraction(cm)), fabric=Fabric.ON_NEEDLE)
    return doubtful_length(work.state, work.course, command) is not None


@pytest.mark.parametrize(
    "facts",
    [
        'yarn = "Medium (category 4), 100 g to 200 m"',
        'yarn = "Aran, 100 g to 170 m"',
        'gauge = "18 sts to 10 cm"',
    ],
)
def test_ten_centimetres_more_than_the_yarn_allows_are_doubted(facts: str) -> None:
    """41 rows of medium yarn measure about 14.5 cm; 24.5 cm are doubted, and so are 4.5 cm."""
    work = Work(strip(facts)).knits(41)
    assert not doubted(work, "14.5")
    assert doubted(work, "24.5")
    assert doubted(work, "4.5")


def test_stitches_of_a_swatch_are_enough() -> None:
    """A swatch of which only stitches were counted says how high a row can be."""
    work = Work(strip("")).swatch(None, Fabric.WASHED, stitches=20).knits(41)
    assert doubted(work, "24.5")
    assert not doubted(work, "14.5")


def test_a_named_needle_is_better_than_nothing() -> None:
    """On 2.5 mm nobody gets 20 cm from 41 rows; without a needle that is not known."""
    work = Work(strip("")).knits(41)
    assert row_heights(work.state, work.course) is None
    assert not doubted(work, "20")
    work = Work(strip(""))
    work.happens(events.SwatchCounted(None, None, None, None, Fabric.WASHED, "2.5 mm")).knits(41)
    assert doubted(work, "20")
    assert not doubted(work, "12")


@pytest.mark.parametrize("stitches", [7, 11, 16, 20, 24, 32, 40])
@pytest.mark.parametrize("rows_of_a_stitch", [1.25, 1.4, 2.0])
def test_no_honest_length_of_its_gauge_is_doubted(stitches: int, rows_of_a_stitch: float) -> None:
    """Stockinette and garter of every yarn, measured after 20 and 80 rows, pass."""
    for rows in (20, 80):
        work = Work(strip(f'gauge = "{stitches} sts to 10 cm"')).knits(rows)
        cm = 10 * rows / (stitches * rows_of_a_stitch)
        assert not doubted(work, f"{cm:.1f}")


def test_the_categories_are_those_of_the_table() -> None:
    """Stitches and needles of every category are those of the Craft Yarn Council's table, but for
    the ends that it leaves open.
    """
    table = tomllib.loads(TABLE.read_text("utf-8"))["category"]
    for row, (fewest, most, thin, thick, _) in zip(table, YARN_CATEGORIES, strict=True):
        assert [fewest, most] == row["stitches"] or row["stitches"][0] == 0
        assert [thin, thick] == row["needle_mm"] or row["needle_mm"][1] == 0
