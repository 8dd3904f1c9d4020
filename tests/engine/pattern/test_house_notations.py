"""What the houses write differently: sizes with slashes, colours in headings, steps, needles."""

from __future__ import annotations

import json

import pytest

from app.courses import row_reader
from engine.pattern import PatternDocument, Problem, Verdict, read_pattern


def read(
    lines: tuple[str, ...], cast_on: str = "40", *, sizes: str = "", head: str = ""
) -> PatternDocument | tuple[Problem, ...]:
    """Return the pattern of these lines; `sizes` are parted by commas, `head` is more TOML."""
    text = "\n".join(
        [
            'title = "Lines"',
            f"cast_on = {json.dumps(cast_on)}",
            f"sizes = {json.dumps(sizes.split(','))}" if sizes else "",
            head,
            f"rows = {json.dumps(lines, ensure_ascii=False)}",
        ]
    )
    return read_pattern(text, row_reader())


def verdicts(
    *lines: str, cast_on: str = "40", sizes: str = "", head: str = ""
) -> tuple[Verdict, ...]:
    """Return what the check says of these lines, for every size."""
    document = read(lines, cast_on, sizes=sizes, head=head)
    assert isinstance(document, PatternDocument), document
    return document.check()


def last_counts(
    *lines: str, cast_on: str = "40", sizes: str = "", head: str = ""
) -> list[int | None]:
    """Return the stitches after the last line, for every size; everything has to be right."""
    said = verdicts(*lines, cast_on=cast_on, sizes=sizes, head=head)
    assert all(verdict.ok for verdict in said), [verdict.problems for verdict in said]
    return [verdict.counts[-1].stitches for verdict in said]


def refusal(*lines: str, cast_on: str = "40", sizes: str = "", head: str = "") -> str:
    """Return the first thing that is wrong with these lines, in any size."""
    document = read(lines, cast_on, sizes=sizes, head=head)
    if not isinstance(document, PatternDocument):
        return document[0].message
    return next(problem.message for verdict in document.check() for problem in verdict.problems)


ROUND = "in_the_round = true"


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Work 4/6/8 rnds in k2, p2 rib", [8, 12, 16]),
        ("Work 4/6/8 rounds even", [8, 12, 16]),
        ("Next rnd: k2/4/6, k2tog, k to end", [7, 11, 15]),
        ("Next rnd: *k2, k2tog; rep from * around. 6/9/12 sts", [6, 9, 12]),
        ("Work even until piece measures 1½/2/2½ in", [8, 12, 16]),
        ("Work even until piece measures 12/14/15.5 cm", [8, 12, 16]),
        ("Work 2/2 rib for 4/6/8 rnds", [8, 12, 16]),
    ],
)
def test_slashes_part_the_sizes(line: str, after: list[int]) -> None:
    """Numbers and lengths with slashes between them are one for each size."""
    assert last_counts(line, cast_on="8/12/16", sizes="S,M,L", head=ROUND) == after


def test_two_sizes_with_a_slash_are_two_numbers() -> None:
    """Like "k8/9": eight or nine stitches, where the pattern has two sizes."""
    line = "Row 1: k8/9, k2tog, k to end. 19/21 sts"
    assert last_counts(line, cast_on="20/22", sizes="S,M") == [19, 21]


def test_a_slash_is_not_guessed_at() -> None:
    """A slash in a pattern of one size is refused; a crossing and half an inch are not sizes."""
    assert "2 numbers stand here" in refusal("Row 1: k8/9, k2tog, k to end")
    assert "2 numbers stand here" in refusal("Work 10/12 rows even")
    assert last_counts("Row 1: 2/2 LC, 2/1 RPC, k to end") == [40]
    assert last_counts("Work even until piece measures 3/4 in") == [40]


def test_a_marker_at_the_join_is_the_beginning_of_the_round() -> None:
    """It is passed unsaid: "to first marker" means the first one within the round."""
    lines = (
        "Join, pm.",
        "Rnd 1: k16, pm, m1, pm, k to end.",
        "Rnd 2: k to first marker, sm, m1l, k to next marker, m1r, sm, k to end. 35 sts",
        "Next rnd: k to m, remove m, place next 3 sts on scrap yarn, remove m, k to end.",
    )
    assert last_counts(*lines, cast_on="32", head=ROUND) == [32]


def test_a_marker_at_every_corner_comes_round_again() -> None:
    """The last of the corners is where the round begins, whether a marker lies there or not."""
    lines = (
        "Rnd 1: *pm, k10; rep from * around.",
        "Rnd 2: *k to 2 sts before m, k2tog, sm; rep from * around. 36 sts",
    )
    assert last_counts(*lines, head=ROUND) == [36]
