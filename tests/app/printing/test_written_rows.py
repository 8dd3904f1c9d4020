"""What is printed is what was checked: rows, counts and sizes, read back from the printed text."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.pieces.pattern_cache import document_of, row_reader
from app.printing.as_markdown import unescaped
from app.printing.compose import compose
from app.printing.data import print_data
from app.printing.instructions import _says
from app.printing.one_size import LinePrinter, lines_of, names_of, sizes_of
from engine.pattern import PatternDocument, RowCount
from engine.pattern.lines import prepare
from engine.pattern.notation import items_for
from engine.pattern.row_reader import LineReader
from engine.pattern.toml_positions import Value
from tests.app.printing.made_up import (
    DEMO,
    SHEETS,
    composed,
    document,
    html,
    markdown,
)

if TYPE_CHECKING:
    from app.printing.sheet import SheetRow

_ROW = re.compile(r"- (?P<row>.*)")


def rows_of_markdown(text: str) -> list[tuple[str, list[str]]]:
    """Return the sections of printed Markdown with their rows as a knitter would type them in."""
    sections: list[tuple[str, list[str]]] = []
    for line in text.partition("## Instructions")[2].splitlines():
        if line.startswith("## "):
            break
        if line.startswith("### "):
            sections.append((line.removeprefix("### "), []))
        found = _ROW.fullmatch(line)
        if found is not None:
            row = re.sub(r" \(about [^()]*(?:\([^()]*\))?[^()]*\)", "", found["row"])
            row = re.sub(r"^[-\d (),]+\\\. ", "", row)  # its number in the chart
            sections[-1][1].append(unescaped(row.replace("**", "")))
    return sections


def typed_in(name: str, size: str | None) -> PatternDocument:
    """Return a pattern file made again from nothing but the printed Markdown."""
    text = markdown(name, size)
    cast_on = re.search(r"^Cast on (.*?) sts", text, re.MULTILINE)
    assert cast_on is not None
    whole = document(name)
    lines = [f"title = {json.dumps(whole.title)}", f'cast_on = "{cast_on[1]}"']
    if whole.sizes and size is None:
        lines.append(f"sizes = {json.dumps(whole.sizes)}")
    lines.append(f"in_the_round = {str(whole.pieces[0].in_the_round).lower()}")
    for title, rows in rows_of_markdown(text):
        lines += ["[[section]]", f"title = {json.dumps(title)}", f"rows = {json.dumps(rows)}"]
    read = document_of("\n".join(lines))
    assert isinstance(read, PatternDocument), read
    return read


@pytest.mark.parametrize(("name", "size"), [one for one in SHEETS if one[0] != "vest"])
def test_a_pattern_typed_in_from_its_print_is_the_same_pattern(name: str, size: str | None) -> None:
    """Markdown alone gives the same stitches, rows and counts for every size."""
    whole, again = document(name), typed_in(name, size)
    for wanted in whole.sizes if size is None and whole.sizes else (size,):
        first = whole.course(wanted)
        second = again.course(wanted if size is None else None)
        ended = {loop.id: 40 * (number + 1) for number, loop in enumerate(first.loops)}
        assert [loop.target for loop in first.loops] == [loop.target for loop in second.loops]
        last = first.last_row(ended)
        assert last == second.last_row(ended)
        for row in range(1, (last or 0) + 1):
            here, there = first.where(ended, row), second.where(ended, row)
            assert str(here.instruction) == str(there.instruction)
            assert (here.side, here.before, here.after) == (there.side, there.before, there.after)


@pytest.mark.parametrize(("name", "size"), SHEETS)
def test_every_row_of_the_size_is_on_the_page(name: str, size: str | None) -> None:
    """No line is lost, and a line of another size is left out."""
    sheet = composed(name, size).sheet
    printed = [row for piece in sheet.pieces for part in piece.parts for row in part.rows]
    printed += [row for piece in sheet.pieces for row in piece.finishing]
    whole = document(name)
    number = whole.sizes.index(size) if size is not None else None
    wanted = [
        line
        for piece in whole.pieces
        for section in piece.sections
        for line in section.lines
        if number is None or number in sizes_of(line, len(whole.sizes))
    ]
    assert len(printed) == len(wanted)
    page = html(name, size)
    for row in printed:
        text = row.text.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")
        assert text.replace("'", "&#x27;") in page


@pytest.mark.parametrize(("name", "size"), SHEETS)
def test_a_printed_line_means_what_the_designer_wrote(name: str, size: str | None) -> None:
    """Each printed row, read again, works the same stitches for its size."""
    whole = document(name)
    number = whole.sizes.index(size) if size is not None else None
    printer = LinePrinter(whole, row_reader(), number)
    reader = LineReader(row_reader(), names_of(whole))
    for line in lines_of(whole):
        printed = printer.printed(line)
        if printed is None or line.row is None:
            continue
        again = prepare(Value("", 1, 1), reader.read(str(printed)))
        assert again.row is not None
        items = line.row.items
        assert again.row.items == (items if number is None else items_for(items, number))


@pytest.mark.parametrize("name", [*DEMO, "vest", "lace"])
def test_printed_counts_are_those_that_were_checked(name: str) -> None:
    """Every count on the sheet is the checked one; one stands wherever the count changes."""
    whole = document(name)
    for verdict in whole.check():
        sheet = composed(name, verdict.size).sheet
        printed = [
            (part.title, row.mark, row.count)
            for piece in sheet.pieces
            for part in piece.parts
            for row in part.rows
            if row.count
        ]
        counted = {(count.section, count.stitches) for count in verdict.counts if count.checked}
        for section, mark, count in printed:
            if not mark:
                assert (section, int(count.split()[0])) in counted
        changes = changing(verdict.counts, starts(whole, verdict.size))
        texts = [row.text for p in sheet.pieces for part in p.parts for row in part.rows]
        shown = {int(count.split()[0]) for _, _, count in printed}
        assert all(
            change in shown or any(f"{change} sts" in text for text in texts) for change in changes
        )


def starts(whole: PatternDocument, size: str | None) -> set[int]:
    """Return the cast-ons of the pieces."""
    number = whole.sizes.index(size) if size is not None else 0
    return {
        int(piece.cast_on[number if len(piece.cast_on) > 1 else 0] or 0)
        for piece in whole.pieces
        if piece.cast_on is not None
    }


def changing(counts: tuple[RowCount, ...], cast_ons: set[int]) -> list[int]:
    """Return the counts after which the number of stitches is another than before."""
    found: list[int] = []
    before: int | None = None
    for count in counts:
        after = count.stitches
        if after and after != before and not (before is None and after in cast_ons):
            found.append(after)
        before = after or None
    return found


def test_counts_of_all_sizes_stand_together_and_a_missing_size_is_a_dash() -> None:
    """The crown's counts are graded; a step for one size only has that size's count alone."""
    rows = {
        (row.sizes, row.text): row.count
        for part in composed("crew-cap").sheet.pieces[0].parts
        for row in part.rows
    }
    assert rows["", "*k9 (10, 11), k2tog; rep from * around"] == "80 (88, 96) sts"
    assert rows["Size L only:", "*k2, k2tog; rep from * around"] == "24 sts"
    assert rows["", "*k2tog; rep from * around"] == "8 sts"
    assert rows["Size L only:", "knit"] == ""


def test_one_size_has_no_numbers_of_the_others() -> None:
    """A sheet for one size carries no brackets of sizes, and no words about other sizes."""
    text = markdown("crew-cap", "L").partition("## Instructions")[2]
    assert "(10, 11)" not in text
    assert "only" not in text
    assert r"\*k11, k2tog" in text
    assert "until piece measures 15 cm (6 in)" in text


def test_what_is_not_checked_is_marked_and_never_called_right() -> None:
    """The verdict names the unchecked row first and vouches for the others only."""
    sheet = composed("vest").sheet
    marked = [
        row.label for piece in sheet.pieces for part in piece.parts for row in part.rows if row.mark
    ]
    assert marked == ["Row 3"]
    assert sheet.verdict[0].startswith("Not checked: 1 written row.")
    assert "every other written row" in sheet.verdict[1]
    assert not any("every written row" in line for line in sheet.verdict)


def test_a_pattern_that_does_not_add_up_says_so_at_the_top_and_at_the_row() -> None:
    """Its sheet has the warning, all problems, and each again at its row; no word of praise."""
    sheet = composed("wrong").sheet
    assert sheet.warning.startswith("Do not knit from this sheet.")
    rows = sheet.pieces[0].parts[0].rows
    # 24 - 5 = 19 leaves one stitch over for k3; 20 - 5 = 15 fits.
    assert [bool(row.problems) for row in rows] == [False, True, False]
    assert "M" in rows[1].problems[0]
    assert sheet.verdict == ()
    assert "does not add up" in html("wrong")
    assert composed("wrong", "S").sheet.warning == ""


STITCHES = st.sampled_from(["k", "p", "yo", "k2tog", "ssk", "sl1", "kfb", "p2tog"])
NUMBERS = st.integers(1, 30)


@st.composite
def graded_rows(draw: st.DrawFn) -> str:
    """Make a row with numbers for three sizes here and there."""
    words = []
    for _ in range(draw(st.integers(1, 6))):
        stitch = draw(STITCHES)
        if stitch in {"k", "p"}:
            first = draw(NUMBERS)
            if draw(st.booleans()):
                words.append(f"{stitch}{first} ({draw(NUMBERS)}, {draw(NUMBERS)})")
            else:
                words.append(f"{stitch}{first}")
        else:
            words.append(stitch)
    times = f"{draw(NUMBERS) + 1} ({draw(NUMBERS) + 1}, {draw(NUMBERS) + 1})"
    return f"Row 1: {', '.join(words)}, (k1, p1) {times} times"


@given(graded_rows(), st.integers(0, 2))
def test_a_graded_row_for_one_size_is_read_as_that_size(row: str, size: int) -> None:
    """Whatever the numbers, the printed row for one size works that size's stitches."""
    reader = LineReader(row_reader(), names_of(document("crew-cap")))
    line = prepare(Value(row, 1, 1), reader.read(row))
    printer = LinePrinter(document("crew-cap"), row_reader(), size)
    printed = printer.printed(replace(line, cache={}))
    assert printed is not None
    again = prepare(Value("", 1, 1), reader.read(str(printed)))
    assert line.row is not None
    assert again.row is not None
    assert again.row.items == items_for(line.row.items, size)


