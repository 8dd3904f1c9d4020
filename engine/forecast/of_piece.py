"""Tension and its curve of one piece: what its state says, in the terms of the chart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.commands import Feel
from engine.forecast.tension import (
    CurvePoint,
    SwatchGauge,
    Tension,
    TensionLook,
    WidthSeen,
    curve,
    finished_size,
    looks,
    signs,
    tension,
)
from engine.forecast.values import LengthReading

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.state import PieceState


_WAY: Final = {Feel.TIGHT: -1, Feel.EVEN: 0, Feel.LOOSE: 1}


@dataclass(frozen=True, slots=True)
class PieceFacts:
    """What the pattern adds to the state: stitches after a row, the part a row is in, the swatch.

    `stitches_after(row)` None: not known. `edge_stitches` are left out of a width, which is
    measured inside them. Only the part that `swatch_part` names is compared ("": every part), and
    only rows from `from_row` on: what was knitted on another needle is another story.
    """

    swatch: Sequence[SwatchGauge]
    stitches_after: Callable[[int], int | None]
    part_of: Callable[[int], str]
    edge_stitches: int = 0
    swatch_part: str = ""
    from_row: int = 1

    def compared(self, row: int) -> bool:
        """Tell whether a row is in the part that the swatch stands for."""
        return not self.swatch_part or self.part_of(row) == self.swatch_part


@dataclass(frozen=True, slots=True)
class HandReport:
    """How the hand compares, the curve with the knitter's notes, and what comes of it.

    `length_cm` and `width_cm` are what a planned length and width would measure if nothing
    changes; None where nothing was planned.
    """

    tension: Tension
    points: tuple[CurvePoint, ...]
    length_cm: float | None
    width_cm: float | None


def looks_of(state: PieceState, facts: PieceFacts) -> tuple[TensionLook, ...]:
    """Return the looks that the piece's own measurements allow; what was set aside is left out."""
    lengths, widths = _readings(state, facts)
    return looks(_measured(lengths), widths, facts.swatch)


def _readings(state: PieceState, facts: PieceFacts) -> tuple[list[LengthReading], list[WidthSeen]]:
    lengths = [
        LengthReading(old.row, old.length.cm, old.fabric, facts.part_of(old.row))
        for old in state.lengths
        if not old.aside and old.from_row == 0
        if old.row >= facts.from_row - 1 and facts.compared(old.row)
    ]
    if facts.from_row == 1 and facts.compared(1):
        # Nothing lies below the first row: every length from the cast-on is all of this part.
        fabrics = sorted({reading.fabric for reading in lengths})
        lengths[:0] = [LengthReading(0, 0.0, fabric, facts.part_of(1)) for fabric in fabrics]
    widths = []
    for old in state.widths:
        stitches = facts.stitches_after(old.row)
        if old.aside or old.row < facts.from_row or not facts.compared(old.row):
            continue
        if stitches is not None and stitches > facts.edge_stitches:
            inner = stitches - facts.edge_stitches
            widths.append(WidthSeen(old.row, old.width.cm, old.fabric, inner))
    return lengths, widths


def _measured(lengths: Sequence[LengthReading]) -> list[LengthReading]:
    """Return the lengths that were measured: two of them make a look."""
    return [reading for reading in lengths if reading.row]


def hand_report(
    state: PieceState,
    facts: PieceFacts,
    planned_length_cm: float | None = None,
    planned_width_cm: float | None = None,
    planned_rows: int | None = None,
) -> HandReport | None:
    """Return how the hand compares with the swatch; None before anything can be compared.

    `planned_rows` is the number of rows that the planned length was meant to take.
    """
    lengths, widths = _readings(state, facts)
    seen = looks(_measured(lengths), widths, facts.swatch)
    felt = [(note.row, _WAY[note.feel]) for note in state.hand if note.row >= facts.from_row]
    found = tension(seen, signs(lengths, widths, facts.swatch), felt)
    if found is None:
        return None
    notes = [(note.row, note.feel.value) for note in state.hand]
    length = None
    if planned_length_cm is not None and planned_rows:
        share = min(1.0, state.done / planned_rows)
        length = finished_size(found.deviation, planned_length_cm, share)
    width = None
    if planned_width_cm is not None:
        width = finished_size(found.deviation, planned_width_cm, 0.0)
    return HandReport(found, curve(seen, notes), length, width)
