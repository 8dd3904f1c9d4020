"""
Whether what a record says can be: bounds far above what people knit, in one place.

What passes the schema of the journal may still hold a row of a thousand million millions. Such a
record is not written, not taken in by a merge, and, where an old journal holds it, kept but set
aside: it counts for nothing, is shown as such, and whatever reads a piece need not doubt a number.
"""

from __future__ import annotations

import hashlib
from dataclasses import fields
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any, Final, get_args, get_type_hints

from engine import events, said_events
from engine.limits import MOST_DENOMINATOR
from engine.quantities import Length, LengthUnit, Mass, MassUnit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from engine.events import Event
    from engine.records import Record

MOST_NUMBER: Final = 1_000_000
"""Rows, stitches, places: a blanket of a kilometre has some 300,000 rows."""
MOST_LENGTH: Final = {
    LengthUnit.MM: Fraction(1_000_000),
    LengthUnit.CM: Fraction(100_000),
    LengthUnit.M: Fraction(1_000),
    LengthUnit.IN: Fraction(100_000 * 100, 254),
    LengthUnit.YD: Fraction(1_000 * 10_000, 9_144),
}
"""A kilometre in every unit (an inch is 2.54 cm, a yard 0.9144 m, exactly: NIST SP 811, B.8)."""
MOST_MASS: Final = {MassUnit.G: Fraction(100_000), MassUnit.OZ: Fraction(100_000 * 100, 2_835)}
"""A hundred kilograms (an ounce is 28.35 g: NIST SP 811, B.8)."""
LONGEST_NAME: Final = 500
LONGEST_NOTE: Final = 100_000
LONGEST_ROW: Final = 2_000
LONGEST_PATTERN: Final = 4_000_000
MOST_LAMPORT: Final = 10**9
"""Beyond it a record has to follow the ones it came after; else one could use up all numbers."""
MOST_MS: Final = 10**13
"""Three hundred years of a clock's milliseconds."""
_MOST_BEFORE: Final = 1000
_LONGEST_WALL: Final = 40


def why_unsound(event: Event) -> str:
    """Return in one sentence why an event cannot be, "" if it can."""
    kind: Any = type(event)
    for name, wrong in _checks(kind):
        sentence = wrong(getattr(event, name))
        if sentence:
            return f'{sentence} in "{name}" of "{event.kind}".'
    return _together(event)


def _together(event: Event) -> str:
    """Return why the values of an event do not go together, "" if they do."""
    match event:
        case events.PatternKept(sha256, text):
            if hashlib.sha256(text.encode(errors="surrogatepass")).hexdigest() != sha256:
                return "The text of the pattern is not the one that its name says."
        case events.RowsWorked(section, first, last):
            if not 1 <= first <= last or not section:
                return f'Rows {first} to {last} of the part "{section}" cannot be.'
        case events.RowReopened(0) | events.StoppedInRow(0) | events.PatternChanged(from_row=0):
            return "There is no row 0 to work in."
        case (
            said_events.RowSaid(first=first, last=last)
            | said_events.RowBegun(first=first, last=last)
            | said_events.ShapingSaid(first=first, last=last)
        ) if not 1 <= first <= last:
            return f"Rows {first} to {last} cannot be."
        case said_events.RowsRepeated(first=first, of_first=least, of_last=most, times=times) if (
            not 1 <= least <= most < first or times == 0
        ):
            return f"Rows {least} to {most} cannot come again from row {first} on."
        case said_events.ShapingSaid(first=first, last=last, start=start, every=every) if (
            not first <= start <= last or not every
        ):
            return f"Rows {first} to {last} cannot be shaped so."
        case said_events.RowMended(row=0) | said_events.CastOnSaid(stitches=0):
            return "There is no row 0, and no piece of no stitches."
        case events.Measured(row=row, from_row=from_row) if from_row > row:
            return f"Row {row} does not lie above row {from_row}."
        case _:
            pass
    return ""


