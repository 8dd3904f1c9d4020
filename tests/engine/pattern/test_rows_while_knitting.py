"""Side, instruction and expected count of rows while they are knitted, worked out by hand."""

from __future__ import annotations

import json

from app.pieces.pattern_cache import row_reader
from engine.pattern import Course, PatternDocument, read_pattern


def course(cast_on: int, *rows: str) -> Course:
    """Return the course of rows that add up."""
    text = f"title = 'x'\ncast_on = {cast_on}\nrows = {json.dumps(list(rows), ensure_ascii=False)}"
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    assert document.check()[0].ok, document.check()[0].problems
    return document.course()


def expected(
    made: Course, rows: int, ended: dict[str, int] | None = None
) -> list[tuple[str, int | None]]:
    """Return side and expected count of the first rows."""
    places = [made.where(ended or {}, number) for number in range(1, rows + 1)]
    return [(str(place.side)[0], place.after) for place in places]


def test_every_right_side_row_shapes_on_right_side_rows_alone() -> None:
    """Three RS rows are rows 3, 5 and 7: two rows of binding off end on the wrong side."""
    made = course(
        50, "BO 5 sts at beg of next 2 rows, then dec 1 st at both ends of foll 3 RS rows. 34 sts"
    )
    assert expected(made, 7) == [
        ("r", 45), ("w", 40), ("r", 38), ("w", 38), ("r", 36), ("w", 36), ("r", 34),
    ]  # fmt: skip
    assert made.last_row({}) == 7


def test_a_row_that_names_its_side_tells_the_sides_before_it() -> None:
    """After three knitted rows of which nothing else is said, a fourth (RS) began on the wrong."""
    made = course(20, "K 3 rows", "Row 1 (RS): k", "Row 2: p")
    assert [side for side, _ in expected(made, 5)] == ["w", "r", "w", "r", "w"]


def test_sides_that_were_told_are_not_told_anew() -> None:
    """A row that names a side which does not follow begins there, as it is written."""
    made = course(20, "Row 1 (RS): k", "K 2 rows", "Next row (WS): p")
    assert [side for side, _ in expected(made, 4)] == ["r", "w", "r", "w"]
    made = course(20, "Row 1 (RS): k", "K 1 row", "Next row (WS): p")
    assert [side for side, _ in expected(made, 3)] == ["r", "w", "w"]


def test_a_row_again_keeps_to_its_own_side() -> None:
    """Row 2 as row 1 (RS) is a wrong-side row."""
    made = course(20, "Row 1 (RS): *k1, p1; rep from * to end", "Row 2: Rep row 1")
    assert [side for side, _ in expected(made, 2)] == ["r", "w"]


def test_words_of_a_row_belong_to_its_count_and_those_after_it_do_not() -> None:
    """Fastened off in the row itself none is left; drawn up afterwards, the row leaves its own."""
    assert expected(course(2, "Next row: k2tog and fasten off"), 1) == [("r", 0)]
    after = course(4, "Next row: k2tog twice", "Break yarn and thread through rem sts")
    assert expected(after, 1) == [("r", 2)]
    assert after.where({}, 2).after == 0


def test_the_last_row_of_an_open_part_counts_what_is_made_on_it() -> None:
    """Ended after row 4, the rib leaves 22 stitches on row 2 and 26 after row 4."""
    made = course(
        22, "Row 1: *k2, p2; rep from * to last 2 sts, k2", "Row 2: *p2, k2; rep from * to last 2 "
        "sts, p2", "Rep last 2 rows until work measures 5 cm, inc 4 sts evenly across last row. "
        "26 sts", "K 1 row",
    )  # fmt: skip
    (loop,) = made.loops
    assert [after for _, after in expected(made, 5, {loop.id: 4})] == [22, 22, 22, 26, 26]


def test_work_even_never_says_a_repeat_that_does_not_fit() -> None:
    """A set-up round for 20 stitches is not what is worked on 22; 'as set' is."""
    made = course(
        20, "Row 1 (RS): *p1, k8, p1, pm; rep from * once more", "Row 2: p",
        "Row 3: inc 1, k to last st, inc 1. 22 sts", "Work 3 rows even",
    )  # fmt: skip
    for number in (4, 5, 6):
        assert "k8" not in str(made.where({}, number).instruction)
        assert made.where({}, number).after == 22


def test_work_even_goes_on_in_the_pattern_that_was_said_last() -> None:
    """A rib from the beginning does not come back once stockinette was said."""
    made = course(
        22, "Row 1 (RS): K2, *p2, k2; rep from * to end", "Row 2: P2, *k2, p2; rep from * to end",
        "Work 4 rows in st st", "Dec 1 st at each end of next row. 20 sts", "P 1 row",
        "Work 2 rows even",
    )  # fmt: skip
    assert [str(made.where({}, row).instruction) for row in (9, 10)] == ["k to end", "p to end"]


def test_a_cord_that_is_slid_back_stays_on_the_right_side() -> None:
    """Rows that are not turned are all right-side rows, whether written, repeated or measured."""
    cord = "Row 1 (RS): K4, do not turn, slide sts to other end of needle"
    made = course(4, cord, "Rep row 1 5 times more", "Next row: k2tog twice", "Next row: p")
    assert [side for side, _ in expected(made, 8)] == ["r"] * 7 + ["w"]
    made = course(4, cord, "Rep row 1 until cord measures 5 cm", "Next row: k2tog twice")
    (loop,) = made.loops
    for last in (4, 5):
        sides = [side for side, _ in expected(made, last + 1, {loop.id: last})]
        assert sides == ["r"] * (last + 1)


def test_work_that_is_turned_on_its_side_is_no_cord() -> None:
    """Stitches picked up along the edge after "do not turn" are a row like others."""
    made = course(3, "K 6 rows", "Do not turn; pick up and k 3 sts along the side edge. 6 sts", "P")
    assert [side for side, _ in expected(made, 8)][-2:] == ["r", "w"]
