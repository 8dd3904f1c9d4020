"""
What a stitch takes and leaves, and what a row makes of the stitches before it.

The abbreviations are those of the Craft Yarn Council's master list of knitting abbreviations
(the list itself from memory, the meanings as three independent glossaries explain them); the sums
are arithmetic.
"""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import document_of
from engine.pattern import PatternDocument
from engine.pattern.stitches import STITCHES, cable, together


@pytest.mark.parametrize(
    ("names", "takes", "leaves"),
    [
        (["k", "p", "sl"], 1, 1),
        (["kfb", "pfb"], 1, 2),
        (["yo", "m1", "m1l", "m1r"], 0, 1),
        (["k2tog", "p2tog", "ssk", "ssp", "skp"], 2, 1),
        (["k3tog", "p3tog", "sk2p", "s2kp"], 3, 1),
        (["c4f", "c4b", "2/2 rc"], 4, 4),
    ],
)
def test_what_a_stitch_takes_and_leaves(names: list[str], takes: int, leaves: int) -> None:
    """Loops off the left needle, loops on the right one."""
    for name in names:
        if name.endswith("tog"):
            stitch = together(name[0], int(name[1]))
        elif name[0] in "c2":
            stitch = cable(name)
        else:
            stitch = STITCHES[name]
        assert (stitch.takes, stitch.leaves) == (takes, leaves), name


@pytest.mark.parametrize(
    ("row", "before", "after"),
    [
        ("k40", 40, 40),
        ("k1, kfb, k to last 2 sts, kfb, k1", 40, 42),
        ("k1, ssk, k to last 3 sts, k2tog, k1", 42, 40),
        ("*k2, p2; rep from *", 40, 40),
        ("*k2, p2; rep from * to last 2 sts, k2", 42, 42),
        ("*yo, k2tog; rep from *", 40, 40),
        ("*k8, k2tog; rep from *", 80, 72),
        ("*k7, k2tog; rep from *", 72, 64),
        ("k28, BO 24 sts, k28", 80, 56),  # 28 and 28, apart
    ],
)
def test_a_row_adds_up(row: str, before: int, after: int) -> None:
    """Before and after each row, as the table of such rows has them."""
    text = f'title = "Row"\ncast_on = {before}\nrows = ["Row 1 (RS): {row}"]\n'
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    (verdict,) = read.check()
    assert not verdict.problems
    place = read.course().where({}, 1)
    assert (place.before, place.after, place.checked) == (before, after, True)


@pytest.mark.parametrize(("stitches", "over"), [(99, True), (100, True), (98, False), (102, False)])
def test_a_rib_of_four_plus_two_fits_or_not(stitches: int, over: bool) -> None:  # noqa: FBT001 (a column)
    """98 and 102 are multiples of four plus two; 99 and 100 are not, and that is said."""
    row = "*k2, p2; rep from * to last 2 sts, k2"
    read = document_of(f'title = "Rib"\ncast_on = {stitches}\nrows = ["Row 1 (RS): {row}"]\n')
    assert isinstance(read, PatternDocument)
    (verdict,) = read.check()
    assert bool(verdict.problems) is over