def test_a_count_in_the_designers_own_signs_is_not_printed_twice() -> None:
    """80[88:96] sts is the count of three sizes; "the next 4 sts" is no count at all."""
    assert _says("Cast off 4 sts at beg of next 2 rows. 80[88:96] sts.", "80 (88, 96) sts")
    assert _says("k all sts = 12 (16: 20) sts.", "12 (16, 20) sts")
    assert _says("Rep row 2 until 44 sts rem.", "44 sts")
    assert _says("Repeat until there are 44 sts on the needle.", "44 sts")
    assert not _says("k to the last 4 sts", "4 sts")
    assert not _says("bind off 84 sts", "4 sts")


def test_a_line_that_is_a_row_and_its_repeat_is_printed_once_in_both_units() -> None:
    """Rib for 4 cm: one line in the file, one line on paper."""
    rows = rows_of("""title = "Cap"
cast_on = 8
in_the_round = true
rows = ["Work rib: *k1 tbl, p1*, rep from * to * for 4 cm.", "Next rnd: k to end. 8 sts"]
""")
    assert [row.text for row in rows] == [
        "Work rib: *k1 tbl, p1*, rep from * to * for 4 cm (1⅝ in).",
        "k to end",
    ]


def test_an_unchecked_line_without_a_heading_stands_once() -> None:
    """Its words are no heading of themselves."""
    (row,) = rows_of("""title = "Cap"
cast_on = 8
rows = [{ text = "Work the duck", unchecked = true, stitches = 8 }]
""")
    assert (row.label, row.text, row.count) == ("", "Work the duck", "8 sts")


@pytest.mark.parametrize(
    "row",
    ["Row 1: k2/4/6, p to end", "Row 1: k2-4-6, p to end", "Row 1: k2 (4, 6), p to end"],
)
def test_a_size_has_its_own_number_however_the_numbers_are_joined(row: str) -> None:
    """Slashes, dashes or brackets: for M it is k4."""
    text = f'title = "Cap"\nsizes = ["S", "M", "L"]\ncast_on = "8 (10, 12)"\nrows = ["{row}"]\n'
    (printed,) = rows_of(text, "M")
    assert printed.text == "k4, p to end"


def rows_of(text: str, size: str | None = None) -> list[SheetRow]:
    """Return the printed rows of the only piece of a pattern."""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    (piece,) = compose(read, print_data(), size=size).sheet.pieces
    return [row for part in piece.parts for row in part.rows]
