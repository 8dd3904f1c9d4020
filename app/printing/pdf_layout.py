"""What stands where in the PDF: the sheet as a flow of paragraphs, tables and drawings."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any, Final

from reportlab.lib.enums import TA_LEFT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer, Table

from app.printing.pdf_drawing import DrawingFlowable
from app.printing.shapes import INK, Area, Drawing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from app.printing.sheet import (
        ChartSheet,
        HandsSheet,
        Illustration,
        PatternSheet,
        PieceSheet,
        SheetPart,
        SheetRow,
    )

FONT: Final = "Andika"
BOLD: Final = "Andika-Bold"
PRINT: Final = 10.5
"""The usual height of type, in points."""
_SHARE: Final = 0.7
"""A drawing fills so much of a page's height at most; its title and caption need the rest."""
_SCHEMATIC: Final = 0.25
"""An outline fills so much of it: its words can still be read then."""
_WIDE: Final = 1.9
"""A picture that is so much wider than high stands above the words and not beside them."""
_LARGE: Final = 14.0
"""Type from this height on, in points, is too large for two columns."""
_MANY_ROWS: Final = 8
"""A part of a handout with more rows stands in two columns, if they fit on a page."""
_HANDS: Final = 58 * mm
"""The least width of a picture of the hands."""
_TOO_MANY: Final = 60


@dataclass(frozen=True)
class Fit:
    """
    What may be chosen so that the pages fill.

    `size` is the height of the type in points, `front` how much of a page's height the picture of
    the first page may fill; outlines stand before the notes and cautions (`outline_early`) or after
    them; outlines and charts are drawn in a share (`drawn`) of their usual size.
    """

    size: float
    front: float
    outline_early: bool = False
    drawn: float = 1.0


