"""
Where an order stands: the value into which its history folds.

Total, like `engine.evolve`: what is written has happened. What is said of a piece that no line of
the order has is kept, and shown by no line; `unplaced` names it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from typing import TYPE_CHECKING

from engine import order_events as said
from engine.batch.numbering import numbered
from engine.evolve import with_tolerance
from engine.history import live
from engine.records import in_order
from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from engine.batch.numbering import Moved
    from engine.quantities import Mass
    from engine.records import Record
    from engine.state import Tolerance


@dataclass(frozen=True, slots=True)
class OrderedLine:
    """Pieces of one item, size and colour; `wanted` says what they are to be like."""

    first: int
    item: str
    size: str
    colour: str
    count: int
    spares: int
    wanted: said.LineWanted | None = None
    tolerances: tuple[Tolerance, ...] = ()

    @property
    def numbers(self) -> range:
        """The numbers of its pieces, the spares last."""
        return range(self.first, self.first + self.count + self.spares)

    @property
    def title(self) -> str:
        """Item, size and colour, as they are told."""
        return ", ".join(one for one in (self.item, self.size, self.colour) if one)


@dataclass(frozen=True, slots=True)
class OrderedPiece:
    """
    A piece of an order; `stage` None: not begun. `since` is the wall time of its stage.

    `rejected` are the reasons for which it was begun anew.
    """

    number: int
    knitter: str = ""
    piece: str = ""
    stage: Stage | None = None
    since: str = ""
    knitted: str = ""
    """When it came off the needles (wall time; "": it has not)."""
    checked: said.PieceChecked | None = None
    rejected: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stock:
    """Balls that there are of a colour and dye lot."""

    colour: str
    lot: str
    balls: int
    ball: Mass


@dataclass(frozen=True, slots=True)
class OrderState:
    """Everything that the history of one order says, as one value; `since` is when it was taken."""

    order: str = ""
    name: str = ""
    due: str = ""
    since: str = ""
    begun: bool = False
    lines: tuple[OrderedLine, ...] = ()
    told: tuple[tuple[int, OrderedPiece], ...] = ()
    hours: tuple[tuple[str, Fraction], ...] = ()
    stock: tuple[Stock, ...] = ()
    undoable: str | None = None
    moved: tuple[Moved, ...] = ()
    """Lines whose numbers two devices gave at once, until somebody says the new ones again."""
    twice: tuple[int, ...] = ()
    """Numbers that two devices began at once, until somebody who knows of both says something."""

    def piece(self, number: int) -> OrderedPiece:
        """Return a piece by its number, as far as anything was said of it."""
        return dict(self.told).get(number, OrderedPiece(number))

    def pieces(self, line: OrderedLine) -> tuple[OrderedPiece, ...]:
        """Return the pieces of a line, in the order of their numbers."""
        known = dict(self.told)
        return tuple(known.get(number, OrderedPiece(number)) for number in line.numbers)

    def line_of(self, number: int) -> OrderedLine | None:
        """Return the line that has a piece."""
        return next((line for line in self.lines if number in line.numbers), None)

    @property
    def count(self) -> int:
        """How many pieces were ordered, without the spares."""
        return sum(line.count for line in self.lines)

    @property
    def next_number(self) -> int:
        """The first number that no line has."""
        return max((line.numbers.stop for line in self.lines), default=1)

    @property
    def knitters(self) -> tuple[str, ...]:
        """Everybody who knits for it, by name."""
        named = {one.knitter for _, one in self.told if one.knitter}
        return tuple(sorted(named | {knitter for knitter, _ in self.hours}))

    @property
    def unplaced(self) -> tuple[int, ...]:
        """Numbers that something was said of and that no line has."""
        return tuple(number for number, _ in self.told if self.line_of(number) is None)


def fold_order(records: Iterable[Record]) -> OrderState:
    """Return the state of an order; what was undone or cannot be counts for nothing."""
    known = in_order(records)
    found = numbered(known, live(known))
    ordered = found.records
    state = reduce(_evolve, ordered, OrderState())
    casting = {one.group for one in ordered if isinstance(one.event, said.OrderBegun)}
    undoable = next((one.group for one in reversed(ordered) if one.group not in casting), None)
    return replace(state, undoable=undoable, moved=found.moved, twice=found.twice)


def _evolve(state: OrderState, record: Record) -> OrderState:  # noqa: PLR0911 (one case a kind)
    event = record.event
    match event:
        case said.OrderBegun(name, due):
            since = state.since or record.wall
            return replace(state, order=record.piece, name=name, due=due, since=since, begun=True)
        case said.OrderLine():
            return _with_line(state, event)
        case said.LineWanted():
            return _changed(state, event.first, wanted=event)
        case said.ToleranceSet():
            line = next((one for one in state.lines if one.first == event.first), None)
            if line is None:
                return state
            return _changed(state, event.first, tolerances=with_tolerance(line.tolerances, event))
        case said.PieceGiven(number, knitter):
            return _with_piece(state, replace(state.piece(number), knitter=knitter))
        case said.PieceTied(number, piece):
            return _with_piece(state, replace(state.piece(number), piece=piece))
        case said.StageReached(number, stage):
            return _with_piece(state, _at(state.piece(number), stage, record.wall))
        case said.PieceChecked():
            return _with_piece(state, replace(state.piece(event.number), checked=event))
        case said.PieceRejected(number, why):
            old = state.piece(number)
            anew = OrderedPiece(number, old.knitter, rejected=(*old.rejected, why))
            return _with_piece(state, anew)
        case said.HoursAWeek(knitter, hours):
            others = tuple(one for one in state.hours if one[0] != knitter)
            return replace(state, hours=others if hours is None else (*others, (knitter, hours)))
        case said.YarnStocked():
            new = Stock(event.colour, event.lot, event.balls, event.ball)
            rest = tuple(
                one for one in state.stock if (one.colour, one.lot) != (new.colour, new.lot)
            )
            return replace(state, stock=(*rest, new))
        case _:
            return state  # of a piece, in the history of an order: it says nothing here


def _at(piece: OrderedPiece, stage: Stage, wall: str) -> OrderedPiece:
    """Return a piece at a stage; said again, it is so since it was said first."""
    stages = list(Stage)
    off = stages.index(stage) >= stages.index(Stage.KNITTED)
    since = piece.since if piece.stage is stage else wall
    return replace(piece, stage=stage, since=since, knitted=(piece.knitted or wall) if off else "")


def _with_line(state: OrderState, event: said.OrderLine) -> OrderState:
    if event.count + event.spares < 1:
        return replace(state, lines=tuple(o for o in state.lines if o.first != event.first))
    new = OrderedLine(event.first, event.item, event.size, event.colour, event.count, event.spares)
    old = next((one for one in state.lines if one.first == event.first), None)
    if old is not None:
        new = replace(new, wanted=old.wanted, tolerances=old.tolerances)
    others = [one for one in state.lines if one.first != event.first]
    return replace(state, lines=tuple(sorted((*others, new), key=lambda one: one.first)))


def _changed(state: OrderState, first: int, **change: object) -> OrderState:
    lines = tuple(
        replace(one, **change) if one.first == first else one  # type: ignore[arg-type]
        for one in state.lines
    )
    return replace(state, lines=lines)


def _with_piece(state: OrderState, piece: OrderedPiece) -> OrderState:
    told = dict(state.told) | {piece.number: piece}
    return replace(state, told=tuple(sorted(told.items())))
