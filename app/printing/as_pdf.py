"""The printed pattern as PDF, laid out by the library ReportLab (the optional extra `pdf`).

The same words and drawings as in HTML. The fonts are Andika, which has every sign a pattern needs;
the file is the same byte for byte whenever the same pattern is written.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from enum import StrEnum
from html import escape
from typing import TYPE_CHECKING, Any, Final

from reportlab.lib.enums import TA_LEFT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
)

from app.printing.pdf_drawing import DrawingFlowable

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from app.printing.shapes import Drawing
    from app.printing.sheet import (
        ChartSheet,
        Illustration,
        PatternSheet,
        PieceSheet,
        SheetPart,
        SheetRow,
    )

FONT: Final = "Andika"
BOLD: Final = "Andika-Bold"
_MARGIN: Final = 16 * mm
_SHARE: Final = 0.7
"""A drawing fills so much of a page's height at most; its title and caption need the rest."""
_PRINT: Final = 10.5
_LARGE_PRINT: Final = 17.0
_LARGE: Final = 14.0
"""Type from this height on, in points, is too large for two columns."""


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
    pdfmetrics.registerFont(TTFont(FONT, str(fonts.regular)))
    pdfmetrics.registerFont(TTFont(BOLD, str(fonts.bold)))
    pdfmetrics.registerFontFamily(FONT, normal=FONT, bold=BOLD, italic=FONT, boldItalic=BOLD)
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
    layout = _Layout(sheet, room, _LARGE_PRINT if large else _PRINT)

    def foot(canvas: Any, page: Any) -> None:
        canvas.setFont(FONT, 8.5)
        canvas.drawString(_MARGIN, 9 * mm, f"{sheet.title} · {sheet.foot}")
        canvas.drawRightString(width - _MARGIN, 9 * mm, str(page.page))

    document.build([*layout.flowables()], onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


class _Layout:
    def __init__(self, sheet: PatternSheet, room: tuple[float, float], size: float) -> None:
        self.sheet = sheet
        self.width, self.height = room
        self.size = size
        self.magnify = size / _PRINT
        base = ParagraphStyle(
            "base", fontName=FONT, fontSize=size, leading=size * 1.38, alignment=TA_LEFT
        )
        self.base = base
        self.title = ParagraphStyle(
            "title", base, fontName=BOLD, fontSize=size * 2, leading=size * 2.4, spaceAfter=3
        )
        self.head = ParagraphStyle(
            "head",
            base,
            fontName=BOLD,
            fontSize=size * 1.25,
            leading=size * 1.6,
            spaceBefore=size * 1.1,
            spaceAfter=size * 0.3,
            keepWithNext=1,
            borderPadding=(0, 0, 2, 0),
        )
        self.subhead = ParagraphStyle(
            "subhead",
            base,
            fontName=BOLD,
            fontSize=size * 1.08,
            spaceBefore=size * 0.7,
            spaceAfter=size * 0.2,
            keepWithNext=1,
        )
        self.row_style = ParagraphStyle(
            "row", base, leftIndent=size * 1.3, firstLineIndent=-size * 1.3, spaceAfter=size * 0.22
        )
        self.note = ParagraphStyle("note", self.row_style, textColor="#333333")
        self.caption = ParagraphStyle(
            "caption", base, fontSize=size * 0.92, textColor="#333333", spaceBefore=3, spaceAfter=5
        )

    # --- small parts -----------------------------------------------------------------------------

    def text(self, words: str, style: ParagraphStyle | None = None) -> Paragraph:
        return Paragraph(escape(words, quote=False), style or self.base)

    def heading(self, name: str, more: str = "") -> Paragraph:
        return self.text(self.sheet.headings[name] + more, self.head)

    def listed(self, pairs: Iterable[tuple[str, Iterable[str]]], first: float) -> Table:
        """Return pairs of a bold word and its lines, in two columns."""
        bold = ParagraphStyle("bold", self.base, fontName=BOLD)
        rows = [
            [self.text(name, bold), [self.text(line) for line in lines]] for name, lines in pairs
        ]
        table = Table(rows, colWidths=[first, self.width - first], hAlign="LEFT")
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
        return table

    def abbreviations(self) -> Table:
        """Return the abbreviations in two columns, read downwards; in large print in one."""
        bold = ParagraphStyle("bold", self.base, fontName=BOLD)
        columns = 1 if self.size > _LARGE else 2
        listed = self.sheet.abbreviations
        each = -(-len(listed) // columns)
        rows: list[list[Any]] = []
        for line in range(each):
            cells: list[Any] = []
            for column in range(columns):
                at = column * each + line
                one = listed[at] if at < len(listed) else None
                cells += [self.text(one.sign, bold), self.text(one.means)] if one else ["", ""]
            rows.append(cells)
        first = self.size * 5.5
        table = Table(rows, colWidths=[first, self.width / columns - first] * columns)
        table.hAlign = "LEFT"
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
        return table

    def box(self, heading: str, lines: Iterable[str], line_width: float) -> Table:
        """Return lines in a frame."""
        bold = ParagraphStyle("bold", self.base, fontName=BOLD, spaceAfter=2)
        item = ParagraphStyle("item", self.base, leftIndent=9, bulletIndent=0, spaceAfter=2)
        rows = [[self.text(self.sheet.headings[heading], bold)]]
        rows += [[Paragraph(escape(line, quote=False), item, bulletText="•")] for line in lines]
        table = Table(rows, colWidths=[self.width], spaceBefore=8, spaceAfter=4)
        table.setStyle([("BOX", (0, 0), (-1, -1), line_width, "#000000"), *_ROOMY])
        return table

    # --- the sheet -------------------------------------------------------------------------------

    def flowables(self) -> Iterator[Flowable]:
        sheet = self.sheet
        yield self.text(sheet.title, self.title)
        for line in (*filter(None, (sheet.byline,)), *sheet.sizes, *sheet.verdict):
            yield self.text(line)
        if sheet.warning:
            yield self.box("problems", (sheet.warning, *sheet.problems), 3)
        if sheet.cautions:
            yield self.box("cautions", sheet.cautions, 1.2)
        yield from self.measurements()
        for names, schematic in sheet.schematics:
            head = self.heading("schematic", f": {names}" if names else "")
            yield KeepTogether([head, *self.figure(schematic)])
        if sheet.materials:
            yield self.heading("materials")
            yield self.listed(sheet.materials, self.size * 9)
        if sheet.gauge:
            yield self.heading("gauge")
            yield from map(self.text, sheet.gauge)
        if sheet.abbreviations:
            yield self.heading("abbreviations")
            yield self.abbreviations()
        if sheet.stitch_patterns:
            yield self.heading("stitch_patterns")
            for part in sheet.stitch_patterns:
                yield from self.part(part)
        for piece in sheet.pieces:
            yield from self.piece(piece)
        yield from self.rest()

    def measurements(self) -> Iterator[Flowable]:
        found = self.sheet.measurements
        if found is None:
            return
        bold = ParagraphStyle("bold", self.base, fontName=BOLD)
        rows: list[list[Any]] = []
        spans: list[tuple[Any, ...]] = []
        columns = len(found.columns)
        if columns > 1:
            names = (self.sheet.headings["size"], *found.columns)
            rows.append([self.text(name, bold) for name in names])
        for name, cells in found.lines:
            if len(cells) < columns:
                spans.append(("SPAN", (1, len(rows)), (columns, len(rows))))
            missing = columns - len(cells)
            rows.append([self.text(name, bold), *map(self.text, cells), *[""] * missing])
        first = self.size * 9
        each = min((self.width - first) / columns, self.size * 13)
        widths = [first, *[each] * columns]
        table = Table(rows, colWidths=widths, hAlign="LEFT", repeatRows=int(columns > 1))
        lines = ("LINEBELOW", (0, 0), (-1, -1), 0.5, "#767676")
        table.setStyle([lines, ("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT, *spans])
        yield self.heading("measurements")
        yield table

    def drawing(self, drawing: Drawing, widest: float) -> DrawingFlowable:
        space = widest, self.height * _SHARE
        return DrawingFlowable(drawing, space, (FONT, BOLD), magnify=self.magnify)

    def figure(self, figure: Illustration, width: float | None = None) -> list[Flowable]:
        widest = self.width if width is None else width
        flowables: list[Flowable] = [self.drawing(figure.drawing, widest)]
        if figure.captions:
            flowables.append(self.text(" ".join(figure.captions), self.caption))
        return flowables

    def piece(self, piece: PieceSheet) -> Iterator[Flowable]:
        more = f": {piece.title}" if piece.title else ""
        if piece.charts:
            yield self.heading("charts", more)
            reading = ParagraphStyle(
                "reading", self.base, keepWithNext=1, spaceAfter=self.size * 0.5
            )
            yield self.text(piece.chart_reading, reading)
            yield from self.charts(piece)
        yield self.heading("instructions", more)
        if piece.cast_on:
            yield self.text(piece.cast_on)
        for part in piece.parts:
            yield from self.part(part)
        if piece.fabric is not None:
            yield KeepTogether([self.heading("fabric", more), *self.figure(piece.fabric)])

    def charts(self, piece: PieceSheet) -> Iterator[Flowable]:
        """Lay the charts side by side where they fit, and the key below them."""
        line: list[ChartSheet] = []
        used = 0.0
        for chart in piece.charts:
            wide = self.chart_width(chart) + _GAP
            if line and used + wide > self.width:
                yield self.side_by_side(line)
                line, used = [], 0.0
            line.append(chart)
            used += wide
        if line:
            yield self.side_by_side(line)
        yield Spacer(1, 4)
        rows = [[self.drawing(one.drawing, self.width), self.text(one.words)] for one in piece.key]
        first = max(entry.drawing.width for entry in piece.key) * mm * self.magnify + 8
        key = Table(rows, colWidths=[first, self.width - first], hAlign="LEFT")
        key.setStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *_TIGHT])
        yield KeepTogether([key])

    def chart_width(self, chart: ChartSheet) -> float:
        """Return how wide a chart is with its words below it."""
        return max(chart.figure.drawing.width * self.magnify * float(mm), self.size * 14)

    def side_by_side(self, charts: list[ChartSheet]) -> Table:
        cells: list[list[Flowable]] = []
        widths = []
        for chart in charts:
            wide = min(self.chart_width(chart), self.width - _GAP)
            figure = self.figure(chart.figure, wide)
            cells.append([self.text(chart.title, self.subhead), *figure])
            widths.append(wide + _GAP)
        table = Table([cells], colWidths=widths, hAlign="LEFT")
        gap = ("RIGHTPADDING", (0, 0), (-1, -1), _GAP)
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *_TIGHT, gap])
        return table

    def part(self, part: SheetPart) -> Iterator[Flowable]:
        if part.title:
            yield self.text(part.title, self.subhead)
        for row in part.rows:
            yield from self.row(row)

    def row(self, row: SheetRow) -> Iterator[Flowable]:
        words = []
        if row.lead:
            words.append(f"<b>{escape(row.lead, quote=False)}</b>")
        words.append(escape(row.text, quote=False))
        if row.about:
            words.append(f"({escape(row.about, quote=False)})")
        if row.count:
            count = escape(row.count, quote=False).replace(" ", "\N{NO-BREAK SPACE}")
            words.append(f"<b>—\N{NO-BREAK SPACE}{count}</b>")
        if row.mark:
            words.append(f"<b>[{escape(row.mark, quote=False)}]</b>")
        more = bool(row.note or row.problems)
        style = ParagraphStyle("kept", self.row_style, keepWithNext=int(more))
        yield Paragraph(" ".join(words), style)
        if row.note:
            yield self.text(row.note, self.note)
        for problem in row.problems:
            bold = ParagraphStyle("problem", self.row_style, fontName=BOLD)
            yield self.text(f"→ {problem}", bold)

    def rest(self) -> Iterator[Flowable]:
        sheet = self.sheet
        if sheet.facts:
            yield self.heading("notes")
            yield self.listed([(label, (text,)) for label, text in sheet.facts], self.size * 9)
        if sheet.care:
            yield self.heading("care")
            yield from map(self.text, sheet.care)


_GAP: Final = 8 * mm
_TIGHT: Final = (
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 6),
    ("TOPPADDING", (0, 0), (-1, -1), 1),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
)
_ROOMY: Final = (
    ("LEFTPADDING", (0, 0), (-1, -1), 9),
    ("RIGHTPADDING", (0, 0), (-1, -1), 9),
    ("TOPPADDING", (0, 0), (-1, -1), 1),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, 0), 5),
    ("BOTTOMPADDING", (0, -1), (-1, -1), 6),
)
