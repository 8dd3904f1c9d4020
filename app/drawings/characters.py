"""A row of the piece in characters, for the terminal: V is a knit stitch from the right side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.drawings.fabric import FabricEdge, Seen
from app.drawings.piece import needles_of, row_of
from app.drawings.shown import stitch_drawn

if TYPE_CHECKING:
    from app.drawings.fabric import DrawnRow, DrawnStitch
    from app.session.situation import Situation
    from engine.pattern.notation import Item

_SIGNS = {Seen.KNIT: "V", Seen.PURL: "-", Seen.OVER: "o", Seen.PLAIN: "'"}
_MOST = 90


def fabric_row(situation: Situation, row: int) -> str:
    """Return row `row` of the piece as it is seen from the right side, left to right."""
    state, course = situation.state, situation.course
    needles = needles_of(course, state.loops_ended)
    below: DrawnRow | None = None
    for number in range(max(row - 2, 1), row + 1):
        place = course.where(state.loops_ended, number)
        below = row_of(place, below, needles.before(number))
    if below is None or not below.stitches:
        return ""
    signs = "".join(_sign(stitch) for stitch in below.stitches)
    if len(signs) > _MOST:
        half = _MOST // 2
        signs = f"{signs[:half]} … {signs[-half:]}"
    return f"{signs}  {len(below.stitches)}"


def stitch_rows(item: Item) -> tuple[str, ...]:
    """Return a bit of fabric, the top row first, with a stitch in brackets in its middle."""
    fabric = stitch_drawn(item, made=True)
    if fabric is None or fabric.working is None:
        return ()
    top = [_sign(stitch) for stitch in fabric.working.stitches]
    last = len(top) - fabric.bit_first
    first = last - fabric.bit_count
    made = f"{''.join(top[:first])}[{''.join(top[first:last])}]{''.join(top[last:])}"
    below = [f" {''.join(map(_sign, row.stitches))}" for row in reversed(fabric.done)]
    return made, *below


def _sign(stitch: DrawnStitch) -> str:
    if stitch.edge is not FabricEdge.NONE:
        return "_"
    if len(stitch.out_of) > 1:
        first, second = stitch.out_of[0], stitch.out_of[1]
        # The one in front shows its lean: from the right below to the left above, or the other way.
        return "\\" if first > second else "/"
    return _SIGNS[stitch.seen]
