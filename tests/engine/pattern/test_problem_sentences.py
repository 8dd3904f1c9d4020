"""Sentences about counts: verb and number agree, the limit is named, and so is what would fit."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import document_of
from engine.pattern import PatternDocument
from engine.pattern.problems import are, count_differs, counted


def sentence(cast_on: int, *rows: str) -> str:
    """Return the only problem of a pattern."""
    lines = ", ".join(f'"{row}"' for row in rows)
    read = document_of(f'title = "x"\ncast_on = {cast_on}\nrows = [{lines}]\n')
    assert isinstance(read, PatternDocument), read
    (verdict,) = read.check()
    (problem,) = verdict.problems
    return problem.message


def test_one_is_and_two_are() -> None:
    """Numbers and verbs agree."""
    assert (counted(1), counted(2), are(1), are(0)) == ("1 stitch", "2 stitches", "is", "are")
    assert count_differs(1, 2) == "1 stitch is on the needle after this, 2 are stated."
    assert count_differs(2, 1) == "2 stitches are on the needle after this, 1 is stated."


OVER = "{over} would be left over: a repeat of {step} has {room} stitches to fill; with {fit}"
MARKED = ("Row 1: k8, pm, k to end", "Row 2: k to m, sm, k to end")


@pytest.mark.parametrize(
    ("cast_on", "rows", "over", "step", "room", "fit"),
    [
        (41, ["*k1, p1; rep from * to end"], "1 stitch", 2, "41", "40 or 42 cast on"),
        (56, ["*k2, p2; rep from * to last 2 sts, k2"], "2 stitches", 4, "54 of 56", "54 or 58"),
        (40, ["k2tog, k to end", "*k1, p1; rep from * to end"], "1 stitch", 2, "39", "38 or 40"),
    ],
)
def test_what_a_repeat_leaves_over(
    cast_on: int, rows: list[str], over: str, step: int, room: str, fit: str
) -> None:
    """The repeat, the room that it has, and the nearest numbers: to cast on before any shaping."""
    named = [f"Row {number}: {row}" for number, row in enumerate(rows, 1)]
    said = sentence(cast_on, *named)
    assert said.startswith(OVER.format(over=over, step=step, room=room, fit=fit))
    where = "cast on" if len(rows) == 1 else "in the row"
    assert said.endswith(f"{fit.removesuffix(' cast on')} {where} it would fit.")


@pytest.mark.parametrize(
    ("cast_on", "row", "said"),
    [
        (12, "k11", "1 stitch would be left over: 12 are there; it needs 11."),
        (12, "k13", "1 stitch too few is on the needle: 12 are there; it needs 13."),
        (1, "k3", "2 stitches too few are on the needle: 1 is there; it needs 3."),
    ],
)
def test_a_row_of_one_width(cast_on: int, row: str, said: str) -> None:
    """How many are there and how many it needs."""
    assert sentence(cast_on, f"Row 1: {row}") == said


def test_a_marker_in_another_place() -> None:
    """By how many stitches it is missed, and what would meet it."""
    passed = "The marker was passed 1 stitch before this; with 1 stitch fewer before it this would"
    assert sentence(20, *MARKED, "Row 3: k9, sm, k to end").startswith(passed)
    later = "The marker comes only after 2 stitches more; work them before it, or place the marker"
    assert sentence(20, *MARKED, "Row 3: k6, sm, k to end").startswith(later)
