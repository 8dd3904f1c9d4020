"""Rows that end in grafting, rows picked up along edges, and "rep these 2 rows"."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern


def verdict_on(cast_on: int, *rows: str) -> SizeVerdict:
    """Return what the check says of rows that are read without a problem."""
    text = f"title = 'x'\ncast_on = {cast_on}\nrows = {json.dumps(list(rows))}"
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


GRAFTED = [
    "Next row (RS): Sl 1, k9. Fold hood in half with WS tog and graft the two sets of 10 sts.",
    "Next row: k10. Fold in half and graft the stitches together using Kitchener stitch.",
    "Next row: k to end, graft both sets of 10 sts together",
]


@pytest.mark.parametrize("row", GRAFTED)
def test_a_row_that_ends_in_grafting_leaves_nothing(row: str) -> None:
    """Half a row and the stitches of the other half are joined: none is live afterwards."""
    verdict = verdict_on(20, "Row 1: k to end", row)
    assert verdict.ok, verdict.problems
    assert verdict.counts[-1].stitches == 0


@pytest.mark.parametrize(
    ("row", "off_by"),
    [
        ("Next row: k10. Fold in half and graft the two sets of 11 sts.", -2),
        ("Next row: k9. Fold in half and graft the sts together.", 11),
    ],
)
def test_halves_that_do_not_fit_are_found(row: str, off_by: int) -> None:
    """Two sets of another number, or a fold beside the middle, do not go unnoticed."""
    (problem,) = verdict_on(20, "Row 1: k to end", row).problems
    assert problem.off_by == off_by


def test_an_edge_is_picked_up_on_the_right_side() -> None:
    """After binding off on the right side the next edge is picked up on the right side, too."""
    verdict = verdict_on(
        6,
        "Knit 12 rows.",
        "BO 5 sts; 1 st rem.",
        "Turn work 90 degrees clockwise, pick up and knit 5 sts along side edge. 6 sts",
        "Knit 11 rows, ending with a WS row.",
    )
    assert verdict.ok, verdict.problems
    assert verdict.warnings == ()


@pytest.mark.parametrize(
    "words",
    [
        "Rep these 2 rows 3 more times",
        "Work these two rows 3 times more",
        "Rep these 2 rows until 12 sts rem",
    ],
)
def test_these_rows_are_the_last_so_many(words: str) -> None:
    """The number behind "these" says which rows are repeated."""
    shaped = ("Next row: ssk, k to last 2 sts, k2tog", "Next row: p to end")
    verdict = verdict_on(20, "Row 1: k to end", *shaped, words)
    assert verdict.ok, verdict.problems
    assert verdict.counts[-1].stitches == 12


def test_what_remains_after_the_row_is_grafted() -> None:
    """The number that remains is compared with what the row leaves, not with what it began with."""
    row = "Next row: k1, k3tog, k2. Break yarn, graft or BO rem {} sts."
    assert verdict_on(6, "Row 1: k to end", row.format(4)).ok
    (problem,) = verdict_on(6, "Row 1: k to end", row.format(5)).problems
    assert problem.off_by == -1
