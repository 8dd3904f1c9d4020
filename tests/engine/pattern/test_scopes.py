"""Where and how often: what stands behind a row is worked by it, or the row is refused."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, Problem, read_pattern


def problems(*lines: str, cast_on: str = "40", sizes: str = "") -> tuple[Problem, ...]:
    """Return what is wrong with these lines, in any size."""
    text = f'title = "x"\n{sizes}\ncast_on = {cast_on}\nrows = {json.dumps(lines)}\n'
    document = read_pattern(text, row_reader(), in_spite=True)
    if not isinstance(document, PatternDocument):
        return document
    return tuple(problem for verdict in document.check() for problem in verdict.problems)


SCOPES = [
    "Rnd 1: K1, m1L, k to last st, m1R, k1 on each needle.",
    "Rnd 1: K1, m1L, k to last st, m1R, k1. On each needle.",
    "Rnd 1: K1, m1L, k to last st on each needle, m1R, k1.",
    "Rnd 1: K to last 2 sts of each needle, k2tog.",
    "Row 1: K1, ssk, k to last 3 sts, k2tog, k1. On both sides of the neck.",
    "Row 1: K to end, inc 1 st in each repeat.",
    "Row 1: Knit, dec 1 st on each needle.",
    "Next row: Dec 1 st on each sleeve.",
    "Next row: Bind off 5 sts at each needle.",
    "Dec 1 st at each end and at neck edge of next row.",
    "Next row: K2tog at each end and at centre.",
    "Next row: Dec 1 st at each end and in the middle.",
    "Next 2 rows: (RS) k1, ssk, k to end; (WS) purl.",
]


@pytest.mark.parametrize("line", SCOPES)
def test_what_is_done_in_several_places_is_not_done_once(line: str) -> None:
    """Needles, repeats, sides and ends beside the row multiply it: nothing of that is lost."""
    assert problems(line)


DEC_ROW = ("Row 1 (RS): K1, ssk, k to last 3 sts, k2tog, k1.", "Row 2: P.")


@pytest.mark.parametrize(
    "line",
    [
        "Rep rows 1-2 without shaping once more.",
        "Rep row 1 on every RS row and row 2 on every WS row 4 times.",
        "Row 3: K2tog, k to end, 3 times in total.",
        "Next row: K5, k2tog, k to last 7 sts, ssk, k5; on alternate sides.",
        "Cont to dec at neck edge only every 4th row, 3 times more.",
        "Next row: Knit, inc 1 st in every st.",
        "Next row: (K2tog across) twice.",
        "Next row: K2tog across. Rep once more.",
    ],
)
def test_rows_are_repeated_as_the_words_say(line: str) -> None:
    """Rows without their shaping, rows in turns, a row and its times: nothing is passed over."""
    assert not problems(*DEC_ROW)
    assert problems(*DEC_ROW, line)


@pytest.mark.parametrize(
    "line",
    [
        "Next row: K20, m1 (second size only), k to end.",
        "Next row: K2tog (M and L only), k to end.",
        "Next row: K2tog (not for the smallest size), k to end.",
        "Next row: K2tog (larger sizes), k to end.",
        "Next row: K2tog [for S and M], k to end.",
        "Next row: K2tog (L), k to end.",
    ],
)
def test_stitches_of_some_sizes_are_not_worked_in_all(line: str) -> None:
    """A size in brackets within a row is a condition, no remark."""
    assert problems(line, cast_on="[40, 44, 48]", sizes='sizes = ["S", "M", "L"]')


def test_each_of_the_next_rows_is_no_end_of_the_row() -> None:
    """One stitch at the neck edge on each of four rows is four stitches, not eight."""
    assert not problems("Dec 1 st at neck edge on each of next 4 rows. 36 sts.")


@pytest.mark.parametrize(
    "line",
    [
        "Row 1: Knit 20, turn (10 sts unworked at each end).",
        "Row 1: K20, turn. 10 sts remain unwrapped in the center.",
        "Next rnd: K10, pm, k10, pm, k20; the rnd marker is the fourth marker.",
    ],
)
def test_a_note_with_a_number_is_compared_or_refused(line: str) -> None:
    """How many stitches wait, and which marker it is, are numbers and no mere words."""
    assert problems("Join in the round." if "rnd" in line else "Knit 1 row.", line)


def test_over_how_many_gaps_an_unread_row_left_is_not_guessed() -> None:
    """Stitches cast on "over those cast off" by a row that was not read: asked, not one gap."""
    lines = (
        "Row 4 (unchecked): K4, buttonholes as you like to make them. (30 sts)",
        "Row 5. K to end, casting on 2 sts over those cast off.",
    )
    assert "how many gaps" in problems(*lines)[-1].message


def test_so_many_rows_in_all_after_several_rows_is_asked() -> None:
    """Of one row it means that row; after two it may mean both, or the last: refused."""
    assert not problems("Rib row: *K2, p2; rep from * to end. Work 14 rows in all.")
    assert problems("Row 1: K2tog, k to end. Row 2: P. Work 14 rows in all.")
    assert problems("Row 1: K2tog, k to end.", "Row 2: P. Work 14 rows in all.")
