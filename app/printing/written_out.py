"""A pattern put beside the journal as a page to print or to hand on, from the window."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from app import resources
from app.printing.as_html import as_html
from app.printing.compose import compose
from app.printing.data import print_data

if TYPE_CHECKING:
    from pathlib import Path

    from engine.pattern import PatternDocument


def write_out(document: PatternDocument, size: str | None, *, left_handed: bool) -> Path:
    """
    Write the printed pattern of a size as one HTML file and return where it is.

    Raises OSError if it cannot be written. A page of that name made before is made anew.
    """
    sheet = compose(document, print_data(), size=size, left_handed=left_handed).sheet
    folder = resources.data_folder() / "printed"
    folder.mkdir(parents=True, exist_ok=True)
    words = " ".join(part for part in (document.title, size) if part)
    name = re.sub(r"[^\w-]+", "-", words.casefold()).strip("-") or "pattern"
    path = folder / f"{name[:80]}.html"
    new = path.with_suffix(".new")
    new.write_text(as_html(sheet, resources.text("shared/print/sheet.css")), encoding="utf-8")
    new.replace(path)
    return path
