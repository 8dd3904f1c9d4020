"""The whole of a piece, from the cast-on to the last row: stitch by stitch, or thinned to fit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import DrawnFabric, DrawnRow, FabricEdge
from app.drawings.piece import cast_on_row, fabric_of, needles_of, row_of, width_unknown

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

MOST_ROWS: Final = 150
MOST_ACROSS: Final = 130
"""More stitches than that are no stitches any more on any screen: every so manieth is drawn."""


def whole_of(
    state: PieceState, course: Course, most: tuple[int, int] = (MOST_ROWS, MOST_ACROSS)
) -> DrawnFabric:
    """
    Return a piece as it is now, all of it, on its needle or off it.

    Of more than `most` (rows, stitches across) every so manieth is drawn, the first and last too.
    """
    if width_unknown(state, course):
        return replace(fabric_of(state, course), working=None)
    rows_most, across_most = most
    ended, needles = state.loops_ended, needles_of(course, state.loops_ended)
    rows: list[DrawnRow] = [cast_on_row(state.cast_on)] if state.cast_on else []
    picked = _picked(state.done, rows_most)
    joined = len(picked) == state.done
    for number in picked:
        below = rows[-1] if rows and joined else None
        rows.append(row_of(course.where(ended, number), below, needles.before(number)))
    widest = max((len(row.stitches) for row in rows), default=0)
    if not joined or widest > across_most:
        rows = [_thinned(row, widest, across_most) for row in rows]
    return DrawnFabric(tuple(rows), off=state.finished)


def _picked(count: int, most: int) -> list[int]:
    """Return the numbers of at most so many rows, evenly from the first to the last."""
    if count <= most:
        return list(range(1, count + 1))
    return sorted({1 + round(at * (count - 1) / (most - 1)) for at in range(most)})


def _thinned(row: DrawnRow, widest: int, most: int) -> DrawnRow:
    """Return a row with its share of at most so many stitches, each standing by itself."""
    share = min(most / max(widest, 1), 1.0)
    count = max(round(len(row.stitches) * share), 1)
    kept = (row.stitches[int(at * len(row.stitches) / count)] for at in range(count))
    return replace(
        row,
        stitches=tuple(
            replace(one, out_of=(at,), crosses=False, beside=float(at))
            if one.edge is FabricEdge.NONE
            else replace(one, out_of=(at,))
            for at, one in enumerate(kept)
        )
        if row.stitches
        else (),
    )
