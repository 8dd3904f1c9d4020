"""Tension and its curve of one piece: what its state says, in the terms of the chart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.forecast.tension import (
    CurvePoint,
    Look,
    SwatchGauge,
    Tension,
    WidthReading,
    curve,
    finished_size,
    looks,
    tension,
)
from engine.forecast.values import LengthReading

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.state import PieceState


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


def looks_of(state: PieceState, facts: PieceFacts) -> tuple[Look, ...]:
    """Return the looks that the piece's own measurements allow; what was set aside is left out."""
    lengths = [
        LengthReading(old.row, old.length.cm, old.fabric, facts.part_of(old.row))
        for old in state.lengths
        if not old.aside and old.from_row == 0
        if old.row >= facts.from_row - 1 and facts.compared(old.row)
    ]
    widths = []
    for old in state.widths:
        stitches = facts.stitches_after(old.row)
        if old.aside or old.row < facts.from_row or not facts.compared(old.row):
            continue
        if stitches is not None and stitches > facts.edge_stitches:
            inner = stitches - facts.edge_stitches
            widths.append(WidthReading(old.row, old.width.cm, old.fabric, inner))
    return looks(lengths, widths, facts.swatch)


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
    seen = looks_of(state, facts)
    found = tension(seen)
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
