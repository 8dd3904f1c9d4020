"""Charts: which squares, which repeats, which direction, and the mirror for left-handers."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.pieces.pattern_cache import document_of
from app.printing.chart import charts_of
from app.printing.chart_drawing import CELL, chart_in_letters, draw_chart
from app.printing.chart_rows import own_numbers
from app.printing.compose import compose
from app.printing.data import print_data
from app.printing.shapes import Area, LineShape, Words
from app.printing.squares import Cell, Chart, Mark
from app.printing.walked import walk
from engine.limits import STEPS_OF_PRINT, Allowance
from engine.pattern import PatternDocument
from tests.app.printing.made_up import composed, document

if TYPE_CHECKING:
    from app.printing.sheet import PieceSheet

GAUGE = Fraction(28)


def charts(name: str, size: str | None = None) -> dict[str, Chart]:
    """Return the charts of a pattern by their titles."""
    found = charts_of(walk(document(name).course(size), GAUGE))
    return {", ".join(chart.titles): chart for chart in found}


def letters(chart: Chart) -> list[str]:
    """Return a chart in letters without spaces, the top row first."""
    return ["".join(line.split()) for line in chart_in_letters(chart, print_data().signs)]


def test_rib_is_one_repeat_and_its_edge_with_numbers_where_rows_begin() -> None:
    """K2, p2 over 4n + 2: four stitches in the frame, two left of it; both ribs share the chart."""
    chart = charts("mug-sleeve")["Lower rib, Upper rib"]
    # The frame [ ] holds what comes again; row 1 is numbered at its right end, row 2 at its left.
    assert letters(chart) == ["2||[--||]", "||[--||]1"]
    assert (chart.frame, chart.times, chart.again) == ((2, 4), 12, (1, 2))


def test_purls_of_wrong_side_rows_are_drawn_as_they_look_from_the_right_side() -> None:
    """The seam stitches, knitted on the wrong side, are purls on the right side."""
    assert letters(charts("mug-sleeve")["Body"]) == ["2-[|]-", "|[|]|1"]


def test_a_crown_is_drawn_as_one_of_its_equal_parts() -> None:
    """Eight parts of 10 stitches come down to one: ten rows with a decrease at their left end."""
    chart = charts("crew-cap", "S")["Crown"]
    assert chart.parts == 8
    assert [row.width for row in chart.rows][::2] == [10, 9, 8, 7, 6, 5, 4, 3, 2, 1]
    assert all(row.leftwards for row in chart.rows)
    decreases = [row.cells[0].mark.stitch for row in chart.rows[::2]]
    assert set(decreases) == {"k2tog"}
    assert "Body" not in charts("crew-cap", "S")


def test_lace_repeats_eight_stitches_and_six_rows() -> None:
    """The frame lies left of the first stitch, as the star of row 1 says."""
    chart = charts("lace")["Lace"]
    assert letters(chart) == [
        "6[||||||||]|",
        "[|||OEO||]|5",
        "4[||||||||]|",
        "[||O/|\\O|]|3",
        "2[||||||||]|",
        "[|O/|||\\O]|1",
    ]
    assert (chart.times, chart.again) == (3, (1, 6))


def test_the_key_explains_every_sign_of_the_charts_and_no_other() -> None:
    """A sign with two meanings says which is on which side."""
    words = {entry.letter: entry.words for entry in composed("lace").sheet.pieces[0].key}
    assert words == {
        "|": "knit on the right side, purl on the wrong side",
        "O": "yarn over",
        "/": "k2tog",
        "\\": "ssk",
        "E": "sk2p",
    }
    cap = {entry.letter: entry.words for entry in composed("crew-cap").sheet.pieces[0].key}
    assert cap == {"|": "knit", "-": "purl", "/": "k2tog"}


def test_sizes_that_share_rows_have_one_chart() -> None:
    """The crown of S is the upper part of L's: one chart, with a number for each size."""
    sheet = composed("crew-cap").sheet.pieces[0]
    assert [chart.title for chart in sheet.charts] == ["Brim", "Crown"]
    crown = sheet.charts[1].figure.letters
    # By hand: L has 23 rounds, S begins with L's fifth, M with L's third.
    assert crown[0].endswith("19 (21, 23)")
    assert crown[-5].endswith("1 (3, 5)")
    assert crown[-3].endswith("- (1, 3)")
    assert crown[-1].endswith("- (-, 1)")
    alone = [chart.title for chart in composed("crew-cap", "M").sheet.pieces[0].charts]
    assert alone == ["Brim", "Crown"]


