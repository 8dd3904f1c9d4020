"""Words beside the stitches that change which of them are live, over several lines."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern

ONE_SIDE = [
    ("Next row (RS): K20, turn and work on these 20 sts only.", 20),
    ("Dec 1 st at neck edge on next 5 rows.", 15),
    ("Cast off.", 0),
    ("With RS facing, rejoin yarn to rem sts, cast off 10 sts, k to end.", 20),
]
GAP_FIRST = [
    ("Next row: K20, bind off 10 sts, k to end.", 40),
    ("Working on these 20 sts only, dec 1 st at neck edge on next 5 rows.", 15),
]
FASTENED = [
    ("Next row: k2tog to end.", 25),
    ("Next row: k1, (k2tog) 12 times.", 13),
    ("Break yarn, draw through rem 13 sts and fasten off.", 0),
]
ONE_LEFT = [("Cast off 49 sts.", 1), ("Fasten off.", 0)]


def verdict_of(lines: list[str]) -> SizeVerdict:
    """Return what is said of a piece of 50 stitches with these rows, each on a line of its own."""
    rows = ",\n".join(json.dumps(line) for line in lines)
    document = read_pattern(f"title = 'x'\ncast_on = 50\nrows = [\n{rows}]", row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


@pytest.mark.parametrize("lines", [ONE_SIDE, GAP_FIRST, FASTENED, ONE_LEFT])
def test_stitches_that_wait_or_are_fastened_off_are_not_counted(
    lines: list[tuple[str, int]],
) -> None:
    """Each line leaves the stitches on which the next one is worked; the others wait."""
    verdict = verdict_of([words for words, _ in lines])
    assert verdict.ok, verdict.problems
    assert [count.stitches for count in verdict.counts] == [after for _, after in lines]


@pytest.mark.parametrize(
    ("lines", "off_by"),
    [
        (["Next row: K20, turn and work on these 25 sts only."], -5),
        (["Next row: k2tog to end.", "Break yarn, draw through rem 24 sts."], 1),
        (["Next row: k2tog to end.", "Fasten off last st."], 24),
    ],
)
def test_a_number_among_free_words_is_compared(lines: list[str], off_by: int) -> None:
    """A number that stands in such words and is not right is a problem with its difference."""
    assert [problem.off_by for problem in verdict_of(lines).problems] == [off_by]


def test_wraps_counted_as_yarn_overs_cannot_be_dropped_unsaid() -> None:
    """After "yo twice" the words "dropping extra wraps" are refused: so many are on the needle."""
    lines = ["Row 1: *K1, yo twice; rep from * to end.", "Row 2: Knit, dropping extra wraps."]
    assert "yarn overs" in verdict_of(lines).problems[0].message
    long = ["Row 1: *K1, wrapping yarn twice; rep from * to end.", lines[1]]
    assert [count.stitches for count in verdict_of(long).counts] == [50, 50]
