"""A pattern as a handout for a class: one size, one page, its rows in whole words, boxes to tick.

What nobody needs at a first piece is left out: charts, the outline, the other system of gauge.
Nothing is said that the sheet does not say.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.printing.sheet import PatternSheet, PieceSheet


def handout_of(sheet: PatternSheet) -> PatternSheet:
    """Return the sheet of one size, with its rows in whole words, as it is handed out."""
    return replace(
        sheet,
        handout=True,
        verdict=(),
        gauge=sheet.gauge[:1],
        materials=tuple((label, lines[:1]) for label, lines in sheet.materials),
        pieces=tuple(map(_plain, sheet.pieces)),
        care=(),
    )


def _plain(piece: PieceSheet) -> PieceSheet:
    fabric = piece.fabric and replace(piece.fabric, captions=())
    return replace(piece, charts=(), key=(), chart_reading="", schematic=None, fabric=fabric)
