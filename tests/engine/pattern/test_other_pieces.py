"""Stitches of other pieces taken up within a row, and pieces that begin with them."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern


def verdict_on(*pieces: tuple[str, int | None, tuple[str, ...]]) -> SizeVerdict:
    """Return what the check says of pieces: title, cast-on, rows."""
    tables = [
        "\n".join(
            [
                "[[piece]]",
                f"title = {json.dumps(title)}",
                *([f"cast_on = {cast_on}"] if cast_on is not None else []),
                f"rows = {json.dumps(list(rows))}",
            ]
        )
        for title, cast_on, rows in pieces
    ]
    document = read_pattern("\n".join(["title = 'x'", *tables]), row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


LINING = ("Pocket lining", 12, ("Work 10 rows in st st", "Leave sts on a holder."))
FLAPS = ("Earflaps (make 2)", 9, ("Knit 12 rows.", "Break yarn and leave sts on spare needle."))
BACK = ("Back", 40, ("K 2 rows.", "Cast off 12 sts at beg of next 2 rows. 16 sts.",
                     "Leave rem sts on a holder for neck."))  # fmt: skip
FRONT = ("Front", 40, ("K 2 rows.", "Next row: k12, place next 10 sts on a holder, k18"))

POCKETS = [
    "Next row: k10, place next 12 sts on a holder, k across 12 sts of pocket lining, k to end. 40",
    "Next row: k10, place next 12 sts on holder and in their place k across 12 sts of lining, k18",
    "Next row: k10, slip next 12 sts onto a holder, k across sts of pocket lining, k to end",
]


@pytest.mark.parametrize("row", POCKETS)
def test_a_lining_takes_the_place_of_a_pocket(row: str) -> None:
    """The stitches of the lining are worked where those of the pocket were laid aside."""
    verdict = verdict_on(LINING, ("Front", 40, (row, "Next row: p to end. 40 sts.")))
    assert verdict.ok, verdict.problems
    assert verdict.counts[-1].stitches == 40


def test_a_lining_with_other_stitches_is_found() -> None:
    """The lining's own rows say how many stitches it leaves."""
    row = "Next row: k10, place next 13 sts on a holder, k across 13 sts of pocket lining, k17"
    (problem,) = verdict_on(LINING, ("Front", 40, (row,))).problems
    assert problem.off_by == -1
    assert "12 stitches are left by 'Pocket lining', 13 are taken up." in problem.message


FLAP_ROWS = [
    "Next row: k10, k9 across first earflap, cast on 6 sts, k 9 sts from second earflap. 34 sts.",
    (
        "Onto needle holding the 10 sts just cast on, k9 across first earflap, co 6, k across 2nd "
        "earflap. 34 sts."
    ),
]


@pytest.mark.parametrize("row", FLAP_ROWS)
def test_earflaps_are_taken_up_between_stitches_that_are_cast_on(row: str) -> None:
    """A piece that is made twice is taken up twice."""
    verdict = verdict_on(FLAPS, ("Hat", 10, (row,)))
    assert verdict.ok, verdict.problems
    assert verdict.counts[-1].stitches == 34


NECKBANDS = [
    (
        "With RS facing, k16 from back neck holder, pick up and k 11 sts down left front neck, k10 "
        "from front holder, pick up and k 11 sts up right front neck. 48 sts."
    ),
    (
        "Pick up and k 11 sts down left front neck, k 10 sts from front neck holder, pick up and k "
        "11 sts up right front neck, k across 16 sts from back holder. 48 sts."
    ),
]


@pytest.mark.parametrize("row", NECKBANDS)
def test_a_neckband_begins_with_stitches_of_other_pieces(row: str) -> None:
    """What is worked from the holders and what is picked up add up to the neckband."""
    front = (FRONT[0], FRONT[1], (*FRONT[2][:1], "Next row: cast off 15 sts, k10, cast off 15 sts",
                                  "Leave sts on a holder."))  # fmt: skip
    verdict = verdict_on(BACK, front, ("Neckband", None, (row, "Purl 1 row. 48 sts.")))
    assert verdict.ok, verdict.problems
    wrong = row.replace("48", "50")
    (problem,) = verdict_on(BACK, front, ("Neckband", None, (wrong,))).problems
    assert problem.off_by == -2


def test_what_no_piece_has_left_is_not_taken_up() -> None:
    """In a pattern of one piece nothing can be worked from a holder that holds nothing."""
    verdict = verdict_on(("Hat", 10, ("Row 1: k10, k 9 sts from earflap. 19 sts.",)))
    assert not verdict.ok


def test_held_stitches_come_where_they_are_worked() -> None:
    """A marker behind stitches that are taken in stays at its stitch."""
    rows = (
        "Row 1: k5, place next 4 sts on a holder, k3, pm, k to end",
        "Row 2: p8, sm, p to end",
        "Row 3: k5, k 4 sts from holder, k to m, sm, k to end. 20 sts.",
    )
    verdict = verdict_on(("x", 20, rows))
    assert verdict.ok, verdict.problems
