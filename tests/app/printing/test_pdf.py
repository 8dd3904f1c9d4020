"""The PDF, read back by another library: its words, its pages, the same bytes every time."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader

from app.pieces.pattern_cache import document_of
from app.printing.as_pdf import Paper, PdfFonts, as_pdf
from app.printing.compose import compose
from app.printing.data import print_data
from engine.pattern import PatternDocument
from tests.app.printing.made_up import DEMO, composed, fonts

if TYPE_CHECKING:
    from app.printing.sheet import PatternSheet

FONTS = PdfFonts(*fonts())


def words(content: bytes) -> str:
    """Return the text of all pages with single spaces."""
    pages = PdfReader(io.BytesIO(content)).pages
    return squeezed("\n".join(page.extract_text() for page in pages))


def squeezed(text: str) -> str:
    """Return a text without any space: lines are broken differently on a page."""
    return re.sub(r"\s+", "", text)


def without_fabric(sheet: PatternSheet) -> PatternSheet:
    """Return a sheet without its largest pictures: reading them back takes seconds."""
    return replace(sheet, pieces=tuple(replace(piece, fabric=None) for piece in sheet.pieces))


@pytest.mark.parametrize("name", [*DEMO, "vest", "lace"])
def test_every_row_and_every_measurement_can_be_read_in_the_pdf(name: str) -> None:
    """Rows with their counts, cautions, gauge and abbreviations are text, not pictures."""
    sheet = without_fabric(composed(name).sheet)
    text = words(as_pdf(sheet, FONTS))
    wanted = [sheet.title, *sheet.sizes, *sheet.verdict, *sheet.cautions, *sheet.gauge]
    wanted += [one.means for one in sheet.abbreviations]
    if sheet.measurements is not None:
        wanted += [cell for _, cells in sheet.measurements.lines for cell in cells]
    for piece in sheet.pieces:
        for part in piece.parts:
            for row in part.rows:
                wanted += [row.lead, row.text, row.count, row.about, row.note]
    for one in wanted:
        assert squeezed(one) in text, one


def test_the_paper_is_a4_or_letter() -> None:
    """A4 is 210 by 297 mm, Letter 8 1/2 by 11 in; the pages carry title and language."""
    sheet = composed("mug-sleeve").sheet
    for paper, width, height in ((Paper.A4, 595.28, 841.89), (Paper.LETTER, 612.0, 792.0)):
        reader = PdfReader(io.BytesIO(as_pdf(sheet, FONTS, paper=paper)))
        box = reader.pages[0].mediabox
        assert float(box.width) == pytest.approx(width, abs=0.1)
        assert float(box.height) == pytest.approx(height, abs=0.1)
        assert reader.metadata is not None
        assert reader.metadata.title == "Mug sleeve"
        assert str(reader.root_object["/Lang"]) == "en"


def test_the_same_pattern_is_the_same_file() -> None:
    """Nothing of the day or the machine gets into the bytes."""
    sheet = composed("crew-cap").sheet
    assert as_pdf(sheet, FONTS) == as_pdf(sheet, FONTS)


def test_a_tall_chart_and_a_long_list_of_problems_fit_on_pages() -> None:
    """Nothing is so large that it breaks the layout: it is made smaller or goes on overleaf."""
    tall = " ".join(f'"Row {n}: k{n}, p to end",' for n in range(1, 70))
    sizes = ", ".join(f'"size {n}"' for n in range(60))
    counts = ", ".join(str(40 + 2 * n) for n in range(60))
    wrong = f'cast_on = [{counts}]\nsizes = [{sizes}]\nrows = ["Row 1: *k7, p6; rep from *, k40"]'
    for source, problems in ((f"cast_on = 72\nrows = [{tall}]", 0), (wrong, 40)):
        read = document_of(f'title = "Tall"\n{source}\n')
        assert isinstance(read, PatternDocument), read
        sheet = without_fabric(compose(read, print_data()).sheet)
        assert len(sheet.problems) >= problems
        for large in (False, True):
            text = words(as_pdf(sheet, FONTS, large=large))
            for problem in sheet.problems:
                assert squeezed(problem) in text


def test_large_print_is_larger_and_loses_nothing() -> None:
    """The largest print has the same words on more pages."""
    sheet = without_fabric(composed("mug-sleeve").sheet)
    small, large = as_pdf(sheet, FONTS), as_pdf(sheet, FONTS, large=True)
    pages = [len(PdfReader(io.BytesIO(one)).pages) for one in (small, large)]
    assert pages[1] > pages[0]
    text = words(large)
    for piece in sheet.pieces:
        for part in piece.parts:
            for row in part.rows:
                assert squeezed(row.text) in text
