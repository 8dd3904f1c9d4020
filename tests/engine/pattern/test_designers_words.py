"""Wordings of modern houses, with the stitches before and after by hand."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern
from tests.engine.pattern.test_house_notations import ROUND, last_counts, read, refusal, verdicts

LINES = [
    ("12", ("K3, yo, k6, yo, k3\N{EM DASH}14 sts",), 14),
    ("100", ("Next row (RS): K28, BO next 44 sts for neck, k to end. 28 sts rem each side.",), 56),
    ("100", ("Row 1: k28, BO 44, k to end", "Place both sets of shoulder sts on holders."), 0),
    ("100", ("Row 1: k28, BO 44, k to end", "Place both sets of 28 sts on holders."), 0),
    ("40", ("Crown Shaping", "Dec row: *k8, k2tog; rep from * to end", "Heel turn:"), 36),
    ("40", ("Row 1: k", "Row 2: k2tog, k to end", "Rep [Rows 1 and 2] 4 more times. 35 sts"), 35),
    ("20", ("Next row: K12, turn, leaving rem 8 sts on a holder",
            "Next row: K across 12 sts, K across 8 sts from second holder"), 20),
    ("40", ("BO loosely as follows: k2, *slip 2 back, k2tog tbl, k1; rep from *. Cut yarn.",), 0),
    ("40", ("Rep row 1 (unchecked): as before (40 sts)", "Work a 3-st i-cord bind-off."), 0),
    ("12", ("Beg at left shoulder, k to end",), 12),
    ("12", ("Row 1: k", "Continue in rib for 5 cm"), 12),
    ("12", ("Row 1: k", "Work 4 rows in seed st across all sts."), 12),
    ("12", ("Row 1: k", 'Work until piece measures 17 in, or 2" less than desired length.'), 12),
    ("3", ("Work an i-cord for 10 cm.",), 3),
    ("40", ("[Purl 1 row, knit 1 row] 3 times. (40 sts)", "k2tog, k to end"), 39),
    ("40", ("With MC:", "Row 1: k2tog, k to end"), 39),
    ("40", ("C6F: slip 3 sts to cn in front, k3, k3 from cn.", "Row 1: C6F, k to end"), 40),
    ("28", ("Row 1: k1, *sl 1, k1; rep from * over next 12 sts, k to end",), 28),
    ("28", ("Row 1: knit. 28 sts: 10 sts each for front and back, 4 sts for each sleeve.",), 28),
    ("28", ("Row 1: knit. 28 sts (10 sts for each sleeve, 8 sts for front)",), 28),
]  # fmt: skip


@pytest.mark.parametrize(("before", "lines", "after"), LINES, ids=lambda value: str(value)[:40])
def test_flat_lines_are_counted(before: str, lines: tuple[str, ...], after: int) -> None:
    """Each of these ways to say it leaves the count worked out by hand."""
    assert last_counts(*lines, cast_on=before, head="in_the_round = false") == [after]


ROUNDS = [
    ("24", ("Rnd 1: k12, pm, k12", "Rnd 2: K to m, rm, k all the way around"), 24),
    ("24", ("Rnd 1: k12, pm, k12",
            "Rnd 2: Purl, removing all markers except the beginning of round marker."), 24),
    ("24", ("Ribbing rnd: *k1, p1; rep from * to end",
            "Rep Ribbing rnd until brim measures 5 cm."), 24),
    ("24", ("Rnds 1-6: k (6 rnds)", "Stuff the body firmly.", "Rnd 7: *k2tog; rep from *"), 12),
    ("24", ("Rnds 1 and 2: k", "Rep Rnds 1 and 2 until cowl measures 20 cm, ending with Rnd 1 or 2",
            "Next rnd: *k2tog, k4; rep from *"), 20),
]  # fmt: skip


@pytest.mark.parametrize(("before", "lines", "after"), ROUNDS, ids=lambda value: str(value)[:40])
def test_rounds_are_counted(before: str, lines: tuple[str, ...], after: int) -> None:
    """Each of these ways to say it leaves the count worked out by hand, in the round."""
    assert last_counts(*lines, cast_on=before, head=ROUND) == [after]


def test_a_bind_off_of_a_part_is_not_one_of_everything() -> None:
    """An i-cord bind-off over some of the stitches is refused: what is left is not counted."""
    assert "cannot be read" in refusal("Row 1: k", "Work a 3-st i-cord bind-off over next 20 sts.")
    assert "cannot be read" in refusal("Work an i-cord bind-off until 3 sts remain")


def test_a_repeat_over_stitches_that_it_does_not_fit_is_refused() -> None:
    """A repeat of two over thirteen stitches is pointed at."""
    said = refusal("Row 1: *sl 1, k1; rep from * over next 13 sts, k to end")
    assert said == "A repeat of 2 does not end evenly over so many stitches."


def test_rows_in_brackets_are_worked_as_often_as_is_said() -> None:
    """Two rows three times are six rows; how many is the same for every size or by size."""
    document = read(("[Purl 1 row, knit 1 row] 3 (4) times.",), "20 (22)", sizes="S,M")
    assert isinstance(document, PatternDocument)
    assert [document.course(size).last_row({}) for size in ("S", "M")] == [6, 8]


def test_markers_are_not_asked_for_after_a_row_that_cannot_be_read() -> None:
    """Where a row could not be read, what it did to the markers is not held against the others."""
    rows = '"Rnd 1: k20, marvel. 40 sts", "Rnd 2: k to m, sm, k to second m, sm, ssk, k1"'
    text = f'title = "Lines"\ncast_on = 40\n{ROUND}\nrows = [{rows}]'
    document = read_pattern(text, row_reader(), in_spite=True)
    assert isinstance(document, PatternDocument)
    assert [problem.column for problem in document.check()[0].problems] == [22]


DIVIDED = ("Row 1: k38, turn; leave rem 62 sts on hold.", "Work 5 rows even. Place sts on holder.")


def test_the_other_side_is_taken_up_and_not_the_finished_one() -> None:
    """Yarn is joined to the stitches that are still to be worked, not to a finished shoulder."""
    joined = "With RS facing, rejoin yarn to held sts and k to end."
    assert last_counts(*DIVIDED, joined, cast_on="100") == [62]


def test_stitches_go_from_one_holder_to_another() -> None:
    """The needle has no part in it; the yarn is joined to the others."""
    parted = (
        "Slip first 24 sts from hold onto another holder for front neck, rejoin yarn, k to end."
    )
    assert last_counts(*DIVIDED, parted, cast_on="100") == [38]
    more = parted.replace("24", "64")
    assert refusal(*DIVIDED, more, cast_on="100") == "62 stitches are on hold, not 64."


def test_which_of_several_held_parts_is_meant_has_to_be_said() -> None:
    """Two sleeves are on hold: one of them is taken up by its number, without one none."""
    row = "Row 1: k20, place next 30 sts on holder, co 5, k20, place next 30 sts on holder, co 5"
    body = (row, "Row 2: p", "BO all sts")
    sleeve = "Place 30 held sts on needle, rejoin yarn, k to end"
    assert last_counts(*body, sleeve, cast_on="100") == [30]
    said = refusal(*body, sleeve.replace("30 ", ""), cast_on="100")
    assert said == "Stitches are on hold in several places; say how many are taken up."


def test_numbers_with_colons_are_no_name_before_a_row() -> None:
    """The first number of "14:16:16" ends no name."""
    lines = ("Row 1: k20, slip next 14:16:16 sts on to a holder, k to end", "BO",
             "Slip the 14:16:16 held sts back on needles, rejoin yarn, k to end")  # fmt: skip
    assert last_counts(*lines, cast_on="40:44:48", sizes="S,M,L") == [14, 16, 16]


def test_the_count_behind_repeated_rows_is_compared() -> None:
    """What is stated behind "Rows 3-4: Rep Rows 1-2" is for the rows that are repeated."""
    lines = ("Row 1: kfb, k to end", "Row 2: purl. 11 sts", "Rows 3-4: Rep Rows 1-2. {} sts")
    good = (*lines[:2], lines[2].format(12))
    assert last_counts(*good, cast_on="10") == [12]
    said = refusal(*lines[:2], lines[2].format(14), cast_on="10")
    assert said == "12 stitches are on the needle after this, 14 are stated."


def test_free_words_end_where_work_begins() -> None:
    """What stands after a comma behind free words is worked."""
    said = verdicts("Rnd 1: Stuff lightly, then k2tog, k to end", cast_on="20", head=ROUND)
    assert not said[0].problems
    assert said[0].counts[-1].stitches == 19
