"""The printed pattern as PDF, laid out by the library ReportLab (the optional extra `pdf`).

The same words and drawings as in HTML. The fonts are Andika, which has every sign a pattern needs;
the file is the same byte for byte whenever the same pattern is written.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from typing import TYPE_CHECKING, Any, Final

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import SimpleDocTemplate

from app.printing.pdf_layout import BOLD, FONT, PRINT, Fit, Layout

if TYPE_CHECKING:
    from pathlib import Path

    from app.printing.sheet import PatternSheet

_MARGIN: Final = 16 * mm
_LARGE_PRINT: Final = 17.0
_SCALES: Final = (1.0, 0.95, 0.91, 1.06)
_LARGE_SCALES: Final = (1.0, 1.06, 1.12)
"""Large print is never made smaller."""
_FRONT_SHARES: Final = (0.34, 0.2, 0.42)
"""How much of a page's height the picture of the first page may fill, in the order tried."""
_DRAWN: Final = (1.0, 0.8)
"""In what share of their usual size outlines and charts may be drawn, in the order tried."""
_BLANK: Final = 0.3
"""A page of which less is blank at its foot is a full one."""
_HANDOUT_SIZES: Final = (15.0, 14.0, 13.0, 12.0, 11.0, 10.5, 10.0, 9.5, 9.0)
_HANDOUT_SHARES: Final = (0.24, 0.16, 0.1)


class Paper(StrEnum):
    """The size of the paper."""

    A4 = "a4"
    LETTER = "letter"


_SIZES: Final = {Paper.A4: A4, Paper.LETTER: LETTER}


@dataclass(frozen=True)
class PdfFonts:
    """The files of the upright and the bold font."""

    regular: Path
    bold: Path


def as_pdf(
    sheet: PatternSheet, fonts: PdfFonts, *, paper: Paper = Paper.A4, large: bool = False
) -> bytes:
    """Return the whole file."""
    return chosen(sheet, fonts, paper=paper, large=large).content


def chosen(
    sheet: PatternSheet, fonts: PdfFonts, *, paper: Paper = Paper.A4, large: bool = False
) -> LaidOut:
    """
    Return the file that leaves no large part of a page blank, as far as there is one.

    The picture of the first page, the type and the place of the outline are tried in turn.
    """
    _register(fonts)
    size = _LARGE_PRINT if large else PRINT
    tried = []
    choices = product(_LARGE_SCALES if large else _SCALES, _DRAWN, (True, False), _FRONT_SHARES)
    for scale, drawn, early, front in choices:
        made = _laid_out(sheet, paper, Fit(size * scale, front, early, drawn))
        if made.blank < _BLANK or sheet.hands:  # their pictures follow each other anyway
            return made
        tried.append(made)
    return min(tried, key=lambda made: (made.pages + made.blank, made.blank))


def as_handout(sheet: PatternSheet, fonts: PdfFonts, *, paper: Paper = Paper.A4) -> bytes | None:
    """Return a file of one page, in the largest type in which it fits; None if it does not."""
    _register(fonts)
    for size in _HANDOUT_SIZES:
        for share in _HANDOUT_SHARES:
            made = _laid_out(sheet, paper, Fit(size, share))
            if made.pages == 1:
                return made.content
    return None


@dataclass(frozen=True)
class LaidOut:
    """A file, how many pages it has, and the largest blank share of one of them, at its foot."""

    content: bytes
    pages: int
    blank: float


def _register(fonts: PdfFonts) -> None:
    pdfmetrics.registerFont(TTFont(FONT, str(fonts.regular)))
    pdfmetrics.registerFont(TTFont(BOLD, str(fonts.bold)))
    pdfmetrics.registerFontFamily(FONT, normal=FONT, bold=BOLD, italic=FONT, boldItalic=BOLD)


def _laid_out(sheet: PatternSheet, paper: Paper, fit: Fit) -> LaidOut:
    out = io.BytesIO()
    width, height = _SIZES[paper]
    document = SimpleDocTemplate(
        out,
        pagesize=(width, height),
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN,
        title=sheet.title,
        author=sheet.byline,
        subject=" ".join(sheet.sizes),
        lang=sheet.language,
        invariant=1,
    )
    room = width - 2 * _MARGIN, height - 2 * _MARGIN
    layout = Layout(sheet, room, fit)
    blank: list[float] = []

    def foot(canvas: Any, page: Any) -> None:
        canvas.setFont(FONT, 8.5)
        line = " · ".join((sheet.title, *sheet.imprint, sheet.foot))
        canvas.drawString(_MARGIN, 9 * mm, line)
        canvas.drawRightString(width - _MARGIN, 9 * mm, str(page.page))

    def measure() -> None:
        blank.append((document.frame._y - document.frame._y1p) / room[1])  # noqa: SLF001 (the frame tells nobody how full it is)

    document.afterPage = measure
    document.build([*layout.flowables()], onFirstPage=foot, onLaterPages=foot)
    return LaidOut(out.getvalue(), len(blank), max(blank))
