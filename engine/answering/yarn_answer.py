"""Whether the yarn will last, from what the scale said and the stitches that are still to come."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, assert_never

from engine.facts.needles import needle_at
from engine.facts.swatches import finished_gauge, weighed
from engine.facts.work import Unknown, Work, stitches_after, work
from engine.forecast.yarn import (
    SWATCH_EDGES,
    CannotTell,
    YarnForecast,
    YarnPerRow,
    YarnReading,
    rows_kept_back,
    scale_steps,
    yarn_lasts,
)
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

_LASTS: Final = 0.95
"""From this chance on the answer is yes; as unlikely, it is no."""
_PROBABLY: Final = 0.5
"""From this chance on it is "probably"."""
_USUAL_KEPT_ROWS: Final = 2.0
"""Rows to keep back for bind-off and end when no width is known (common practice, no source)."""
_SWATCH_ERROR: Final = 0.05
"""A weighed swatch knows the hand and the stitch (common practice, no source)."""
_OTHER_NEEDLE: Final = 0.1
"""What it knows of them on another needle (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Open:
    """The yarn reaches the end of what is known of the piece, and more is to come."""

    known: YarnForecast


def _stitch_cm(state: PieceState, course: Course) -> float | None:
    """Return how wide a stitch is: as measured, else by the swatch; None if neither is known."""
    for old in reversed(state.widths):
        stitches = None if old.aside else stitches_after(state, course, old.row)
        if stitches:
            return old.width.cm / stitches
    swatch = finished_gauge(state)
    if swatch is None or swatch.stitches is None:
        return None
    return 1 / float(swatch.stitches.per_cm)


def _kept_back(state: PieceState, course: Course, known: Work) -> float:
    """Return the yarn of bind-off and end in usual rows: of the stitches that are there then."""
    stitch = _stitch_cm(state, course)
    rows = rows_kept_back(stitch * known.last) if stitch is not None else _USUAL_KEPT_ROWS
    return rows * known.last / known.stitches


def _known_per_row(state: PieceState, usual: float, step_g: float) -> tuple[YarnPerRow, ...]:
    """Return what a usual row of the swatch's stitch takes; () if no swatch was weighed."""
    swatch = weighed(state)
    if swatch is None or not swatch.stitches * swatch.rows or not swatch.mass.value:
        return ()
    grams = swatch.mass.grams / (swatch.stitches * (swatch.rows + SWATCH_EDGES))
    needle = needle_at(state, state.working)
    error = _SWATCH_ERROR if swatch.needle in {"", needle} else _OTHER_NEEDLE
    error = math.hypot(error, step_g / math.sqrt(12) / swatch.mass.grams)
    return (YarnPerRow(grams * usual, error),)


def weighings(state: PieceState) -> tuple[YarnReading, ...]:
    """Return the weighings that still hold; weighed again at a row, the first one was wrong."""
    last = {old.row: old for old in state.weighings if not old.aside}
    return tuple(YarnReading(row, old.mass.grams, old.stretch) for row, old in last.items())


def _told(state: PieceState) -> tuple[YarnReading, ...]:
    """Return all weighings that tell what rows take: those of rows ripped back too."""
    return tuple(
        YarnReading(old.row, old.mass.grams, old.stretch)
        for old in state.weighings
        if old.ripped or not old.aside
    )


def yarn_forecast(
    state: PieceState, course: Course, scale_g: float | None = None
) -> YarnForecast | CannotTell | Open | Unknown:
    """
    Return how far the yarn reaches, or why that cannot be known.

    `scale_g` is the step of the scale in grams; None: it is learnt from what was weighed.
    """
    found = work(state, course)
    if isinstance(found, Unknown):
        return found
    done, needed = found
    told = _told(state)
    steps = scale_steps([one.grams for one in told])
    step = scale_g if scale_g is not None else max(steps, key=lambda one: one[1])[0]
    answer = yarn_lasts(
        told,
        state.done,
        needed.rows,
        resolution_g=scale_g,
        kept_back_rows=_kept_back(state, course, done),
        known=_known_per_row(state, done.stitches, step),
        work=done,
        needed=needed.work,
        stretch_now=state.stretch,
    )
    if isinstance(answer, YarnForecast) and not needed.whole and answer.chance >= 1 - _LASTS:
        return Open(answer)
    return answer


def yarn_left(state: PieceState, course: Course, scale_g: float | None = None) -> tuple[Reply, ...]:
    """Return the answer to "will the yarn last": from weighings that still hold, or what to do."""
    heard = Tone.HEARD
    match yarn_forecast(state, course, scale_g):
        case Unknown.NO_TARGET:
            return (reply(Say.NO_TARGET, heard),)
        case Unknown.MEASURE_FIRST:
            return (reply(Say.MEASURE_FIRST, heard),)
        case Unknown.COUNT_FIRST:
            return (reply(Say.YARN_COUNT_FIRST, heard),)
        case Unknown.STITCHES_AHEAD | Open():
            return (reply(Say.YARN_CANNOT_KNOW, heard),)
        case CannotTell(weigh_at=row):
            if row > state.done:
                return (reply(Say.WEIGH_AT, heard, row=row),)
            return (reply(Say.WEIGH_FIRST, heard),)
        case YarnForecast() as found:
            return (_in_words(found),)
        case other:
            assert_never(other)


def _in_words(found: YarnForecast) -> Reply:
    if found.chance >= _LASTS:
        return reply(Say.YARN_LASTS, Tone.HEARD)
    if found.chance < 1 - _LASTS:
        return reply(Say.YARN_SHORT, Tone.HEARD, low=found.low, high=found.high)
    if found.weigh_again_at is None:
        return reply(Say.YARN_PERHAPS, Tone.HEARD)
    say = Say.YARN_PROBABLY if found.chance >= _PROBABLY else Say.YARN_PROBABLY_NOT
    return reply(say, Tone.HEARD, row=found.weigh_again_at)
