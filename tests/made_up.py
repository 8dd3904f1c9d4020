"""Records made up for tests: by hand, and by dice."""

from __future__ import annotations

from dataclasses import fields, replace
from fractions import Fraction
from functools import cache
from types import NoneType
from typing import TYPE_CHECKING, get_args, get_type_hints

from hypothesis import strategies as st

from engine.commands import Source
from engine.events import EVENTS, PieceBegun, RowsWorked
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.records import LARGEST_NUMBER, Record, heads

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.events import Event

SLEEVE = "5" * 32
CAP = "c" * 32
WRITER = "a" * 32


def record(
    event: Event,
    after: Sequence[Record] = (),
    *,
    piece: str = SLEEVE,
    wall: str = "2026-01-10T18:00:00Z",
    source: Source = Source.KEY,
) -> Record:
    """Return a record of the event that comes after others."""
    lamport = max((earlier.lamport for earlier in after), default=0) + 1
    return Record(
        after=heads(after),
        lamport=lamport,
        writer=WRITER,
        piece=piece,
        group=f"{lamport:032x}",
        wall=wall,
        monotonic_ms=lamport * 60_000,
        source=source,
        event=event,
    )


def knitted(rows: int, piece: str = SLEEVE, name: str = "mug sleeve") -> list[Record]:
    """Return the records of a piece that was cast on and knitted, row by row."""
    begun = PieceBegun(name, "hut", None, None, 44, None, 0)
    records = [record(begun, piece=piece)]
    for row in range(1, rows + 1):
        newest = records[-1:]
        records.append(record(RowsWorked("body", row, row), newest, piece=piece))
    return records


# --- by dice -------------------------------------------------------------------------------------

texts = st.text(st.characters(codec="utf-8"), max_size=20)
numbers = st.integers(0, 2_000) | st.integers(0, LARGEST_NUMBER)
values = st.fractions(0, 9_999, max_denominator=64)


@cache
def _field(kind: type) -> st.SearchStrategy[object]:
    if kind is Length:
        return st.builds(Length, values, st.sampled_from(LengthUnit))
    if kind is Mass:
        return st.builds(Mass, values, st.sampled_from(MassUnit))
    simple: dict[type, st.SearchStrategy[object]] = {
        NoneType: st.none(),
        str: texts,
        int: numbers,
        bool: st.booleans(),
        Fraction: values,
    }
    return simple[kind] if kind in simple else st.sampled_from(list(kind))  # type: ignore[call-overload]


def of_kind(event_class: Callable[..., Event]) -> st.SearchStrategy[Event]:
    """Return events of one kind with any content it may have."""
    hints = get_type_hints(event_class)
    contents = {}
    for field in fields(event_class):  # type: ignore[arg-type]
        kinds = get_args(hints[field.name]) or (hints[field.name],)
        contents[field.name] = st.one_of(*map(_field, kinds))
    return st.builds(event_class, **contents)


any_event: st.SearchStrategy[Event] = st.one_of(*map(of_kind, EVENTS.values()))

pieces = st.sampled_from([SLEEVE, CAP]) | texts
any_record: st.SearchStrategy[Record] = st.builds(
    Record,
    after=st.lists(st.from_regex(r"[0-9a-f]{64}", fullmatch=True), max_size=3).map(tuple),
    lamport=numbers,
    writer=texts,
    piece=pieces,
    group=texts,
    wall=st.datetimes().map(lambda moment: f"{moment:%Y-%m-%dT%H:%M:%SZ}"),
    monotonic_ms=numbers,
    source=st.sampled_from(Source),
    event=any_event,
)


@st.composite
def histories(draw: st.DrawFn, longest: int = 12) -> list[Record]:
    """Return records that came after one another, with forks, of one piece or two."""
    written: list[Record] = []
    for event in draw(st.lists(any_event, min_size=1, max_size=longest)):
        piece = draw(st.sampled_from([SLEEVE, CAP]))
        known = [earlier for earlier in written if earlier.piece == piece]
        seen = known[: draw(st.integers(0, len(known)))]
        new = record(event, seen, piece=piece)
        written.append(replace(new, writer=draw(st.sampled_from([WRITER, "b" * 32]))))
    return written
