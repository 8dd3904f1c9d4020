"""
A piece written out as a pattern: what was said, knitted, measured and noted, as a designer would.

Every row that is done is written as it was worked, rows that come again are folded, and what was
worked until it measured something is written so, with the length that was measured. Whoever knits
from it, and ends the parts where they were ended, works the same rows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.commands import Since
from engine.compose.folding import fold_steps
from engine.compose.worked_rows import SIDES, WorkedRow, again, folded_lines, written_line
from engine.compose.written_pattern import (
    WrittenLine,
    WrittenSection,
    heading,
    pattern_text,
    quoted,
)
from engine.facts.needles import needle_at
from engine.facts.swatches import finished_gauge
from engine.pattern import Side
from engine.plan.gauge import TEN_CM
from engine.plan.rounding import companion, worked_out
from engine.quantities import Mass, number_text
from engine.said_events import RowsRepeated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.pattern import Course, Place
    from engine.quantities import Length
    from engine.state import PieceState

_ENDS: Final = {
    Side.RIGHT: ", ending with a RS row",
    Side.WRONG: ", ending with a WS row",
    Side.ROUND: "",
}


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows `first` to `last`; worked until `length`, or (None) as many as there are."""

    first: int
    last: int
    period: int = 0
    length: Length | None = None


def written_out(state: PieceState, course: Course) -> str:
    """Return the text of the pattern that a piece comes to, of the rows that are done."""
    ended = state.loops_ended
    places = [course.where(ended, row) for row in range(1, state.done + 1)]
    in_round = any(place.side is Side.ROUND for place in places)
    sections: list[WrittenSection] = []
    for number, stretch in enumerate(stretches(state, places), 1):
        section = WrittenSection(f"part-{number}", f"Part {number}")
        part = places[stretch.first - 1 : stretch.last]
        rows = [worked_row(state, place) for place in part]
        if stretch.length is None:
            section.lines = folded_lines(rows, part[0].side, in_round=in_round)
        else:
            section.lines = _until(rows, part, stretch, in_round=in_round)
            section.note = " ".join(f"Row {row.row}: {row.note}." for row in rows if row.note)
        sections.append(section)
    return pattern_text(_head(state, course, in_round=in_round), sections)


def ends_of_parts(state: PieceState, course: Course) -> tuple[int, ...]:
    """Return the last rows of the parts that are written as worked to a length, in order."""
    places = [course.where(state.loops_ended, row) for row in range(1, state.done + 1)]
    return tuple(one.last for one in stretches(state, places) if one.length is not None)


# --- what surrounds the rows ---------------------------------------------------------------------


def _head(state: PieceState, course: Course, *, in_round: bool) -> list[str]:
    head = [f"title = {quoted(state.name or 'A piece')}"]
    cast_on = course.cast_on if course.cast_on is not None else state.cast_on
    head += [f"cast_on = {cast_on}"] if cast_on is not None else []
    head += ["in_the_round = true"] if in_round else []
    head += [f"gauge = {quoted(gauge)}"] if (gauge := _gauge(state)) else []
    head += [f"needle = {quoted(needle)}"] if (needle := needle_at(state, 1)) else []
    head += [f"yarn = {quoted(yarn)}"] if (yarn := _yarn(state)) else []
    if (length := _finished_length(state)) is not None:
        head += ["", "[measurements]", f"length = {quoted(both_units(length))}"]
    return head


def both_units(length: Length) -> str:
    """Write a length in both systems: "11 cm (4 1/4 in)"."""
    said = worked_out(length)
    return f"{said} ({companion(length)})"


def _gauge(state: PieceState) -> str:
    """Return her gauge as it is printed; "" where stitches and rows are not counted."""
    counted = finished_gauge(state)
    if counted is None or counted.stitches is None or counted.rows is None:
        return ""
    per_10 = [_plain(one.per(TEN_CM)) for one in (counted.stitches, counted.rows)]
    return (
        f"{per_10[0]} sts and {per_10[1]} rows to 10 cm, {counted.fabric.value.replace('_', ' ')}"
    )


def _plain(number: Fraction) -> str:
    return number_text(Fraction(round(number * 2), 2))


def _yarn(state: PieceState) -> str:
    used = yarn_used(state)
    if used is None:
        return ""
    mass, row = used
    return f"{number_text(mass.value)} {mass.unit.value} used after row {row}"


