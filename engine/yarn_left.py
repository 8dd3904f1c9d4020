"""Whether the yarn will last, from what the scale said at two rows or more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.distance import RowsExactly, distance
from engine.foresee.values import RowsLeft
from engine.foresee.yarn import CannotTell, Weighing, rows_kept_back, yarn_lasts
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

_LASTS = 0.95
"""From this chance on the answer is yes."""
_PROBABLY = 0.5
"""From this chance on it is "probably"."""
_USUAL_KEPT_ROWS = 2.0
"""Rows to keep back for bind-off and end when no width is known (common practice, no source)."""


def yarn_left(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Return the answer to "will the yarn last": from weighings that still hold, or what to do."""
    weighings = tuple(Weighing(old.row, old.mass.grams) for old in state.weighings if not old.aside)
    match distance(state, course):
        case RowsExactly(rows):
            needed = (rows, rows)
        case RowsLeft(low=low, high=high):
            needed = (low, high)
        case _:
            return (reply(Say.MEASURE_FIRST, Tone.HEARD),)
    widths = [old.width.cm for old in state.widths if not old.aside]
    kept = rows_kept_back(widths[-1]) if widths else _USUAL_KEPT_ROWS
    found = yarn_lasts(weighings, state.done, needed, kept_back_rows=kept)
    if isinstance(found, CannotTell):
        if found.weigh_at > state.done:
            return (reply(Say.WEIGH_AT, Tone.HEARD, row=found.weigh_at),)
        return (reply(Say.WEIGH_FIRST, Tone.HEARD),)
    if found.chance >= _LASTS:
        return (reply(Say.YARN_LASTS, Tone.HEARD),)
    if found.chance >= _PROBABLY:
        if found.weigh_again_at is None:
            return (reply(Say.YARN_PERHAPS, Tone.HEARD),)
        return (reply(Say.YARN_PROBABLY, Tone.HEARD, row=found.weigh_again_at),)
    return (reply(Say.YARN_SHORT, Tone.HEARD, low=found.low, high=found.high),)
