"""Made-up patterns that have what the demo patterns lack, and ways to print a pattern."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from app import resources
from app.pieces.pattern_cache import document_of
from app.printing.as_html import as_html
from app.printing.as_markdown import as_markdown
from app.printing.compose import Composed, compose
from app.printing.data import print_data
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from pathlib import Path

VEST = """
title = "Baby vest"
sizes = ["3 months", "6 months", "12 months"]
yarn = "Light (category 3) cotton, 50 g to 125 m; 2 (2, 3) balls"
needle = "3.75 mm"
gauge = "22 sts and 30 rows = 4 in in st st"
note = "Two small buttons close the shoulder, 1 1/2 in apart."
materials = "2 buttons"
[measurements]
chest = "18 (19, 20 1/2) in"
"sleeve" = "none"
[stitches.mb2]
takes = 1
leaves = 1
words = "make a small bobble: (k1, p1, k1) in one stitch, turn, p3, turn, k3tog"
[[stitch_pattern]]
name = "Broken rib"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): *k1, p1; rep from * to end"]
[[piece]]
title = "Back"
cast_on = "50 (54, 56)"
[[piece.section]]
title = "Hem"
rows = ["Work 6 rows in k1, p1 rib", "Next row (RS): k2, *mb2, k1; rep from * to last 2 sts, k2"]
[[piece.section]]
title = "Body"
rows = [
  "Work in st st until piece measures 5 (5 1/2, 6) in from beg, ending with a WS row",
  "Bind off 3 (3, 4) sts at beg of next 2 rows",
  "Dec 1 st each end of next and every foll alt row 3 (4, 4) times in all",
  "Work even until armhole measures 3 1/2 (4, 4 1/2) in, ending with a WS row",
  "Next row (RS): k10, bo 12 sts, k to end",
  "Bind off all sts",
]
[[piece]]
title = "Pocket"
cast_on = "16 (16, 18)"
rows = [
  "Row 1 (RS): k1, *sl1 wyif, k1; rep from * to last st, k1",
  "Row 2: k2 (-, 4), p to end",
  "Row 3 (unchecked): work the duck over the middle (16 (16, 18) sts)",
  "Bind off all sts",
]
"""

LACE = """
title = "Lace & <shaping>"
cast_on = 25
gauge = "22 sts and 30 rows to 10 cm in lace"
needle = "US 6"
yarn = "Light (category 3) wool, 50 g to 125 yds"
[[section]]
title = "Lace"
rows = [
  "Row 1 (RS): k1, *yo, ssk, k3, k2tog, yo, k1; rep from * to end",
  "Row 2 and all WS rows: p",
  "Row 3: k2, *yo, ssk, k1, k2tog, yo, k3; rep from * to last 7 sts, yo, ssk, k1, k2tog, yo, k2",
  "Row 5: k3, *yo, sk2p, yo, k5; rep from * to last 6 sts, yo, sk2p, yo, k3",
  "Rep rows 1 to 6 four times more",
]
[[section]]
title = "Shaping"
rows = [
  "Next row (RS): k1, ssk, k to last 3 sts, k2tog, k1 (23 sts)",
  "Next row (WS): p",
  { text = "Next row: k1, ssk, k to last 3 sts, k2tog, k1", stitches = 21 },
  "Next row: p",
  "Next row: k3, c4f, k to end",
  "Next row: p1, pfb, p to end",
  "Bind off all sts",
]
"""

WRONG = """
title = "Does not add up"
sizes = ["S", "M"]
cast_on = "20 (24)"
rows = ["Row 1: *k2, p2; rep from * to end", "Row 2: k5, *k3; rep from * to end", "Row 3: k to end"]
"""

DEMO = tuple(path.stem for path in resources.files("shared/patterns", "*.toml"))
"""The names of the patterns that come with the product."""


@cache
def text_of(name: str) -> str:
    """Return the text of a demo pattern, or of one of those made up here."""
    made = {"vest": VEST, "lace": LACE, "wrong": WRONG}
    return made[name] if name in made else resources.text(f"shared/patterns/{name}.toml")


def document(name: str) -> PatternDocument:
    """Return a pattern, read."""
    read = document_of(text_of(name))
    assert isinstance(read, PatternDocument), read
    return read


@cache
def composed(name: str, size: str | None = None, *, left_handed: bool = False) -> Composed:
    """Return a printed pattern as values."""
    return compose(document(name), print_data(), size=size, left_handed=left_handed)


@cache
def html(name: str, size: str | None = None, *, left_handed: bool = False) -> str:
    """Return a printed pattern as a page."""
    sheet = composed(name, size, left_handed=left_handed).sheet
    return as_html(sheet, resources.text("shared/print/sheet.css"))


def markdown(name: str, size: str | None = None, *, left_handed: bool = False) -> str:
    """Return a printed pattern as Markdown."""
    return as_markdown(composed(name, size, left_handed=left_handed).sheet)


def fonts() -> tuple[Path, Path]:
    """Return the two font files for PDF."""
    return (
        resources.path("assets/fonts/Andika-Regular.ttf"),
        resources.path("assets/fonts/Andika-Bold.ttf"),
    )


SHEETS = [
    (name, size)
    for name in (*DEMO, "vest", "lace")
    for size in ((None, *document(name).sizes) if document(name).sizes else (None,))
]
"""Every pattern for all its sizes together and for each of them alone."""
