"""Lines of another piece, up to a place that is named: "as for back to armhole shaping"."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern

BACK = """
title = "Slipover"
[[piece]]
title = "Back"
cast_on = 90
rows = [
  "Work 10 rows in st st",
  "Shape armholes: BO 6 sts at beg of next 2 rows. 78 sts",
  "Dec 1 st each end of next row. 76 sts",
  "Shape shoulders: BO 8 sts, k12 including st on needle, turn, leaving rem sts on a holder",
  "Next row: Cast off 4 sts, p to end",
  "Cast off rem 8 sts",
  "With RS facing, slip centre 36 sts onto a holder, rejoin yarn to rem sts, k to end. 20 sts",
  "Complete to match first side, reversing shapings",
]
[[piece]]
title = "Front"
cast_on = 90
rows = [
  "%s",
  "Next row: k",
]
"""


def counts(words: str) -> list[int | None] | None:
    """Return the counts of the front, or None where the words are refused."""
    document = read_pattern(BACK % words, row_reader())
    assert isinstance(document, PatternDocument)
    verdict = document.check()[0]
    front = BACK.splitlines().index('title = "Front"') + 1
    return [one.stitches for one in verdict.counts if one.line > front] if verdict.ok else None


@pytest.mark.parametrize(
    "words",
    [
        "Work same as back to armholes",
        "Same as back to armholes.",
        "Work as for back to beg of armhole shaping",
        "Work as given for back as far as the armholes",
    ],
)
def test_the_lines_before_the_place_that_is_named_are_worked(words: str) -> None:
    """Nothing is bound off on the front where the back's lines end at its armholes."""
    assert counts(words) == [90, 90]


def test_a_later_place_takes_more_lines() -> None:
    """Up to the shoulders the armholes are among them."""
    assert counts("Work as for back to shoulder shaping") == [90, 78, 76, 76]


@pytest.mark.parametrize("place", ["waist", "end of armhole shaping"])
def test_a_place_that_no_line_begins_is_refused(place: str) -> None:
    """Where it is not clear which line the words mean, the whole of the back is not taken."""
    assert counts(f"Work as for back to {place}") is None


def test_a_shoulder_that_the_dividing_row_bound_off_is_bound_off_again() -> None:
    """The second side of the back ends with no stitches, as the first did."""
    document = read_pattern(BACK % "Work 2 rows in st st", row_reader())
    assert isinstance(document, PatternDocument)
    verdict = document.check()[0]
    assert verdict.ok
    second = BACK.splitlines().index('  "Complete to match first side, reversing shapings",') + 1
    assert [one.stitches for one in verdict.counts if one.line == second] == [12, 8, 0]