def yarn_used(state: PieceState) -> tuple[Mass, int] | None:
    """Return the yarn that went between the first and the last weighing of one ball, and its row.

    None where it was not weighed before the first row and once more.
    """
    weighed = [one for one in state.weighings if not one.aside and not one.ripped]
    same = [one for one in weighed if one.stretch == weighed[0].stretch] if weighed else []
    if len(same) < 2 or same[0].row:  # noqa: PLR2004 (a difference needs two)
        return None
    unit = same[0].mass.unit
    used = same[0].mass.value - same[-1].mass.to(unit).value
    return (Mass(used, unit), same[-1].row) if used > 0 else None


def _finished_length(state: PieceState) -> Length | None:
    lengths = [one for one in state.lengths if not one.aside and one.since is Since.CAST_ON]
    at_end = [one.length for one in lengths if one.row >= state.done - 1]
    return at_end[-1] if at_end else None


# --- the rows ------------------------------------------------------------------------------------


def stretches(state: PieceState, places: Sequence[Place]) -> list[Stretch]:
    """Return the stretches of rows, those worked until a length each by itself."""
    found: list[Stretch] = []
    at = 1
    for line, after in zip(state.said, (*state.said[1:], None), strict=True):
        if not isinstance(line, RowsRepeated) or line.times is not None or line.first < at:
            continue
        last = min(after.first - 1 if after is not None else state.done, state.done)
        last = min(last, _ended_at(state, places, line.first, last))
        period = line.of_last - line.of_first + 1
        before = line.of_last == line.first - 1 and line.of_first >= at
        first = line.of_first if before else line.first  # the rows that come again belong to it
        length = _length_of(state, line, last)
        part = places[first - 1 : last]
        if length is None or len(part) <= period or not _comes_again(state, part, period):
            continue
        if first > at:
            found.append(Stretch(at, first - 1))
        found.append(Stretch(first, last, period, length))
        at = last + 1
    if at <= state.done:
        found.append(Stretch(at, state.done))
    return found


def _ended_at(state: PieceState, places: Sequence[Place], first: int, last: int) -> int:
    """Return the row at which a part was said to be long enough, or its last row."""
    if first > len(places) or places[first - 1].open_loop is None:
        return last
    loop = places[first - 1].open_loop
    return state.loops_ended.get(loop.id, last) if loop is not None else last


def _length_of(state: PieceState, line: RowsRepeated, last: int) -> Length | None:
    """Return the length from the cast-on that a part had at its end: measured, else said."""
    measured = [
        one.length
        for one in state.lengths
        if not one.aside and one.since is Since.CAST_ON and last - 1 <= one.row <= last
    ]
    return measured[-1] if measured else line.until


def _comes_again(state: PieceState, places: Sequence[Place], period: int) -> bool:
    """Tell whether rows are the same again and again, and keep the stitches as they are."""
    rows = [worked_row(state, place) for place in places]
    if any(place.before != place.after for place in places):
        return False
    return all(row.worked == rows[at % period].worked for at, row in enumerate(rows))


def worked_row(state: PieceState, place: Place) -> WorkedRow:
    """Return a row as it was worked, with its notes and the count where it changes."""
    notes = [one.text for one in state.notes if one.row == place.row and one.about == "note"]
    note = "; ".join(text for text in (place.note or "", *notes) if text)
    trusted = not place.checked or bool(place.instruction.text)
    changes = place.before is not None and place.after not in {place.before, None, 0}
    return WorkedRow(
        place.row,
        fold_steps(str(place.instruction)),
        note,
        place.after if changes and not trusted else None,
        place.after if trusted else None,
    )


def _until(
    rows: Sequence[WorkedRow], places: Sequence[Place], stretch: Stretch, *, in_round: bool
) -> list[WrittenLine]:
    """Write rows that are worked until the piece measures something."""
    if stretch.length is None:
        raise ValueError("Only what was worked to a length can be written so.")
    lines = [
        replace(
            written_line(row, heading(number, number, in_round=in_round), counted=False), note=""
        )
        for number, row in enumerate(rows[: stretch.period], 1)
    ]
    side = SIDES[places[0].side]
    lines[0] = WrittenLine(
        lines[0].text.replace(":", f"{side}:", 1), lines[0].note, lines[0].stitches
    )
    repeat = again(1, stretch.period, 1, in_round=in_round).removesuffix(" once more")
    ends = _ENDS[places[-1].side]
    until = f"{repeat} until piece measures {both_units(stretch.length)} from cast-on edge{ends}"
    return [*lines, WrittenLine(until)]
