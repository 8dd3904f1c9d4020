"""Lines for some of the sizes only: named on a line of their own, or by a dash in the count."""

from __future__ import annotations

from engine.pattern import PatternDocument
from tests.engine.pattern.test_house_notations import last_counts, read, refusal, verdicts

SIZES = "S,M,L"
TWENTY = "20 (24, 28)"


def test_sizes_named_on_a_line_of_their_own_hold_up_to_all_sizes() -> None:
    """Only the named sizes work the lines up to "All sizes:", which all of them work again."""
    lines = (
        "Row 1: k",
        "Sizes M and L only:",
        "Row 2: k2tog, k to end. - (23, 27) sts",
        "Size L only:",
        "Row 3: k2tog, k to end",
        "All sizes:",
        "Row 4: kfb, k to end",
    )
    assert last_counts(*lines, cast_on=TWENTY, sizes=SIZES) == [21, 24, 27]


def test_every_sentence_of_a_row_is_for_the_sizes_that_it_names_first() -> None:
    """What follows a row for some sizes in the same text is for the same sizes."""
    both = "Sizes M and L only: Next row: k2tog, k to end. Bind off 2 sts at beg of next 2 rows."
    lines = ("Row 1: k", both, "Next row: k")
    assert last_counts(*lines, cast_on=TWENTY, sizes=SIZES) == [20, 19, 23]


def test_a_size_that_the_count_leaves_out_leaves_the_row_out() -> None:
    """A dash in the count behind a row says that the size does not work it."""
    lines = ("Row 1: k", "Row 2: k2tog, k to end. - (23, 27) sts", "Row 3: k")
    assert last_counts(*lines, cast_on=TWENTY, sizes=SIZES) == [20, 23, 27]


def test_a_row_with_a_number_for_a_size_that_its_count_leaves_out_is_refused() -> None:
    """A number and a dash for the same size are at odds: nothing is guessed."""
    said = refusal(
        "Row 1: k8 (9, 10), k2tog, k to end. - (23, 27) sts", cast_on=TWENTY, sizes=SIZES
    )
    assert said == "The count has a dash for this size, but the row has a number for it."


def test_sizes_on_a_line_of_their_own_need_an_end() -> None:
    """Where it is not said how far a size goes, nothing is guessed; one line alone is clear."""
    begun = ("Row 1: k", "Size L only:", "Next row: k2tog, k to end")
    assert last_counts(*begun, cast_on=TWENTY, sizes=SIZES) == [20, 24, 27]
    said = refusal(*begun, "Next row: k2tog, k to end", cast_on=TWENTY, sizes=SIZES)
    assert said == 'Say where it goes on for all sizes: "All sizes:" as a line of its own.'


def test_a_section_may_be_for_one_size() -> None:
    """Sizes named in the first line of a section hold to its end."""
    lines = ("Size M only:", "Row 1: k2tog, k to end", "Row 2: k2tog, k to end")
    said = verdicts(*lines, cast_on=TWENTY, sizes=SIZES)
    assert [one.ok for one in said] == [True, True, True]
    assert [one.counts[-1].stitches if one.counts else None for one in said] == [None, 22, None]


def test_the_distance_of_shapings_may_differ_from_size_to_size() -> None:
    """Every 8 (6, 4)th row is every sixth row for the second size; a dash leaves it out."""
    for said in ("8 (6, 4)th", "8th (6th, 4th)", "8:6:4th", "8 [6, 4]th"):
        line = f"Inc 1 st each end of every {said} row 3 (4, 6) times. 26 (32, 40) sts"
        whole = verdicts(line, cast_on=TWENTY, sizes=SIZES)
        assert [one.ok for one in whole] == [True] * 3, said
    lines = ("Row 1: k", "Dec 1 st each end of every 4 (-, 6)th row 2 (-, 2) times")
    document = read(lines, TWENTY, sizes=SIZES)
    assert isinstance(document, PatternDocument)
    assert [one.counts[-1].stitches for one in document.check()] == [16, 24, 24]
    assert [document.course(size).last_row({}) for size in ("S", "M", "L")] == [9, 1, 13]
