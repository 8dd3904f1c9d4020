"""Headings whose rows differ from size to size, rows that are "every round of the rib", hems."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, Problem, read_pattern


def read(cast_on: str, *rows: str, sizes: tuple[str, ...] = ()) -> PatternDocument | Problem:
    """Return the pattern of rounds, or what cannot be read of it."""
    lines = [
        "title = 'x'",
        f"sizes = {json.dumps(list(sizes))}" if sizes else "",
        f"cast_on = {json.dumps(cast_on)}",
        "in_the_round = true",
        f"rows = {json.dumps(list(rows))}",
    ]
    found = read_pattern("\n".join(lines), row_reader())
    return found if isinstance(found, PatternDocument) else found[0]


def rows_of(document: PatternDocument, size: str | None = None) -> int:
    """Return how many rows the parts of a size have together."""
    return sum(part.node.rows for part in document.course(size).parts)


HEADINGS = [
    ("Rounds 3 to 8 (10): knit", (8, 10)),
    ("Rnds 3-8 [10]: knit", (8, 10)),
    ("Rnds 3 through 8 (10): knit", (8, 10)),
]


@pytest.mark.parametrize(("heading", "rows"), HEADINGS)
def test_the_last_row_of_a_heading_differs_by_size(heading: str, rows: tuple[int, int]) -> None:
    """Each size works its own rows, and none is missing after them."""
    lines = ("Rnd 1: knit", "Rnd 2: purl", heading)
    document = read("20 (24)", *lines, sizes=("S", "L"))
    assert isinstance(document, PatternDocument), document
    for verdict, size, number in zip(document.check(), ("S", "L"), rows, strict=True):
        assert verdict.ok, verdict.problems
        assert verdict.warnings == ()
        assert rows_of(document, size) == number


def test_a_heading_for_other_sizes_is_refused() -> None:
    """Rows for two sizes in a pattern of three sizes are pointed at."""
    problem = read("20 (24, 28)", "Rnds 1 to 8 (10): knit", sizes=("S", "M", "L"))
    assert isinstance(problem, Problem)
    assert "2 numbers stand here" in problem.message


def test_every_round_of_the_rib_is_like_the_first() -> None:
    """The rounds up to the next number are worked like the one that says so."""
    lines = ("Round 1 (and every round of the rib): k2, p2, repeat around.", "Round 7: knit")
    document = read("20", *lines)
    assert isinstance(document, PatternDocument), document
    assert document.check()[0].ok
    assert rows_of(document) == 7


HEMS = [
    (
        "Joining rnd: Undo provisional cast-on and place the 20 sts on a dpn; fold hem and *k"
        "1 from front needle tog with 1 from back needle; rep from * around. 20 sts"
    ),
    "Next rnd: fold hem to inside, *k next st tog with its loop of cast-on edge; rep from * around",
    "Next rnd (hem): *knit 1 from front and 1 from back needle together; rep from * around",
]


@pytest.mark.parametrize("hem", HEMS)
def test_a_hem_is_closed_stitch_by_stitch(hem: str) -> None:
    """Each stitch takes one of the cast-on edge with it: the count stays."""
    document = read("20", "Knit 6 rnds.", "Purl 1 rnd.", "Knit 6 rnds.", hem)
    assert isinstance(document, PatternDocument), document
    (verdict,) = document.check()
    assert verdict.ok, verdict.problems
    assert verdict.counts[-1].stitches == 20


def test_two_needles_without_a_hem_are_refused() -> None:
    """Where nothing says that a hem is closed, both needles may hold stitches of the piece."""
    problem = read("20", "Rnd 1: *k1 from front needle tog with 1 from back needle; rep from *")
    assert isinstance(problem, Problem)
    assert "which edge is joined" in problem.message
