"""
The numbers of an order's pieces where two devices gave the same ones without knowing of each other.

Each device means its own pieces by the numbers that it sees. So a number is read as its writer saw
it, from what her device knew then, and is told as it is now: the lines keep their numbers in the
one order of records, and a line that finds its numbers taken gets the next free ones.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from engine import order_events as said
from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.records import Record


@dataclass(frozen=True, slots=True)
class Moved:
    """A line whose numbers, from `told` on, were given twice, and are from `first` on now."""

    told: int
    first: int


@dataclass(frozen=True, slots=True)
class Numbered:
    """Records as they are meant; what was `moved`, and the numbers that were begun `twice`."""

    records: tuple[Record, ...]
    moved: tuple[Moved, ...] = ()
    twice: tuple[int, ...] = ()


def numbered(ordered: Sequence[Record], holding: Sequence[Record]) -> Numbered:
    """
    Return the records that hold with every number as it is now.

    `ordered` are all records of the order, in the one order, and `holding` those that hold.
    """
    straight = all(later.after == (earlier.id,) for earlier, later in pairwise(ordered))
    if straight:
        return Numbered(tuple(holding))
    return _Numbering(ordered, holding).numbered()


class _Numbering:
    """What each writer knew, as sets of bits, one a record; and the lines as she saw them."""

    def __init__(self, ordered: Sequence[Record], holding: Sequence[Record]) -> None:
        self._holding = holding
        self._at = {record.id: place for place, record in enumerate(ordered)}
        self._past: dict[str, int] = {}
        for place, record in enumerate(ordered):
            past = 1 << place
            for before in record.after:
                past |= self._past.get(before, 0)
            self._past[record.id] = past
        self._lines: list[tuple[str, int, int]] = []
        """Each line by the record that brought it: its id, the number told, how many pieces."""
        self._sizes: list[tuple[str, str, int]] = []
        """Each change of a line: the id of the record, of the line, how many pieces now."""
        self._laid: dict[int, dict[str, tuple[int, int]]] = {}

    def _knows(self, later: str, earlier: str) -> bool:
        return bool(self._past[later] >> self._at[earlier] & 1)

    def _layout(self, past: int) -> dict[str, tuple[int, int]]:
        """Return where each line lies for somebody who knows of `past`: first number, how many."""
        view = 0
        for name, *_ in (*self._lines, *self._sizes):
            view |= past & (1 << self._at[name])
        if view not in self._laid:
            placed: dict[str, tuple[int, int]] = {}
            for name, told, many in self._lines:
                if not view >> self._at[name] & 1:
                    continue
                size = many
                for change, line, now in self._sizes:
                    if line == name and view >> self._at[change] & 1:
                        size = now
                free = all(
                    told + size <= first or first + there <= told
                    for first, there in placed.values()
                )
                end = max((first + there for first, there in placed.values()), default=1)
                placed[name] = (told if free else end, size)
            self._laid[view] = placed
        return self._laid[view]

    def numbered(self) -> Numbered:
        meant: list[tuple[Record, str, int]] = []
        for record in self._holding:
            number = _number(record)
            seen = self._layout(self._past[record.id])
            line, offset = _place(seen, number)
            if isinstance(record.event, said.OrderLine):
                many = record.event.count + record.event.spares
                known = next((one for one, (first, _) in seen.items() if first == number), "")
                if known:
                    self._sizes.append((record.id, known, many))
                else:
                    self._lines.append((record.id, number or 0, many))
                self._laid.clear()
                line, offset = known or record.id, 0
            meant.append((record, line, offset))
        now = self._layout(-1)
        records = tuple(
            _with_number(record, now[line][0] + offset) if line in now else record
            for record, line, offset in meant
        )
        return Numbered(records, self._moved(now), self._twice(records))

    def _moved(self, now: dict[str, tuple[int, int]]) -> tuple[Moved, ...]:
        """Return the lines that were moved and that nobody who knew of it said again since."""
        return tuple(
            Moved(told, now[name][0])
            for name, told, _ in self._lines
            if now[name][0] != told
            and not any(
                line == name and self._layout(self._past[change])[name][0] == now[name][0]
                for change, line, _ in self._sizes
            )
        )

    def _twice(self, records: Sequence[Record]) -> tuple[int, ...]:
        """Return the numbers that two writers began, neither knowing of the other, and left so."""
        of: dict[int, list[Record]] = {}
        for record in records:
            number = _number(record)
            if number is not None and not isinstance(record.event, said.OrderLine):
                of.setdefault(number, []).append(record)
        return tuple(sorted(number for number, some in of.items() if self._open(some)))

    def _open(self, some: Sequence[Record]) -> bool:
        begun = [one for one in some if _begins(one)]
        return any(
            one.writer != other.writer
            and not self._knows(one.id, other.id)
            and not self._knows(other.id, one.id)
            and not _same(one, other)
            and not any(
                self._knows(later.id, one.id) and self._knows(later.id, other.id) for later in some
            )
            for place, one in enumerate(begun)
            for other in begun[:place]
        )


def _begins(record: Record) -> bool:
    event = record.event
    return isinstance(event, said.PieceTied) or (
        isinstance(event, said.StageReached) and event.stage is Stage.BEGUN
    )


def _same(one: Record, other: Record) -> bool:
    return isinstance(one.event, said.PieceTied) and one.event == other.event


def _field(record: Record) -> str:
    """Return in which field of its event a number of a piece stands, "" if in none."""
    match record.event:
        case said.OrderLine() | said.LineWanted() | said.ToleranceSet():
            return "first"
        case (
            said.PieceGiven()
            | said.PieceTied()
            | said.StageReached()
            | said.PieceChecked()
            | said.PieceRejected()
        ):
            return "number"
        case _:
            return ""


def _number(record: Record) -> int | None:
    field = _field(record)
    return int(getattr(record.event, field)) if field else None


def _with_number(record: Record, number: int) -> Record:
    if _number(record) == number:
        return record
    change: dict[str, Any] = {_field(record): number}
    meant = replace(record, event=replace(record.event, **change))
    object.__setattr__(meant, "id", record.id)  # it is the same record, read as it was meant
    return meant


def _place(seen: dict[str, tuple[int, int]], number: int | None) -> tuple[str, int]:
    if number is None:
        return "", 0
    for name, (first, many) in seen.items():
        if first <= number < first + max(many, 1):
            return name, number - first
    return "", 0
