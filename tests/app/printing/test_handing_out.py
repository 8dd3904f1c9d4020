"""A pattern that can be sold or handed to a class: its front, its fields, its pages."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader

from app import resources
from app.pieces.pattern_cache import document_of
from app.printing import as_pdf as pdf
from app.printing.as_html import as_html
from app.printing.compose import compose
from app.printing.data import print_data
from engine.pattern import PatternDocument
from tests.app.printing.made_up import DEMO, composed, document, fonts, html, markdown
from tests.app.printing.test_write_command import run

if TYPE_CHECKING:
    from pathlib import Path

    from app.printing.sheet import PatternSheet

FONTS = pdf.PdfFonts(*fonts())
CAP = resources.path("shared/patterns/crew-cap.toml")
BESIDE = 75
"""Points below a heading: the three lines of the table that stands beside it."""
SMALL = 'title = "x"\ncast_on = 4\nrows = ["Row 1: k to end"]\n'
SAID = (
    'designer = "N. N."\ncopyright = "2026 N. N."\nversion = 2\ndate = 2026-11-03\nskill = "easy"\n'
)


def sheet_of(text: str) -> PatternSheet:
    """Return the sheet of a pattern's text."""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    return compose(read, print_data()).sheet


def test_who_made_it_and_which_text_it_is_are_printed_as_the_file_says() -> None:
    """Designer and skill stand at the top; version, date and copyright at the foot."""
    sheet = sheet_of(SMALL + SAID)
    assert sheet.byline == "Designed by N. N."
    assert "Skill level: easy." in sheet.sizes
    assert sheet.imprint == ("Version 2", "2026-11-03", "\N{COPYRIGHT SIGN} 2026 N. N.")
    marked = sheet_of(SMALL + 'copyright = "(c) 2026 N. N."\ndifficulty = "hard"\n')
    assert marked.imprint == ("(c) 2026 N. N.",)
    assert "Skill level: hard." in marked.sizes


def test_what_the_file_does_not_say_is_not_printed() -> None:
    """No designer, no year, no level is ever made up."""
    sheet = sheet_of(SMALL)
    assert (sheet.byline, sheet.imprint, sheet.sizes) == ("", (), ("One size.",))
    page = as_html(sheet, "")
    assert not any(word in page for word in ("Designed", "Version", "\N{COPYRIGHT SIGN}", "Skill"))


@pytest.mark.parametrize("name", DEMO)
def test_the_page_goes_from_the_piece_to_its_charts(name: str) -> None:
    """Picture, measures, cautions, instructions, finishing, charts: in that order."""
    page = html(name)
    places = [page.index('class="front"'), page.index("Finished measurements</h2>")]
    places += [page.index("Please note</h2>"), page.index("Instructions</h2>")]
    places += [page.index(words) for words in ("Finishing</h2>",) if words in page]
    places.append(page.index("Charts</h2>"))
    assert places == sorted(places)
    text = markdown(name)
    assert text.index("## Instructions") < text.index("## Charts")


def test_finishing_is_its_own_part_but_live_stitches_are_not_finished() -> None:
    """Sewing comes after the rows; "draw through rem 8 sts" is still a step of the crown."""
    (mug,) = composed("mug-sleeve").sheet.pieces
    assert [row.text for row in mug.finishing] == [
        "Sew the side seam with a gap for the handle, weave in the ends, wash and dry flat"
    ]
    (cap,) = composed("crew-cap").sheet.pieces
    assert cap.finishing == ()
    assert cap.parts[-1].rows[-1].text == "Break yarn, draw through rem 8 sts and fasten off"


@pytest.mark.parametrize("large", [False, True], ids=["usual", "large"])
@pytest.mark.parametrize("paper", list(pdf.Paper))
@pytest.mark.parametrize(
    ("name", "size"), [*((name, None) for name in DEMO), *(("crew-cap", size) for size in "SML")]
)
def test_no_third_of_a_page_is_blank(
    name: str, size: str | None, paper: pdf.Paper, *, large: bool
) -> None:
    """What was chosen is measured: the blank foot of the emptiest page, on each paper."""
    sheet = compose(document(name), print_data(), size=size, large=large).sheet
    made = pdf.chosen(sheet, FONTS, paper=paper, large=large)
    assert made.blank < 1 / 3
    pages = PdfReader(io.BytesIO(made.content)).pages
    assert len(pages) == made.pages <= (6 if large else 3)


def test_measures_end_before_the_materials_beside_them_begin() -> None:
    """The lantern's first page on Letter: no line of the left column runs into the right one."""
    content = pdf.as_pdf(composed("lantern-sleeve").sheet, FONTS, paper=pdf.Paper.LETTER)
    front = PdfReader(io.BytesIO(content)).pages[0]
    starts: list[float] = []  # from the left, and from below
    lines: list[tuple[float, ...]] = []
    at: list[float] = []

    def words(text: str, now: list[float], matrix: list[float], *_: object) -> None:
        if text.startswith("Materials"):
            starts.extend((now[0] * matrix[4] + now[4], now[5]))

    def drawn(operator: bytes, operands: list[float], now: list[float], *_: object) -> None:
        if operator == b"m":
            at[:] = [float(one) for one in operands]
        elif operator == b"l":
            across = (now[0] * one + now[4] for one in (at[0], float(operands[0])))
            lines.append((*across, now[3] * at[1] + now[5]))

    front.extract_text(visitor_text=words, visitor_operand_before=drawn)
    assert starts, "there is a column of materials"
    beside = [line for line in lines if 0 < starts[1] - line[2] < BESIDE]
    assert beside, "the table has lines"
    assert all(end < starts[0] for _, end, _ in beside)


def test_a_handout_is_one_page_in_whole_words_with_boxes(tmp_path: Path) -> None:
    """The cap in size M: no abbreviation in its rows, nothing of other sizes, one page."""
    made = compose(document("crew-cap"), print_data(), size="M", handout=True).sheet
    rows = {row.number: row for row in made.pieces[0].parts[2].rows}
    assert rows["1"].text == "repeat: knit ten, knit two together; to the end"
    assert rows["1"].count == "88 stitches"
    assert made.pieces[0].charts == ()
    assert 'class="rows tick"' in as_html(made, "")
    out = tmp_path / "class.pdf"
    assert run(CAP, "--to", out, "--handout", "--size", "M") == 0
    (page,) = PdfReader(out).pages
    assert "knit two together" in page.extract_text()


def test_a_handout_asks_for_its_size_and_says_when_a_page_is_too_short(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Three sizes on one page confuse a class; sixty rows do not fit, and nothing is written."""
    out = tmp_path / "class.pdf"
    assert run(CAP, "--to", out, "--handout") == 2
    assert "a handout is for one size: add --size with one of S, M, L." in capsys.readouterr().err
    long = tmp_path / "long.toml"
    rows = ", ".join(f'"Row {n}: k{n % 40 + 1}, p to end"' for n in range(1, 161))
    long.write_text(f'title = "Long"\ncast_on = 60\nrows = [{rows}]\n')
    assert run(long, "--to", out, "--handout") == 1
    assert "longer than one page" in capsys.readouterr().err
    assert not out.exists()