def test_sizes_that_only_look_alike_have_their_own_charts() -> None:
    """Other squares in one row, and each size is drawn for itself."""
    text = """title = "x"
sizes = ["S", "L"]
cast_on = "12 (18)"
in_the_round = true
rows = [
  "Size L only: Rnd 1: *k7, k2tog; rep from * around",
  "Rnd 2: *k4 (6), k2tog; rep from * around",
  "Size S only: Rnd 3: *ssk, k3; rep from * around",
  "Size L only: Rnd 3: *k5, k2tog; rep from * around",
]
"""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    titles = [c.title for c in compose(read, print_data()).sheet.pieces[0].charts]
    assert titles == ["x, size S", "x, size L"]


def test_rows_without_numbers_are_numbered_as_their_chart_is() -> None:
    """Words and chart of the crown give the same number to the same round, for every size."""
    piece = composed("crew-cap").sheet.pieces[0]
    numbers = [row.number for row in piece.parts[2].rows]
    assert numbers[:3] == ["1", "2", "3"]
    assert numbers[16:21] == ["17", "- (-, 18)", "- (-, 19)", "- (18, 20)", "- (19, 21)"]
    assert numbers[21:] == ["18 (20, 22)", "19 (21, 23)", ""]
    assert [row.number for row in piece.parts[0].rows] == ["", "", ""], "rnd 1 has its own number"


@pytest.mark.parametrize("name", ["mug-sleeve", "crew-cap", "lace"])
def test_a_mirrored_chart_has_everything_on_the_other_side(name: str) -> None:
    """Squares, frame and numbers change sides; mirrored twice it is the same chart."""
    for chart in charts(name).values():
        mirrored = chart.mirrored()
        assert mirrored.mirrored() == chart
        for row, other in zip(chart.rows, mirrored.rows, strict=True):
            assert other.cells == row.cells[::-1]
            assert other.leftwards is not row.leftwards
            assert row.indent + row.width + other.indent == chart.columns


def test_what_leans_to_the_right_leans_to_the_left_in_the_mirror() -> None:
    """The stroke of k2tog rises to the right, and to the left for a left-hander."""
    chart = charts("crew-cap", "S")["Crown"]
    signs = print_data().signs
    drawings = (
        draw_chart(chart, signs, "x"),
        draw_chart(chart.mirrored(), signs, "x", mirrored=True),
    )
    slopes = []
    for drawing in drawings:
        strokes = [one for one in drawing.shapes if isinstance(one, LineShape)]
        assert len(strokes) == 10
        slopes.append({(one.x2 - one.x1) * (one.y2 - one.y1) < 0 for one in strokes})
    assert slopes == [{True}, {False}]


def test_row_numbers_are_drawn_at_the_side_where_the_row_begins() -> None:
    """In a flat chart odd numbers stand right of the squares and even ones left."""
    chart = charts("lace")["Lace"]
    drawing = draw_chart(chart, print_data().signs, "x")
    numbers = [one for one in drawing.shapes if isinstance(one, Words) and one.anchor != "middle"]
    assert {one.text for one in numbers} == {"1", "2", "3", "4", "5", "6"}
    middle = drawing.width / 2
    for one in numbers:
        assert (one.x > middle) is (int(one.text) % 2 == 1)
        assert abs(one.x - middle) > chart.columns * CELL / 2


def unrolled(chart: Chart, row: int) -> tuple[Cell, ...]:
    """Return a row of a chart with its repeats worked out again."""
    cells = chart.rows[row].cells
    if chart.frame is None:
        return cells * chart.parts
    first, count = chart.frame
    return (
        *cells[:first],
        *cells[first : first + count] * chart.times,
        *cells[first + count :],
    )


