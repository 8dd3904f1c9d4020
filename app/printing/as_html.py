"""The printed pattern as one HTML file: style and pictures inside, nothing fetched, no script."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from app.printing.svg import svg

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from app.printing.shapes import Drawing
    from app.printing.sheet import (
        ChartSheet,
        Illustration,
        PatternSheet,
        PieceSheet,
        SheetPart,
        SheetRow,
    )

LARGE_PRINT = "html { font-size: 150%; } @media print { html { font-size: 17pt; } }"
"""Added to the style sheet for large print: 17 pt on paper."""


def as_html(sheet: PatternSheet, style: str, *, large: bool = False) -> str:
    """Return the whole page; `style` is the style sheet that goes into it."""
    return "\n".join(_Page(sheet, style, large=large).lines()) + "\n"


class _Page:
    def __init__(self, sheet: PatternSheet, style: str, *, large: bool) -> None:
        self.sheet = sheet
        self.style = style + (LARGE_PRINT if large else "")
        self.scale = 1.5 if large else 1.0
        self.drawn = 0

    def lines(self) -> Iterator[str]:
        sheet = self.sheet
        yield "<!DOCTYPE html>"
        yield f'<html lang="{escape(sheet.language)}">'
        yield '<head>\n<meta charset="utf-8">'
        yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
        yield f"<title>{escape(sheet.title)}</title>"
        yield f"<style>\n{self.style}</style>\n</head>\n<body>\n<header>"
        yield f"<h1>{escape(sheet.title)}</h1>"
        if sheet.byline:
            yield from _paragraphs((sheet.byline,), "byline")
        yield from _paragraphs(sheet.sizes, "sizes")
        yield from _paragraphs(sheet.verdict, "verdict")
        yield "</header>\n<main>"
        if sheet.warning:
            yield from self.box("problems", (sheet.warning, *sheet.problems), "box wrong")
        if sheet.front is not None:
            yield from self.figure(sheet.front, "front")
        yield from self.materials()
        yield from self.notes()
        if sheet.cautions:
            yield from self.box("cautions", sheet.cautions, "box")
        yield from self.abbreviations()
        for heading, parts in (("stitch_patterns", sheet.stitch_patterns),):
            if parts:
                yield self.heading(heading)
                for part in parts:
                    yield from self.part(part, "h3")
        yield from self.pieces()
        yield from self.hands()
        if sheet.care:
            yield self.heading("care")
            yield from _paragraphs(sheet.care)
        foot = escape(" · ".join((*sheet.imprint, sheet.foot)))
        yield f'</main>\n<footer class="foot"><p>{foot}</p></footer>'
        yield "</body>\n</html>"

    def heading(self, name: str) -> str:
        return f"<h2>{escape(self.sheet.headings[name])}</h2>"

    def box(self, heading: str, lines: Iterable[str], style: str) -> Iterator[str]:
        yield f'<section class="{style}">{self.heading(heading)}<ul>'
        for line in lines:
            yield f"<li>{escape(line)}</li>"
        yield "</ul></section>"

    def materials(self) -> Iterator[str]:
        sheet = self.sheet
        if sheet.measurements is not None:
            yield self.heading("measurements")
            yield from self.measurements()
        for names, schematic in sheet.schematics:
            title = f": {names}" if names else ""
            yield f"<h2>{escape(sheet.headings['schematic'] + title)}</h2>"
            yield from self.figure(schematic, "outline")
        if sheet.materials:
            yield self.heading("materials")
            yield '<dl class="facts">'
            for label, lines in sheet.materials:
                yield f"<dt>{escape(label)}</dt><dd>{''.join(_paragraphs(lines))}</dd>"
            yield "</dl>"
        if sheet.gauge:
            yield self.heading("gauge")
            yield from _paragraphs(sheet.gauge)

    def measurements(self) -> Iterator[str]:
        found = self.sheet.measurements
        if found is None:
            return
        yield "<table>"
        if len(found.columns) > 1:
            names = "".join(f'<th scope="col">{escape(name)}</th>' for name in found.columns)
            size = escape(self.sheet.headings["size"])
            yield f'<thead><tr><th scope="col">{size}</th>{names}</tr></thead>'
        yield "<tbody>"
        for name, cells in found.lines:
            span = f' colspan="{len(found.columns)}"' if len(cells) < len(found.columns) else ""
            row = "".join(f"<td{span}>{escape(cell)}</td>" for cell in cells)
            yield f'<tr><th scope="row">{escape(name)}</th>{row}</tr>'
        yield "</tbody></table>"

    def abbreviations(self) -> Iterator[str]:
        if not self.sheet.abbreviations:
            return
        yield self.heading("abbreviations")
        yield '<dl class="abbreviations">'
        for one in self.sheet.abbreviations:
            yield f"<div><dt>{escape(one.sign)}</dt><dd>{escape(one.means)}</dd></div>"
        yield "</dl>"

    def pieces(self) -> Iterator[str]:
        for number, piece in enumerate(self.sheet.pieces):
            if piece.title:
                yield f"<h2>{escape(piece.title)}</h2>"
            yield self.subheading(piece, "instructions")
            if piece.cast_on:
                yield f'<p class="cast-on">{escape(piece.cast_on)}</p>'
            for part in piece.parts:
                yield from self.part(part, "h4" if piece.title else "h3")
            if piece.finishing:
                yield self.subheading(piece, "finishing")
                yield from self.rows(piece.finishing)
            yield from self.plans(piece)
            if piece.fabric is not None and number:
                yield self.subheading(piece, "fabric")
                yield from self.figure(piece.fabric)

    def subheading(self, piece: PieceSheet, name: str) -> str:
        level = "h3" if piece.title else "h2"
        return f"<{level}>{escape(self.sheet.headings[name])}</{level}>"

    def plans(self, piece: PieceSheet) -> Iterator[str]:
        if not piece.charts:
            return
        yield self.subheading(piece, "charts")
        yield f'<p class="reading">{escape(piece.chart_reading)}</p>'
        yield '<div class="charts">'
        for chart in piece.charts:
            yield from self.chart(chart, "h4" if piece.title else "h3")
        yield '</div>\n<ul class="key">'
        for entry in piece.key:
            yield f"<li>{self.picture(entry.drawing)}<span>{escape(entry.words)}</span></li>"
        yield "</ul>"

    def chart(self, chart: ChartSheet, level: str) -> Iterator[str]:
        yield f'<section class="chart"><{level}>{escape(chart.title)}</{level}>'
        yield from self.figure(chart.figure, "wide")
        yield "</section>"

    def figure(self, figure: Illustration, style: str = "") -> Iterator[str]:
        yield f'<figure class="{style}">' if style else "<figure>"
        yield self.picture(figure.drawing)
        if figure.captions:
            yield f"<figcaption>{escape(' '.join(figure.captions))}</figcaption>"
        yield "</figure>"

    def picture(self, drawing: Drawing) -> str:
        self.drawn += 1
        return svg(drawing, f"picture{self.drawn}", scale=self.scale)

    def part(self, part: SheetPart, level: str) -> Iterator[str]:
        if part.title:
            yield f"<{level}>{escape(part.title)}</{level}>"
        yield from self.rows(part.rows)

    def rows(self, rows: Iterable[SheetRow]) -> Iterator[str]:
        yield '<ul class="rows tick">' if self.sheet.handout else '<ul class="rows">'
        for row in rows:
            yield f"<li>{' '.join(self.row(row))}</li>"
        yield "</ul>"

    @staticmethod
    def row(row: SheetRow) -> Iterator[str]:
        if row.number:
            yield f'<span class="number">{escape(row.number)}.</span>'
        if row.lead:
            yield f'<span class="lead">{escape(row.lead)}</span>'
        yield f'<span class="text">{escape(row.text)}</span>'
        if row.about:
            yield f'<span class="about">({escape(row.about)})</span>'
        if row.count:
            yield f'<span class="count">— {escape(row.count)}</span>'
        if row.mark:
            yield f'<span class="mark">{escape(row.mark)}</span>'
        if row.note:
            yield f'<span class="note">{escape(row.note)}</span>'
        for problem in row.problems:
            yield f'<span class="problem">{escape(problem)}</span>'

    def hands(self) -> Iterator[str]:
        if self.sheet.hands:
            yield self.heading("hands")
        for stitch in self.sheet.hands:
            yield f'<section><h3>{escape(stitch.title)}</h3><div class="hands">'
            for move in stitch.moves:
                yield from self.figure(move)
            yield "</div></section>"

    def notes(self) -> Iterator[str]:
        sheet = self.sheet
        if sheet.facts:
            yield self.heading("notes")
            yield '<dl class="facts">'
            for label, text in sheet.facts:
                yield f"<dt>{escape(label)}</dt><dd>{escape(text)}</dd>"
            yield "</dl>"


def _paragraphs(lines: Iterable[str], style: str = "") -> Iterator[str]:
    kind = f' class="{style}"' if style else ""
    for line in lines:
        yield f"<p{kind}>{escape(line)}</p>"
