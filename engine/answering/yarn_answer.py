"""Whether the yarn will last, from what the scale said at two rows or more."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from engine.facts.distance import RowsExactly, distance, to_the_end
from engine.facts.swatches import finished_gauge, weighed
from engine.forecast.values import RowsLeft
from engine.forecast.yarn import (
    CannotTell,
    Weighing,
    YarnForecast,
    YarnPerRow,
    rows_kept_back,
    yarn_lasts,
)
from engine.judging.decide import expected_now
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


_SWATCH_ERROR = 0.05
"""A weighed swatch knows the hand and the stitch (common practice, no source)."""
_SCALE_G = 1.0
"""Resolution of a kitchen scale (common practice, no source)."""


def _width_cm(state: PieceState, course: Course) -> float | None:
    """Return how wide the piece is: as measured, else by the swatch; None if neither is known."""
    widths = [old.width.cm for old in state.widths if not old.aside]
    if widths:
        return widths[-1]
    swatch, stitches = finished_gauge(state), _stitches(state, course)
    if swatch is None or swatch.stitches is None or not stitches:
        return None
    return stitches / float(swatch.stitches.per_cm)


def _known_per_row(state: PieceState, course: Course) -> YarnPerRow | None:
    """Return what a row takes by the weighed swatch; None if none was weighed."""
    swatch, stitches = weighed(state), _stitches(state, course)
    if swatch is None or not stitches or not swatch.stitches * swatch.rows or not swatch.mass.value:
        return None
    grams = swatch.mass.grams / (swatch.stitches * swatch.rows)
    scale = _SCALE_G / math.sqrt(12) / swatch.mass.grams
    return YarnPerRow(grams * stitches, math.hypot(_SWATCH_ERROR, scale))


def _stitches(state: PieceState, course: Course) -> int | None:
    """Return the stitches of a row, as counted last, else as expected."""
    counted = [old.count for old in state.counts if not old.aside]
    return expected_now(state, course) or (counted[-1] if counted else state.cast_on)


def weighings(state: PieceState) -> tuple[Weighing, ...]:
    """Return the weighings that still hold; weighed again at a row, the first one was wrong."""
    last = {old.row: old.mass.grams for old in state.weighings if not old.aside}
    return tuple(Weighing(row, grams) for row, grams in last.items())


def rows_needed(state: PieceState, course: Course) -> tuple[int, int] | None:
    """Return how many rows are left to the end, at least and at most; None if that is unknown."""
    match distance(state, course):
        case RowsExactly(rows):
            return to_the_end(state, course, rows), to_the_end(state, course, rows)
        case RowsLeft(low=low, high=high):
            return to_the_end(state, course, low), to_the_end(state, course, high)
        case _:
            return None


def yarn_forecast(state: PieceState, course: Course) -> YarnForecast | CannotTell | None:
    """Return how far the yarn reaches; None where the rows that are needed are not known."""
    needed = rows_needed(state, course)
    if needed is None:
        return None
    width = _width_cm(state, course)
    kept = rows_kept_back(width) if width is not None else _USUAL_KEPT_ROWS
    known = _known_per_row(state, course)
    return yarn_lasts(weighings(state), state.done, needed, kept_back_rows=kept, known=known)


def yarn_left(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Return the answer to "will the yarn last": from weighings that still hold, or what to do."""
    found = yarn_forecast(state, course)
    if found is None:
        return (reply(Say.MEASURE_FIRST, Tone.HEARD),)
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