WORDS = st.lists(st.sampled_from(["k1", "p1", "k2", "p3", "sl1"]), min_size=1, max_size=4)


@given(WORDS, WORDS, WORDS, st.integers(2, 5))
def test_a_chart_unrolled_is_the_row_itself(
    before: list[str], again: list[str], after: list[str], times: int
) -> None:
    """Whatever is left out of a chart comes back when its repeats are worked."""
    row = ", ".join([*before, f"({', '.join(again)}) {times} times", *after])
    stitches = sum(int(word[-1]) for word in before + again * times + after)
    read = document_of(f'title = "x"\ncast_on = {stitches}\nrows = ["Row 1: {row}", "Row 2: p"]\n')
    assert isinstance(read, PatternDocument)
    found = charts_of(walk(read.course(), None))
    expected = [
        Cell(Mark(word.rstrip("0123456789")))
        for word in before + again * times + after
        for _ in range(int(word[-1]))
    ][::-1]
    if found:
        assert list(unrolled(found[0], 0)) == expected
    else:
        plain = len({cell.mark.stitch for cell in expected}) == 1
        sparse = sum(cell.mark.stitch != "k" for cell in expected) < 0.2 * len(expected)
        assert plain or sparse


CABLES = """title = "Band"
cast_on = 12
rows = [
  "Row 1 (RS): p2, c4f, p1, 2/1 rpc, p2",
  "Row 2: k the knits and p the purls",
  "Row 3: p2, 2/2 lc, p1, k2, p3",
  "Row 4: As row 2",
]
"""
TWO_FACES = """title = "Coaster"
cast_on = 8
[stitches]
"pair L" = { takes = 2, leaves = 2, words = "knit one light, purl one dark" }
"pair D" = { takes = 2, leaves = 2, words = "knit one dark, purl one light" }
[[section]]
title = "Coaster"
rows = ["Row 1: *pair L, pair D; rep from * to end", "Row 2: *pair D, pair L; rep from * to end"]
"""


def sheet_of(text: str) -> PieceSheet:
    """Return the printed piece of a pattern."""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    return compose(read, print_data()).sheet.pieces[0]


def test_a_crossing_has_one_line_in_the_key_whatever_it_is_called() -> None:
    """C4F and 2/2 LC are the same crossing: one sign, both names, and how it is worked."""
    words = [entry.words for entry in sheet_of(CABLES).key]
    held = "slip the next 2 to a cable needle and hold it in front"
    assert [one for one in words if "C4F" in one] == [
        f"C4F, 2/2 LC: left cross: {held}, knit 2, knit 2 from the cable needle"
    ]
    assert sum("2/1 RPC: right cross" in one and "purl 1 from" in one for one in words) == 1


def test_stitches_worked_as_they_face_are_drawn_as_what_they_are() -> None:
    """A chart shows the fabric: no square says "as set" where the row below tells what it is."""
    (chart,) = sheet_of(CABLES).charts
    second = chart.figure.letters[-2].strip()
    # From the left: p2, the purl that went behind, k2, p1, the four of the cable, p2.
    assert second == "2  - - - | | - | | | | - -"
    assert not any("worked so far" in entry.words for entry in sheet_of(CABLES).key)


def test_rows_keep_the_designers_numbers() -> None:
    """Rows before the first numbered one have none, and what is worked again goes on counting."""
    chart = sheet_of(CABLES.replace("rows = [", 'rows = ["Knit 3 rows.", "Next row: p",')).charts[0]
    numbers = [re.sub(r"[^0-9]", "", line[:3] + line[-4:]) for line in chart.figure.letters]
    assert [number for number in numbers if number] == ["4", "3", "2", "1"]


def test_every_stitch_of_the_designer_has_a_sign_of_its_own() -> None:
    """Two stitches of her own are two letters, each explained once."""
    piece = sheet_of(TWO_FACES)
    letters = [entry.letter for entry in piece.key]
    assert len(set(letters)) == len(letters) == 2
    assert {entry.words for entry in piece.key} == {
        "pair D: knit one dark, purl one light",
        "pair L: knit one light, purl one dark",
    }
    assert not any("?" in line for chart in piece.charts for line in chart.figure.letters)


