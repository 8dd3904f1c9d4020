"""Single lines as designers write them, with the stitches before and after by hand."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, instead, read_pattern

LINES = [
    (40, "Row 1: k2, *yo, k2tog; rep from * to last 2 sts, k2", 40),
    (41, "1st Row: (RS). K1. *P1. K1. Rep from * to end of row.", 41),
    (60, "At beg of next 2 rows, BO 4 sts.", 52),
    (60, "BO 4 sts at the beg of the next 2 rows, then 2 sts at beg of foll 4 rows", 44),
    (60, "Cast on 12 sts at beg of next 2 rows", 84),
    (60, "Next row: patt 25, cast off next 10 sts, patt to end", 50),
    (50, "Inc 1 st at each end of 5th and every foll 8th row until there are 70 sts", 70),
    (46, "Dec 1 st at beg of next row and every following alternate row 5 times more", 40),
    (30, "Dec 1 st at neck edge on next 4 rows then on foll 3 alt rows", 23),
    (40, "Row 9: k4, kfb, k to last 5 sts, kfb, k4. (2 sts increased)", 42),
    (40, "Row 1: Sl 1, k1, psso, k to last 2 sts, k2tog", 38),
    (24, "Rnd 4: *Sl 2 tog kwise, k1, p2sso, k5; rep from * around", 18),
    (12, "Row 1: Knit into front and back of each st. 24 sts", 24),
    (80, "Next rnd: *K8, M1; rep from * around, 90 sts", 90),
    (60, "Next row (WS): Purl, decreasing 4 sts evenly across. 56 sts.", 56),
    (66, "Row 6: knit, inc 6 sts evenly across row (72 sts)", 72),
    (65, "Next row: K6, [k2tog, k5] 8 times, k2tog, k1 \N{EN DASH} 56 sts", 56),
    (20, "Row 2: p2tog, purl until 8 sts remain, p2tog, p to end", 18),
    (30, "Next row: BO 6, k until there are 10 sts on right needle, k2tog, k to end", 23),
    (10, "Row 7: k4, [k1, yo, k1, yo, k1] into next st, k to end", 14),
    (10, "Row 7: k4, kyok, k to end", 12),
    (14, "Row 8: k4, p5tog, k to end", 10),
    (20, "Row 9: inc in next st, k to last st, inc in last st", 22),
    (41, "K1, (yo, k2tog tbl) to last 2 sts, k2", 41),
    (33, "Next row: K2tog across to last st, K1. 17 sts.", 17),
    (40, "Row 3: sl next 4 sts onto cn and hold in back, k4, k4 from cn, k to end", 40),
    (24, "Row 1: (k2, C4F, T3B, k3) twice", 24),
    (24, "Row 1: k2 MC, *k1 CC, k1 MC; rep from * to end", 24),
    (40, "Knit one row, purl one row", 40),
    (40, "Rnd 7: k1, (ssk, k5, k2tog, k1) x 3, k to end", 34),
    (40, "Row 4: Purl 2 together, purl to last 2 stitches, purl two together", 38),
    (40, "Row 4: K2 tog tbl, k to end", 39),
    (40, "Row 1: yfwd, sl1, k1, psso, yrn, p2tog, k to end", 40),
    (16, "Row 5: BO 5, k11", 11),
]


@pytest.mark.parametrize(("before", "line", "after"), LINES, ids=[line for _, line, _ in LINES])
def test_a_line_leaves_what_it_says(before: int, line: str, after: int) -> None:
    """The line is read, fits the stitches before it and leaves those after it."""
    text = f"title = 'x'\ncast_on = {before}\nrows = [{json.dumps(line)}]"
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    (verdict,) = document.check()
    assert verdict.ok, verdict.problems
    assert verdict.counts[-1].stitches == after


UNREAD = [
    ("Row 1: k2, frobnicate, k2", "frobnicate", "w&t"),
    ("Row 1: k3 tgoether, k to end", "tgoether", "k"),
    ("Row 1: k3, k2tgo, k to end", "tgo", "k2tog"),
    ("Row 1: sssl, k to end", "sssl", "sssk"),
]


@pytest.mark.parametrize(("line", "word", "near"), UNREAD)
def test_what_cannot_be_read_is_pointed_at(line: str, word: str, near: str) -> None:
    """The problem stands at the line and column of the word; what can be read there is known."""
    text = f"title = 'x'\ncast_on = 24\nrows = [\n{json.dumps(line)}]"
    problems = read_pattern(text, row_reader())
    assert isinstance(problems, tuple)
    (problem,) = problems
    assert (problem.line, problem.column) == (4, line.index(word) + 2)
    assert f"'{word}'" in problem.message
    document = read_pattern(text, row_reader(), in_spite=True)
    assert isinstance(document, PatternDocument)
    found = instead(document, problem, row_reader())
    assert found is not None
    assert found.words[0] == near
