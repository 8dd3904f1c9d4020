"""What an undo took back, or a redo put back, when it was not rows: told from the two states."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from engine.replies import Thing

if TYPE_CHECKING:
    from engine.state import PieceState

_THINGS: Final = (
    ("finished", Thing.FINISH),
    ("ended", Thing.PART_END),
    ("patterns", Thing.PATTERN),
    ("swatch_counts", Thing.SWATCH),
    ("swatch_weights", Thing.SWATCH),
    ("how", Thing.HOW_MEASURED),
    ("lengths", Thing.MEASUREMENT),
    ("widths", Thing.MEASUREMENT),
    ("counts", Thing.COUNT),
    ("weighings", Thing.WEIGHING),
    ("weighed", Thing.WEIGHING),
    ("tolerances", Thing.TOLERANCE),
    ("lifelines", Thing.LIFELINE),
    ("markers", Thing.MARKER),
    ("balls", Thing.BALL),
    ("needles", Thing.NEEDLE),
    ("notes", Thing.NOTE),
    ("hand", Thing.FEEL),
    ("partner", Thing.PARTNER),
    ("said", Thing.ROWS_SAID),
    ("saying", Thing.ROWS_SAID),
    ("mended", Thing.ROWS_SAID),
    ("cast_on", Thing.CAST_ON),
    ("in_row", Thing.PLACE_IN_ROW),
    ("bit", Thing.PLACE_IN_ROW),
)
"""Fields of the state by what a knitter calls them; the first that differs says what it was."""


def thing_between(before: PieceState, after: PieceState) -> Thing | None:
    """Return what differs between two states besides rows; None: rows do, or nothing does."""
    if before.done != after.done:
        return None
    for field, thing in _THINGS:
        if getattr(before, field) != getattr(after, field):
            return thing
    return None