def test_plain_rows_part_a_chart_in_two() -> None:
    """Nobody reads twenty empty rows: what is patterned before and after has a chart of its own."""
    text = """title = "Hat"
cast_on = 12
rows = [
  "Row 1 (RS): *k1, p1; rep from * to end", "Row 2: *k1, p1; rep from * to end",
  "Rows 3-22: work in stockinette stitch",
  "Row 23: *k2tog, k4; rep from * to end", "Row 24: p", "Row 25: *k2tog, k3; rep from * to end",
]
"""
    titles = [chart.title for chart in sheet_of(text).charts]
    assert titles == ["Hat, rows 1 and 2", "Hat, rows 23 to 25"]


def test_squares_of_several_yarns_name_them() -> None:
    """A knit square carries the letter of its yarn, and is darker for the second one."""
    text = """title = "Stars"
cast_on = 8
rows = [
  "Row 1 (RS): *k1 A, k3 B; rep from * to end", "Row 2: *p1 B, p1 A; rep from * to end",
]
"""
    piece = sheet_of(text)
    (chart,) = piece.charts
    assert any("B B B A" in line for line in chart.figure.letters)
    assert any(entry.words.endswith("in yarn A") for entry in piece.key)
    fills = {one.fill for one in chart.figure.drawing.shapes if isinstance(one, Area) if one.fill}
    assert len(fills) == 1


def test_rows_repeated_many_times_are_drawn_once_and_what_follows_apart() -> None:
    """Rep rows 1 to 4 ten more times, then plain rows: the chart is rows 1 to 4."""
    text = """title = "Wrap"
cast_on = 12
rows = [
  "Row 1 (RS): *k2, yo, k2tog; rep from * to end", "Row 2: p",
  "Row 3: *yo, k2tog, k2; rep from * to end", "Row 4: p", "Rep rows 1 to 4 ten more times",
  "Knit 4 rows", "Bind off all sts",
]
"""
    (chart,) = sheet_of(text).charts
    assert chart.title == "Wrap"
    assert ["".join(line.split()) for line in chart.figure.letters] == [
        "4[||||]",
        "[||/O]3",
        "2[||||]",
        "[/O||]1",
    ]
    assert "Rows 1 to 4 are repeated." in chart.figure.captions


def test_rows_repeated_until_a_length_are_drawn_once_without_a_gauge_too() -> None:
    """A rib that goes on until it is long enough is one round; what follows is not in it."""
    text = """title = "Cuff"
cast_on = 12
in_the_round = true
rows = [
  "Rnd 1: *k2, p2; rep from * around", "Rep rnd 1 until piece measures 5 cm",
  "Next rnd: *k1, p1; rep from * around", "Bind off all sts",
]
"""
    (chart,) = sheet_of(text).charts
    assert [line.strip() for line in chart.figure.letters] == ["[- - | |]    1"]
    assert "Round 1 is repeated." in chart.figure.captions


def test_shaping_that_comes_again_is_drawn_out_and_not_called_a_repeat() -> None:
    """Each time has fewer stitches; saying that its rounds are repeated would count them twice."""
    text = """title = "Crown"
cast_on = 32
in_the_round = true
rows = [
  "Rnd 1: *k2tog, k6; rep from * around", "Rnd 2: k", "Rnd 3: *k2tog, k5; rep from * around",
  "Rnd 4: k", "Rnd 5: *k2tog, k4; rep from * around", "Rnd 6: k",
]
"""
    (chart,) = sheet_of(text).charts
    assert len(chart.figure.letters) == 6
    assert not any("repeated" in caption for caption in chart.figure.captions)


def test_numbers_of_every_other_round_go_on_from_the_round_below() -> None:
    """The range of "rnd 3 and every other rnd to rnd 9" is not the number of the second of them."""
    text = """title = "Star"
cast_on = 8
in_the_round = true
rows = [
  "Rnd 1: k", "Rnd 2: *k1, yo; rep from * around", "Rnd 3 and every other rnd to rnd 7: k",
  "Rnd 4: *yo, k2; rep from * around", "Rnd 6: *yo, k3; rep from * around",
]
"""
    (chart,) = sheet_of(text).charts
    numbers = [int(line.split()[-1]) for line in chart.figure.letters]
    assert numbers == list(range(len(numbers), 0, -1))