class Layout:
    """The flow of a sheet for pages of `room` (width, height in points), fitted by `fit`."""

    def __init__(self, sheet: PatternSheet, room: tuple[float, float], fit: Fit) -> None:
        """Make the styles."""
        self.sheet = sheet
        self.front_share = fit.front
        self.outline_early = fit.outline_early
        self.drawn = fit.drawn
        size = fit.size
        self.row_width = room[0]
        self.width, self.height = room
        self.size = size
        self.magnify = size / PRINT
        self.charted = self.magnify * fit.drawn
        base = ParagraphStyle(
            "base",
            fontName=FONT,
            fontSize=size,
            leading=size * (1.28 if sheet.handout else 1.38),
            alignment=TA_LEFT,
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

    def _text(self, words: str, style: ParagraphStyle | None = None) -> Paragraph:
        return Paragraph(escape(words, quote=False), style or self.base)

    def _heading(self, name: str, more: str = "") -> Paragraph:
        return self._text(self.sheet.headings[name] + more, self.head)

    def _listed(self, pairs: Iterable[tuple[str, Iterable[str]]], first: float) -> Table:
        """Return pairs of a bold word and its lines, in two columns."""
        bold = ParagraphStyle("bold", self.base, fontName=BOLD)
        rows = [
            [self._text(name, bold), [self._text(line) for line in lines]] for name, lines in pairs
        ]
        table = Table(rows, colWidths=[first, self.width - first], hAlign="LEFT")
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
        return table

    def _abbreviations(self) -> Table:
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
                cells += [self._text(one.sign, bold), self._text(one.means)] if one else ["", ""]
            rows.append(cells)
        first = self.size * 5.5
        table = Table(rows, colWidths=[first, self.width / columns - first] * columns)
        table.hAlign = "LEFT"
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
        return table

    def _box(self, heading: str, lines: Iterable[str], line_width: float) -> Table:
        """Return lines in a frame."""
        bold = ParagraphStyle("bold", self.base, fontName=BOLD, spaceAfter=2)
        item = ParagraphStyle("item", self.base, leftIndent=9, bulletIndent=0, spaceAfter=2)
        rows = [[self._text(self.sheet.headings[heading], bold)]]
        rows += [[Paragraph(escape(line, quote=False), item, bulletText="•")] for line in lines]
        table = Table(rows, colWidths=[self.width], spaceBefore=8, spaceAfter=4)
        table.setStyle([("BOX", (0, 0), (-1, -1), line_width, "#000000"), *_ROOMY])
        return table

    # --- the sheet -------------------------------------------------------------------------------

    def flowables(self) -> Iterator[Flowable]:
        """Yield the whole sheet in its order."""
        sheet = self.sheet
        yield self._text(sheet.title, self.title)
        for line in (*filter(None, (sheet.byline,)), *sheet.sizes, *sheet.verdict):
            yield self._text(line)
        if sheet.warning:
            yield self._box("problems", (sheet.warning, *sheet.problems), 3)
        yield from self._front()
        if self.outline_early:
            yield from self._schematics()
        yield from self._notes()
        if sheet.cautions:
            yield KeepTogether([self._box("cautions", sheet.cautions, 1.2)])
        if not self.outline_early:
            yield from self._schematics()
        if sheet.abbreviations:
            yield self._heading("abbreviations")
            yield self._abbreviations()
        if sheet.stitch_patterns:
            yield self._heading("stitch_patterns")
            for part in sheet.stitch_patterns:
                yield from self._part(part)
        for number, piece in enumerate(sheet.pieces):
            yield from self._piece(piece, first=number == 0)
        if sheet.hands:
            yield self._heading("hands")
        for stitch in sheet.hands:
            yield from self._moves(stitch)
        if sheet.care:
            yield self._heading("care")
            yield from map(self._text, sheet.care)

    def _front(self) -> Iterator[Flowable]:
        """Show the piece as it will look, and what is needed for it beside or below it."""
        picture, room = self.sheet.front, self.height * self.front_share
        beside = self.size <= _LARGE
        if picture is None:
            yield from self._measurements()
            yield from self._needed(self.width)
        elif not beside or picture.drawing.width > picture.drawing.height * _WIDE:
            yield Spacer(1, self.size * 0.8)
            space = self.width, room
            yield DrawingFlowable(picture.drawing, space, (FONT, BOLD), magnify=2.0)
            yield self._text(" ".join(picture.captions), self.caption)
            found = self.sheet.measurements
            if beside and (found is None or len(found.columns) == 1):
                share = 0.44
                left = [*self._measurements(self.width * share - _GAP), *self._gauge(_GAP)]
                yield self._columns(left, self._materials, share)
            else:
                yield from self._measurements()
                yield from self._needed(self.width)
        else:
            share = min(0.56, (room / self.width) * picture.drawing.width / picture.drawing.height)
            drawn = DrawingFlowable(
                picture.drawing, (self.width * share - _GAP, room), (FONT, BOLD), magnify=2.0
            )
            caption = self._text(" ".join(picture.captions), self.caption)
            yield Spacer(1, self.size * 0.8)
            yield self._columns([drawn, caption], self._needed, share)
            yield from self._measurements()

    def _columns(
        self, left: list[Flowable], right: Callable[[float], Iterator[Flowable]], share: float
    ) -> Table:
        """Return two columns, the left one of a `share` of the width."""
        widths = [self.width * share, self.width * (1 - share)]
        table = Table([[left, [*right(widths[1] - 6)]]], colWidths=widths, hAlign="LEFT")
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
        return table

    def _needed(self, width: float) -> Iterator[Flowable]:
        yield from self._materials(width)
        yield from self._gauge()

    def _materials(self, width: float) -> Iterator[Flowable]:
        """List the materials; in a narrow column each below its name."""
        if not self.sheet.materials:
            return
        yield self._heading("materials")
        if width >= self.width * 0.8:
            yield self._listed(self.sheet.materials, self.size * 9)
            return
        name = ParagraphStyle("name", self.base, fontName=BOLD, keepWithNext=1, spaceBefore=3)
        for label, lines in self.sheet.materials:
            yield self._text(label, name)
            yield from map(self._text, lines)

    def _gauge(self, gap: float = 0.0) -> Iterator[Flowable]:
        """Say the gauge, with so much space to the right of it."""
        if self.sheet.gauge:
            style = ParagraphStyle("gauge", self.base, rightIndent=gap)
            yield self._heading("gauge")
            yield from (self._text(line, style) for line in self.sheet.gauge)

    def _schematics(self) -> Iterator[Flowable]:
        for names, schematic in self.sheet.schematics:
            head = self._heading("schematic", f": {names}" if names else "")
            yield KeepTogether([head, *self._figure(schematic, share=_SCHEMATIC * self.drawn)])

    def _notes(self) -> Iterator[Flowable]:
        if self.sheet.facts:
            yield self._heading("notes")
            pairs = [(label, (text,)) for label, text in self.sheet.facts]
            yield self._listed(pairs, self.size * 9)

    def _measurements(self, widest: float | None = None) -> Iterator[Flowable]:
        found = self.sheet.measurements
        if found is None:
            return
        bold = ParagraphStyle("bold", self.base, fontName=BOLD)
        rows: list[list[Any]] = []
        spans: list[tuple[Any, ...]] = []
        columns = len(found.columns)
        if columns > 1:
            names = (self.sheet.headings["size"], *found.columns)
            rows.append([self._text(name, bold) for name in names])
        for name, cells in found.lines:
            if len(cells) < columns:
                spans.append(("SPAN", (1, len(rows)), (columns, len(rows))))
            missing = columns - len(cells)
            rows.append([self._text(name, bold), *map(self._text, cells), *[""] * missing])
        first = self.size * 9
        each = min(((widest or self.width) - first) / columns, self.size * 13)
        widths = [first, *[each] * columns]
        table = Table(rows, colWidths=widths, hAlign="LEFT", repeatRows=int(columns > 1))
        lines = ("LINEBELOW", (0, 0), (-1, -1), 0.5, "#767676")
        table.setStyle([lines, ("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT, *spans])
        yield self._heading("measurements")
        yield table

    def _drawing(self, drawing: Drawing, widest: float, share: float = _SHARE) -> DrawingFlowable:
        space = widest, self.height * share
        return DrawingFlowable(drawing, space, (FONT, BOLD), magnify=self.magnify)

    def _figure(
        self, figure: Illustration, width: float | None = None, share: float = _SHARE
    ) -> list[Flowable]:
        widest = self.width if width is None else width
        flowables: list[Flowable] = [self._drawing(figure.drawing, widest, share)]
        if figure.captions:
            flowables.append(self._text(" ".join(figure.captions), self.caption))
        return flowables

    def _piece(self, piece: PieceSheet, *, first: bool) -> Iterator[Flowable]:
        more = f": {piece.title}" if piece.title else ""
        yield self._heading("instructions", more)
        if piece.cast_on:
            yield self._text(piece.cast_on, ParagraphStyle("kept", self.base, keepWithNext=1))
        for part in piece.parts:
            yield from self._part(part)
        if piece.finishing:
            yield self._heading("finishing", more)
            for row in piece.finishing:
                yield from self._row(row)
        if piece.charts:
            yield self._heading("charts", more)
            reading = ParagraphStyle(
                "reading", self.base, keepWithNext=1, spaceAfter=self.size * 0.5
            )
            yield self._text(piece.chart_reading, reading)
            yield from self._charts(piece)
        if piece.fabric is not None and not first:
            yield KeepTogether([self._heading("fabric", more), *self._figure(piece.fabric)])

    def _charts(self, piece: PieceSheet) -> Iterator[Flowable]:
        """Lay the charts side by side where they fit, and the key below them."""
        line: list[ChartSheet] = []
        used = 0.0
        for chart in piece.charts:
            wide = self._chart_width(chart) + _GAP
            if line and used + wide > self.width:
                yield self._side_by_side(line)
                line, used = [], 0.0
            line.append(chart)
            used += wide
        if line:
            yield self._side_by_side(line)
        yield Spacer(1, 4)
        rows = [
            [self._drawing(one.drawing, self.width), self._text(one.words)] for one in piece.key
        ]
        first = max(entry.drawing.width for entry in piece.key) * mm * self.magnify + 8
        key = Table(rows, colWidths=[first, self.width - first], hAlign="LEFT")
        key.setStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *_TIGHT])
        yield KeepTogether([key])

    def _chart_width(self, chart: ChartSheet) -> float:
        """Return how wide a chart is with its words below it."""
        return max(chart.figure.drawing.width * self.charted * float(mm), self.size * 14)

    def _side_by_side(self, charts: list[ChartSheet]) -> Table:
        cells: list[list[Flowable]] = []
        widths = []
        for chart in charts:
            wide = min(self._chart_width(chart), self.width - _GAP)
            drawn = chart.figure.drawing.width * self.charted * float(mm)
            figure = self._figure(chart.figure, min(wide, drawn))
            cells.append([self._text(chart.title, self.subhead), *figure])
            widths.append(wide + _GAP)
        table = Table([cells], colWidths=widths, hAlign="LEFT")
        gap = ("RIGHTPADDING", (0, 0), (-1, -1), _GAP)
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *_TIGHT, gap])
        return table

    def _moves(self, stitch: HandsSheet) -> Iterator[Flowable]:
        """Lay the pictures of a stitch in lines, each with its words below it."""
        yield self._text(stitch.title, self.subhead)
        across = max(int(self.width // (_HANDS * self.magnify)), 1)
        wide = self.width / across
        for first in range(0, len(stitch.moves), across):
            figures = [self._figure(one, wide - 6) for one in stitch.moves[first : first + across]]
            row = [*figures, *[""] * (across - len(figures))]
            table = Table([row], colWidths=[wide] * across, hAlign="LEFT")
            table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
            yield table

    def _part(self, part: SheetPart) -> Iterator[Flowable]:
        if part.title:
            yield self._text(part.title, self.subhead)
        if self.sheet.handout and _MANY_ROWS < len(part.rows) < _TOO_MANY:
            half = -(-len(part.rows) // 2)
            self.row_width = self.width / 2
            cells = [
                [flowable for row in rows for flowable in self._row(row)]
                for rows in (part.rows[:half], part.rows[half:])
            ]
            self.row_width = self.width
            table = Table([cells], [self.width / 2] * 2, hAlign="LEFT")
            table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
            yield table
        else:
            for row in part.rows:
                yield from self._row(row)

    def _row(self, row: SheetRow) -> Iterator[Flowable]:
        words = [f"{row.number}."] if row.number else []
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
        if self.sheet.handout:
            plain = ParagraphStyle("ticked", self.base)
            box = self._drawing(_TICK, self.size * 1.3)
            widths = [self.size * 1.8, self.row_width - self.size * 1.8]
            table = Table([[box, Paragraph(" ".join(words), plain)]], widths, hAlign="LEFT")
            table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
            yield table
        else:
            yield Paragraph(" ".join(words), style)
        if row.note:
            yield self._text(row.note, self.note)
        for problem in row.problems:
            bold = ParagraphStyle("problem", self.row_style, fontName=BOLD)
            yield self._text(f"→ {problem}", bold)


_TICK: Final = Drawing(
    4.4, 4.8, (Area(((0.4, 1.0), (3.8, 1.0), (3.8, 4.4), (0.4, 4.4)), "", INK, 0.35),), ""
)
"""The box in which a row that is done is ticked."""
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
