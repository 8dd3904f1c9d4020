"""How long a printed pattern takes, and how large it is: the demo patterns and one very large one.

Run from the checkout:

    python bench/print_bench.py
"""

from __future__ import annotations

import sys
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app import resources
from app.pieces.pattern_cache import document_of
from app.printing.as_html import as_html
from app.printing.as_markdown import as_markdown
from app.printing.as_pdf import PdfFonts, as_pdf
from app.printing.compose import compose
from app.printing.data import print_data
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.printing.sheet import PatternSheet

LARGE = """
title = "A large blanket in ten sizes"
sizes = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "10"]
cast_on = "102 (112, 122, 132, 142, 152, 162, 172, 182, 192)"
gauge = "20 sts and 28 rows to 10 cm"
rows = [
  {rows}
]
"""


def _html(sheet: PatternSheet, style: str) -> bytes:
    return as_html(sheet, style).encode()


def _markdown(sheet: PatternSheet) -> bytes:
    return as_markdown(sheet).encode()


def main() -> None:
    """Print one line for every pattern and form."""
    data = print_data()
    style = resources.text("shared/print/sheet.css")
    fonts = PdfFonts(
        resources.path("assets/fonts/Andika-Regular.ttf"),
        resources.path("assets/fonts/Andika-Bold.ttf"),
    )
    rows = [
        f'"Row {n}: k1, *k{n % 4 + 1}, p{9 - n % 4}; rep from * to last st, k1",'
        for n in range(1, 501)
    ]
    texts = {
        path.stem: path.read_text("utf-8") for path in resources.files("shared/patterns", "*.toml")
    }
    texts["500 rows x 10 sizes"] = LARGE.format(rows="\n  ".join(rows))
    print(f"{'pattern':22} {'read':>7} {'compose':>8} {'html':>15} {'markdown':>15} {'pdf':>15}")
    for name, text in texts.items():
        begun = time.perf_counter()
        document = document_of(text)
        assert isinstance(document, PatternDocument), document
        document.check()
        read = time.perf_counter() - begun
        begun = time.perf_counter()
        sheet = compose(document, data).sheet
        composed = time.perf_counter() - begun
        cells = [f"{name:22} {read:6.2f}s {composed:7.2f}s"]
        forms: tuple[Callable[[], bytes], ...] = (
            partial(_html, sheet, style),
            partial(_markdown, sheet),
            partial(as_pdf, sheet, fonts),
        )
        for write in forms:
            begun = time.perf_counter()
            content = write()
            cells.append(f"{time.perf_counter() - begun:6.2f}s {len(content) / 1024:5.0f}K")
        print(" ".join(cells))


if __name__ == "__main__":
    main()
