"""
How far the piece is from its target: what the state and the pattern say to the forecast.

The forecast itself (`engine.foresee`) knows only rows and centimetres; here the readings, the
parts of the pattern and its gauge are put into its terms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.foresee.length import rows_left
from engine.foresee.values import (
    PATTERN_SPREAD,
    CannotSay,
    GaugePrior,
    LengthReading,
    PartSpan,
    RowsLeft,
)
from engine.quantities import Length
from engine.stated_gauge import read_stated_gauge

if TYPE_CHECKING:
    from engine.pattern import Course, OpenLoop
    from engine.state import PieceState


@dataclass(frozen=True, slots=True)
class RowsExactly:
    """The pattern itself says how many rows are left."""

    rows: int


@dataclass(frozen=True, slots=True)
class LongEnough:
    """The piece is as long as it should be."""


@dataclass(frozen=True, slots=True)
class NoTarget:
    """Neither the pattern nor the piece has a length or a last row to go for."""


Distance = RowsExactly | RowsLeft | CannotSay | LongEnough | NoTarget


def readings(state: PieceState, course: Course) -> tuple[LengthReading, ...]:
    """Return the lengths that still hold, in rows and centimetres, oldest first."""
    return tuple(
        LengthReading(
            row=old.row,
            cm=old.length.cm,
            fabric=old.fabric,
            part=course.where(state.loops_ended, old.row).section,
            from_row=old.from_row,
        )
        for old in state.lengths
        if not old.aside and old.row > old.from_row
    )


def part_spans(state: PieceState, course: Course) -> tuple[PartSpan, ...]:
    """
    Return the stitch parts from the cast-on up to and including the one being worked.

    The part being worked is open-ended where the pattern works it "until it measures".
    """
    ended = state.loops_ended
    place = course.where(ended, state.working)
    first = state.working - place.row_in_section + 1
    last = None if place.open_loop is not None else course.last_row(ended)
    spans = [PartSpan(place.section, first, last)]
    while first > 1:
        last = first - 1
        place = course.where(ended, last)
        first = last - place.row_in_section + 1
        spans.append(PartSpan(place.section, first, last))
    return tuple(reversed(spans))


def swatch_gauge(course: Course) -> GaugePrior | None:
    """Return the row gauge that the pattern states, or None; another hand may well differ."""
    stated = read_stated_gauge(course.gauge)
    if stated is None or stated.rows_per_10cm is None:
        return None
    return GaugePrior(float(stated.rows_per_10cm), stated.fabric, PATTERN_SPREAD, source="pattern")


def target(state: PieceState, course: Course) -> tuple[Length, int] | None:
    """Return the length that the work is on its way to, and the row from which it is measured."""
    loop = course.where(state.loops_ended, state.working).open_loop
    if loop is not None and isinstance(loop.target, Length):
        return loop.target, measured_from(state, course, loop)
    whole = state.target or course.target
    return (whole, 0) if whole is not None else None


def measured_from(state: PieceState, course: Course, loop: OpenLoop) -> int:
    """
    Return the row after which a part "until it measures" is measured.

    "Piece" and "from cast-on" mean the cast-on edge, a marker the last one hung in, anything else
    ("from underarm", "until rib measures") the beginning of the section.
    """
    where = loop.where.casefold()
    if not where or any(word in where for word in ("cast", "beg", "piece", "work", "lower edge")):
        return 0
    if "marker" in where and state.markers:
        return state.markers[-1]
    return state.done - course.where(state.loops_ended, state.working).row_in_section + 1


def distance(state: PieceState, course: Course) -> Distance:
    """Return how many rows are left, as honestly as it can be said."""
    ended = state.loops_ended
    last = course.last_row(ended)
    if last is not None:
        return RowsExactly(last - state.done) if state.done < last else LongEnough()
    wanted = target(state, course)
    if wanted is None:
        return NoTarget()
    length, from_row = wanted
    known = readings(state, course)
    if any(
        reading.row == state.done and reading.from_row == from_row and reading.cm >= length.cm
        for reading in known
    ):
        return LongEnough()
    return rows_left(
        known,
        part_spans(state, course),
        state.done,
        length.cm,
        swatch_gauge(course),
        target_from_row=from_row,
    )