def test_ordinal_headings_number_the_rows() -> None:
    """The 1st row is row 1; a 1st inc row has no number."""
    assert own_numbers("1st row (RS)") == [1]
    assert own_numbers("2nd and every alt row") == [2]
    assert own_numbers("3rd and 5th rows") == [3, 5]
    assert own_numbers("1st inc row") == []
    assert own_numbers("Rows 3-5") == [3, 4, 5]
    assert own_numbers("Row 2 and all WS rows to row 8") == [2]


def test_stitches_made_or_taken_away_evenly_have_no_squares() -> None:
    """Nobody knows where they lie: the row is left to its words and parts the chart."""
    text = """title = "Yoke"
cast_on = 40
in_the_round = true
rows = [
  "Rnd 1: *k2, p2; rep from * around", "Rnd 2: *p2, k2; rep from * around",
  "Rnd 3: k, dec 4 sts evenly. 36 sts", "Rnd 4: *k1, p3; rep from * around",
  "Rnd 5: *p3, k1; rep from * around",
]
"""
    charts = sheet_of(text).charts
    assert [chart.title for chart in charts] == ["Yoke, rounds 1 and 2", "Yoke, rounds 4 and 5"]


def test_plain_knitting_between_shaped_edges_has_no_chart() -> None:
    """Raglan shaping over plain knitting is clear in words, and no part of it comes again."""
    text = """title = "Raglan"
cast_on = 40
rows = [
  "Row 1 (RS): k2, k2tog, k to last 4 sts, ssk, k2", "Row 2: p", "Rep rows 1 and 2 5 more times",
]
"""
    assert sheet_of(text).charts == ()


def test_stitches_beyond_the_turn_of_a_short_row_wait() -> None:
    """They are there: a square says that they are not worked, not that there is no stitch."""
    text = """title = "Heel"
cast_on = 12
rows = [
  "Row 1 (RS): sl 1, k6, ssk, k1, turn", "Row 2: sl 1, p3, p2tog, p1, turn",
  "Row 3: sl 1, k4, ssk, k1", "Row 4: sl 1, p to end",
]
"""
    piece = sheet_of(text)
    (chart,) = piece.charts
    assert [line.split() for line in chart.figure.letters][-2] == (
        ["2", ".", ".", "V", "|", "|", "|", "/", "|", ".", "."]
    )
    words = {entry.letter: entry.words for entry in piece.key}
    assert words["."] == "not worked in this row, the stitch waits"
    assert " " not in words


def test_sizes_that_differ_only_in_how_often_share_a_chart() -> None:
    """One of 4 or of 5 wedges is the same drawing, with both numbers below it."""
    text = """title = "Top"
sizes = ["S", "M"]
cast_on = "24 (30)"
in_the_round = true
rows = ["Rnd 1: *k4, k2tog; rep from * around", "Rnd 2: *k3, k2tog; rep from * around"]
"""
    (chart,) = sheet_of(text).charts
    assert chart.figure.captions[0].startswith("One of 4 (5) equal parts is drawn")


def test_a_wide_blanket_in_ten_sizes_is_within_the_work_of_a_print() -> None:
    """Where nothing is worked "as it faces" no row is drawn to find that out."""
    counts = ", ".join(str(count) for count in range(312, 393, 10))
    rows = "\n".join(
        f'"Row {n}: k1, *k{n % 4 + 1}, p{9 - n % 4}; rep from * to last st, k1",'
        for n in range(1, 151)
    )
    sizes = ", ".join(f'"{number}"' for number in range(1, 11))
    text = f'title = "A blanket"\nsizes = [{sizes}]\ncast_on = "302 ({counts})"\nrows = [{rows}]\n'
    blanket = document_of(text)
    assert isinstance(blanket, PatternDocument), blanket
    with Allowance(STEPS_OF_PRINT).used():
        assert compose(blanket, print_data()).sheet.title == "A blanket"
