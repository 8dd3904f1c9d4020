"""A report as one HTML file (no script, nothing fetched) and as PDF (the optional extra `pdf`)."""

from __future__ import annotations

import io
from html import escape
from typing import TYPE_CHECKING, Any

from app.printing.svg import svg

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.printing.as_pdf import PdfFonts
    from app.printing.report import Report, ReportPart, ReportTable


def report_html(report: Report, style: str) -> str:
    """Return the whole page; `style` is the style sheet that goes into it."""
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        '<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(report.title)}</title>",
        f"<style>\n{style}</style>\n</head>\n<body>",
        f"<header><h1>{escape(report.title)}</h1><p>{escape(report.made)}</p></header>\n<main>",
    ]
    for number, part in enumerate(report.parts):
        lines += _html_part(part, number)
    return "\n".join([*lines, "</main>\n</body>\n</html>"]) + "\n"


def _html_part(part: ReportPart, number: int) -> Iterator[str]:
    yield f'<section aria-labelledby="part-{number}"><h2 id="part-{number}">'
    yield f"{escape(part.heading)}</h2>"
    yield from (f"<p>{escape(one)}</p>" for one in part.sentences)
    yield from (_html_table(one) for one in part.tables)
    for at, drawing in enumerate(part.drawings):
        yield f"<figure>{svg(drawing, f'plot-{number}-{at}')}</figure>"
    yield from (f"<p><small>{escape(one)}</small></p>" for one in part.notes)
    yield "</section>"


def _html_table(table: ReportTable) -> str:
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in table.head)
    rows = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{escape(one)}</td>" for one in row[1:])
        + "</tr>"
        for row in table.rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"


def report_pdf(report: Report, fonts: PdfFonts, *, letter: bool = False) -> bytes:
    """Return the whole file, the same byte for byte for the same report."""
    from reportlab.lib.pagesizes import A4, LETTER  # noqa: PLC0415 (an optional extra)
    from reportlab.lib.styles import ParagraphStyle  # noqa: PLC0415
    from reportlab.lib.units import mm  # noqa: PLC0415
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table  # noqa: PLC0415

    from app.printing.pdf_drawing import DrawingFlowable  # noqa: PLC0415
    from app.printing.pdf_layout import BOLD, FONT  # noqa: PLC0415

    pdfmetrics.registerFont(TTFont(FONT, str(fonts.regular)))
    pdfmetrics.registerFont(TTFont(BOLD, str(fonts.bold)))
    plain = ParagraphStyle("plain", fontName=FONT, fontSize=10, leading=14)
    small = ParagraphStyle("small", plain, fontSize=8, leading=11)
    heading = ParagraphStyle("heading", plain, fontName=BOLD, fontSize=13, leading=20)
    title = ParagraphStyle("title", heading, fontSize=18, leading=26)
    width, height = LETTER if letter else A4
    margin = 16 * mm
    room = width - 2 * margin
    flow: list[Any] = [Paragraph(escape(report.title), title), Paragraph(report.made, plain)]
    for part in report.parts:
        flow.append(Paragraph(escape(part.heading), heading))
        flow += [Paragraph(escape(one), plain) for one in part.sentences]
        for table in part.tables:
            cells = [[Paragraph(escape(one), small) for one in row] for row in table.rows]
            head = [Paragraph(f"<b>{escape(one)}</b>", small) for one in table.head]
            first = 0.34 * room
            rest = (room - first) / max(len(table.head) - 1, 1)
            wide = [first, *([rest] * (len(table.head) - 1))]
            flow += [Spacer(1, 4), Table([head, *cells], wide, repeatRows=1), Spacer(1, 4)]
        for drawing in part.drawings:
            flow += [DrawingFlowable(drawing, (room, 0.3 * height), (FONT, BOLD)), Spacer(1, 6)]
        flow += [Paragraph(escape(one), small) for one in part.notes]
    out = io.BytesIO()
    SimpleDocTemplate(
        out,
        pagesize=(width, height),
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin,
        title=report.title,
        lang="en",
        invariant=1,
    ).build(flow)
    return out.getvalue()
