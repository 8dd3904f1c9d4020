"""Whether a piece is worked in rounds where it stands: then nobody speaks of its rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.pattern.headings import Side

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState


def in_rounds(state: PieceState, course: Course) -> bool:
    """Return whether the row that is worked is a round; of a piece that is done, its last one."""
    place = course.where(state.loops_ended, state.working)
    if (state.finished or place.finished) and state.done:
        place = course.where(state.loops_ended, state.done)
    return place.side is Side.ROUND
