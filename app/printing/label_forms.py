"""A sheet of labels as one HTML file (no script, nothing fetched) and as PDF (the extra `pdf`)."""

from __future__ import annotations

import io
from html import escape
from typing import TYPE_CHECKING, Final

from app.printing.labels import LEADING, MARGIN

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.printing.as_pdf import PdfFonts
    from app.printing.labels import Label, LabelSheet

HEAD: Final = 1.35
"""The first line is so much larger."""


def _pages(
    sheet: LabelSheet, labels: Sequence[Label], skip: int
) -> Iterator[list[tuple[float, float, Label]]]:
    page: list[tuple[float, float, Label]] = []
    for at, label in enumerate(labels, skip):
        if page and at % sheet.labels == 0:
            yield page
            page = []
        page.append((*sheet.place(at), label))
    yield page


def labels_html(
    title: str, sheet: LabelSheet, labels: Sequence[Label], size: float, skip: int = 0
) -> str:
    """Return the whole page; `size` in points; `skip` labels of the first sheet are used up."""
    wide, high = sheet.paper
    style = (
        f"@page {{ size: {wide}mm {high}mm; margin: 0 }}\n"
        "* { box-sizing: border-box } html, body { margin: 0; color: #000; background: #fff }\n"
        f"body {{ font: {size}pt/{LEADING} Andika, 'Segoe UI', 'Noto Sans', Arial, sans-serif }}\n"
        f".sheet {{ position: relative; width: {wide}mm; height: {high}mm; overflow: hidden;"
        " break-after: page }\n"
        f".label {{ position: absolute; width: {sheet.wide}mm; height: {sheet.high}mm;"
        f" padding: {MARGIN}mm; overflow: hidden }}\n"
        f".label h2 {{ margin: 0; font-size: {HEAD}em }} .label p {{ margin: 0 }}\n"
        "@media screen { .label { outline: 1px dashed #767676 } }\n"
    )
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        f'<head>\n<meta charset="utf-8">\n<title>{escape(title)}</title>',
        f"<style>\n{style}</style>\n</head>\n<body>",
    ]
    for page in _pages(sheet, labels, skip):
        lines.append('<main class="sheet">')
        for left, top, label in page:
            told = "".join(f"<p>{escape(one)}</p>" for one in label.lines)
            lines.append(
                f'<section class="label" style="left:{left:g}mm;top:{top:g}mm">'
                f"<h2>{escape(label.head)}</h2>{told}</section>"
            )
        lines.append("</main>")
    return "\n".join([*lines, "</body>\n</html>"]) + "\n"


def labels_pdf(
    title: str,
    sheet: LabelSheet,
    labels: Sequence[Label],
    size: float,
    fonts: PdfFonts,
    skip: int = 0,
) -> bytes:
    """Return the whole file, the same byte for byte for the same labels."""
    from reportlab.lib.units import mm  # noqa: PLC0415 (an optional extra)
    from reportlab.lib.utils import simpleSplit  # noqa: PLC0415
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    from app.printing.pdf_layout import BOLD, FONT  # noqa: PLC0415

    pdfmetrics.registerFont(TTFont(FONT, str(fonts.regular)))
    pdfmetrics.registerFont(TTFont(BOLD, str(fonts.bold)))
    out = io.BytesIO()
    wide, high = sheet.paper
    canvas = Canvas(out, pagesize=(wide * mm, high * mm), invariant=1, lang="en")
    canvas.setTitle(title)
    room = (sheet.wide - 2 * MARGIN) * mm
    for page in _pages(sheet, labels, skip):
        for left, top, label in page:
            y = (high - top - MARGIN) * mm
            texts = [(label.head, BOLD, HEAD * size), *((one, FONT, size) for one in label.lines)]
            for text, font, points in texts:
                for part in simpleSplit(text, font, points, room):
                    y -= LEADING * points
                    canvas.setFont(font, points)
                    # The letters stand on their line, with what hangs below them under it.
                    canvas.drawString((left + MARGIN) * mm, y + 0.3 * points, part)
        canvas.showPage()
    canvas.save()
    return out.getvalue()
