"""Stitches bound off within a row: markers among them, gaps that are bridged again."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern


def verdict_in_rounds(cast_on: int, *rows: str) -> SizeVerdict:
    """Return what the check says of rounds that are read without a problem."""
    text = f"title = 'x'\ncast_on = {cast_on}\nin_the_round = true\nrows = {json.dumps(list(rows))}"
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


SIDES = "Rnd 1: k10, pm for side, k20, pm for side, k to end"


@pytest.mark.parametrize(
    "armholes",
    [
        "Next rnd: *k to 2 sts before m, bo 4, removing marker; rep from * once, k to end",
        "Next rnd: k8, bind off next 4, removing side marker, k16, bo 4, remove marker, k8",
    ],
)
@pytest.mark.parametrize(
    "steek",
    [
        "Next rnd: *k to bound-off sts, CO 5 sts for armhole steek; rep from * once more, k to end",
        "Next rnd: k to bound-off sts, CO 5 sts, k to bound-off sts, CO 5 sts, k to end",
    ],
)
def test_armholes_are_bound_off_over_their_markers(armholes: str, steek: str) -> None:
    """A marker among bound-off stitches is taken away; each gap is bridged where it is."""
    verdict = verdict_in_rounds(40, SIDES, armholes, steek, "Next rnd: k to end. 42 sts.")
    assert verdict.ok, verdict.problems


def test_a_marker_that_is_not_there_is_not_removed() -> None:
    """Where no marker stood among the bound-off stitches, removing one is a fault."""
    lines = ("Rnd 1: k10, pm, k to end", "Next rnd: k20, BO 4 sts, removing marker, k to end")
    verdict = verdict_in_rounds(40, *lines)
    assert not verdict.ok
