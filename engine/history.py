"""
The history of a piece: one order, what still holds of it, and where devices disagree.

A history is any set of records. `fold` gives the same state for the same set, however it came
together: by working on one device, by importing, or by merging in any order.
"""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from typing import TYPE_CHECKING

from engine.events import MOVES, PieceBegun, PieceFinished, RowsWorked, Undone
from engine.evolve import evolve
from engine.records import heads, in_order
from engine.soundness import sound
from engine.state import PieceState

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from engine.records import Record


def live(ordered: Sequence[Record]) -> tuple[Record, ...]:
    """
    Return those of the records, given `in_order`, that still hold, without the undo records.

    What is unsound is left out.

    An undo holds unless a later undo names its own group, so one walk from the newest record to
    the oldest decides all of them. An undo that names its own group mends it: what the group says
    before it no longer holds, what it says behind it does, and undo takes back the whole.
    """
    holding = _holding(sound(ordered))
    return tuple(record for record in holding if not isinstance(record.event, Undone))


def _holding(ordered: Sequence[Record]) -> tuple[Record, ...]:
    taken_back: set[str] = set()
    kept: list[Record] = []
    for record in reversed(ordered):
        if record.group in taken_back:
            continue
        if isinstance(record.event, Undone):
            taken_back.add(record.event.group)
        kept.append(record)
    return tuple(reversed(kept))


def fold(records: Iterable[Record]) -> PieceState:
    """Return the state into which the records fold; what is unsound is only counted."""
    known = in_order(records)
    ordered = sound(known)
    holding = _holding(ordered)
    state = reduce(
        evolve,
        (record for record in holding if not isinstance(record.event, Undone)),
        PieceState(),
    )
    fork, twice = _fork(ordered, holding)
    return replace(
        state,
        aside=len(known) - len(ordered),
        fork=fork,
        counted_twice=twice,
        undoable=_undoable(holding),
        redoable=_redoable(ordered, holding),
    )


def advance(state: PieceState, written: Sequence[Record]) -> PieceState:
    """
    Return the state after the records of one command that came after everything known so far.

    The quick way for the everyday case; it must not be used for an undo or for merged records
    (`fold` them).
    """
    casting_on = any(isinstance(record.event, PieceBegun) for record in written)
    for record in written:
        state = evolve(state, record)
        if not casting_on:
            state = replace(state, undoable=record.group, redoable=())
        if isinstance(record.event, MOVES):
            state = replace(state, fork=(), counted_twice=0)
    return state


def without_last(before: PieceState, undone: Record) -> PieceState | None:
    """
    Return the state after the newest group that holds was taken back by the record `undone`.

    `before` is the state before that group was written. The quick way for the everyday case: None
    where only `fold` can tell, because devices disagreed then.
    """
    if before.fork or before.counted_twice:
        return None
    return replace(before, redoable=(undone.group,))


def _undoable(holding: Sequence[Record]) -> str | None:
    """Name the group that undo would take back: the newest that holds, never the casting on."""
    beginnings = {record.group for record in holding if isinstance(record.event, PieceBegun)}
    for record in reversed(holding):
        if not isinstance(record.event, Undone) and record.group not in beginnings:
            return record.group
    return None


def _redoable(ordered: Sequence[Record], holding: Sequence[Record]) -> tuple[str, ...]:
    """
    Name the undos that redo would take back: of the last thing taken back, if nothing came since.

    Two devices may have taken back the same group; then both undos are named.
    """
    undos = {
        record.group
        for record in ordered
        if isinstance(record.event, Undone) and record.event.group != record.group
    }
    held = {record.group for record in holding}
    last: str | None = None
    names: list[str] = []
    for record in reversed(ordered):
        if not isinstance(record.event, Undone):
            break
        target = record.event.group
        if record.group in held and target not in undos and last in {None, target}:
            last = target
            names.append(record.group)
    return tuple(sorted(set(names)))


# --- forks -------------------------------------------------------------------------------------


def _fork(ordered: Sequence[Record], holding: Sequence[Record]) -> tuple[tuple[int, ...], int]:
    """
    Return the numbers of rows done that the tips of the history stand for, if they differ.

    If they do not, and several tips are rows that were counted, the second is that row (else 0).
    """
    if all(len(record.after) <= 1 for record in ordered) and len(heads(ordered)) <= 1:
        return (), 0
    known = {record.id: record for record in ordered}
    moving = _moving(ordered, holding)
    seen: dict[str, frozenset[str]] = {}
    for record in ordered:
        if record.id in moving:
            seen[record.id] = frozenset({record.id})
        else:
            inherited = [seen[before] for before in record.after if before in seen]
            seen[record.id] = _newest(frozenset().union(*inherited), known)
    tips = _newest(frozenset().union(*(seen[head] for head in heads(ordered))), known)
    if len(tips) <= 1:
        return (), 0
    positions = tuple(sorted({fold(_ancestry(tip, known)).done for tip in tips}))
    if len(positions) > 1:
        return positions, 0
    counted = sum(isinstance(known[tip].event, RowsWorked | PieceFinished) for tip in tips)
    return (), positions[0] if counted > 1 else 0


def _moving(ordered: Sequence[Record], holding: Sequence[Record]) -> set[str]:
    """Return the ids of the records that say where the work stands, undos of such included."""
    moved = {record.group for record in ordered if isinstance(record.event, MOVES)}
    return {
        record.id
        for record in holding
        if isinstance(record.event, MOVES)
        or (isinstance(record.event, Undone) and record.event.group in moved)
    }


def _newest(ids: frozenset[str], known: Mapping[str, Record]) -> frozenset[str]:
    if len(ids) <= 1:
        return ids
    return frozenset(
        one
        for one in ids
        if not any(one != other and _precedes(one, other, known) for other in ids)
    )


def _precedes(earlier: str, later: str, known: Mapping[str, Record]) -> bool:
    return any(record.id == earlier for record in _ancestry(later, known))


def _ancestry(tip: str, known: Mapping[str, Record]) -> tuple[Record, ...]:
    """Return the record and everything that it came after, as far as it is known."""
    found: dict[str, Record] = {}
    waiting = [tip]
    while waiting:
        name = waiting.pop()
        if name in found or name not in known:
            continue
        found[name] = known[name]
        waiting.extend(known[name].after)
    return tuple(found.values())