def why_unsound_record(record: Record) -> str:
    """Return in one sentence why a record by itself cannot be, "" if it can."""
    if record.monotonic_ms > MOST_MS or len(record.after) > _MOST_BEFORE:
        return "Its circumstances are out of bounds."
    if len(record.wall) > _LONGEST_WALL:
        return "Its time is too long."
    if max(len(record.writer), len(record.piece), len(record.group)) > LONGEST_NAME:
        return "A name in it is too long."
    return why_unsound(record.event)


def set_aside(ordered: Sequence[Record]) -> dict[str, str]:
    """
    Return the ids of the records, given in order, that count for nothing, each with the reason.

    Beyond `MOST_LAMPORT` a number has to be at most one more than that of a record it came after.
    """
    aside: dict[str, str] = {}
    numbers: dict[str, int] = {}
    for record in ordered:
        why = why_unsound_record(record)
        if not why and record.lamport > MOST_LAMPORT:
            before = [numbers.get(name, MOST_LAMPORT) for name in record.after]
            if record.lamport > max(before, default=0) + 1:
                why = "Its number in the order of records is out of bounds."
        if why:
            aside[record.id] = why
        else:
            numbers[record.id] = record.lamport
    return aside


def sound(ordered: Sequence[Record]) -> tuple[Record, ...]:
    """Return those of the records, given in order, that count."""
    aside = set_aside(ordered)
    return tuple(record for record in ordered if record.id not in aside) if aside else (*ordered,)


def sentences(records: Iterable[Record], why: dict[str, str]) -> tuple[str, ...]:
    """Return a sentence for each of the records that is set aside."""
    return tuple(
        f"Record {record.id[:12]} of {record.wall[:10]}: {why[record.id]}"
        for record in records
        if record.id in why
    )


# --- by the type of the field --------------------------------------------------------------------


@cache
def _checks(kind: Any) -> tuple[tuple[str, Callable[[object], str]], ...]:  # noqa: ANN401 (a class)
    hints = get_type_hints(kind)
    found: list[tuple[str, Callable[[object], str]]] = []
    for field in fields(kind):
        types = get_args(hints[field.name]) or (hints[field.name],)
        if int in types:
            found.append((field.name, _number))
        elif Length in types:
            found.append((field.name, _length))
        elif Mass in types:
            found.append((field.name, _mass))
        elif Fraction in types:
            found.append((field.name, _fraction))
        elif str in types:
            longest = {
                events.PatternKept: LONGEST_PATTERN,
                events.RowNoted: LONGEST_NOTE,
                said_events.RowSaid: LONGEST_ROW,
                said_events.RowBegun: LONGEST_ROW,
                said_events.RowMended: LONGEST_ROW,
            }
            found.append((field.name, _no_longer_than(longest.get(kind, LONGEST_NAME))))
    return tuple(found)


def _number(value: object) -> str:
    if isinstance(value, int) and not 0 <= value <= MOST_NUMBER:
        return f"The number {value} is out of bounds"
    return ""


def _length(value: object) -> str:
    if isinstance(value, Length) and not (
        _divided(value.value) and 0 < value.value <= MOST_LENGTH[value.unit]
    ):
        return "The length is out of bounds"
    return ""


def _mass(value: object) -> str:
    if isinstance(value, Mass) and not (
        _divided(value.value) and 0 <= value.value <= MOST_MASS[value.unit]
    ):
        return "The weight is out of bounds"
    return ""


def _fraction(value: object) -> str:
    if isinstance(value, Fraction) and not (_divided(value) and 0 < value <= MOST_NUMBER):
        return "The number is out of bounds"
    return ""


def _divided(value: Fraction) -> bool:
    """Tell whether it can be reckoned with: neither too large nor too finely divided."""
    return value.denominator <= MOST_DENOMINATOR and abs(value) <= 10**12


def _no_longer_than(most: int) -> Callable[[object], str]:
    def wrong(value: object) -> str:
        if isinstance(value, str) and len(value) > most:
            return f"The text of {len(value)} letters is too long"
        return ""

    return wrong
