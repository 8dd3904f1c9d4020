"""
The order as its page shows it: how far it is, who knits what, the day, each piece beside the rest.

Nothing is worked out here: `app.pieces` and `engine.batch` did that.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Final

from app.pieces.batch_words import NAMES, odd_line, unit_of, wanted_line
from app.pieces.order_words import (
    STAGES,
    crew_lines,
    drying_lines,
    next_line,
    piece_title,
    ready_lines,
    rejected_lines,
    settled_lines,
    wool_line,
)
from engine.stages import Trait

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from app.display.screen_words import ScreenWording
    from app.pieces.order_view import OrderView
    from app.session.order_look import OrderLook
    from engine.batch.alike import Batch, PieceBeside
    from engine.batch.order import OrderedLine, OrderedPiece, OrderState
    from engine.stages import Stage

TRACKS: Final = (Trait.LENGTH, Trait.WIDTH, Trait.WEIGHT)
"""The traits of which a piece's place is drawn, from above."""
FARTHEST: Final = 2.0
"""So many tolerances from the middle the line beside a piece ends."""


@dataclass(frozen=True, slots=True)
class TrackMark:
    """Where a piece is on a line: 0 the wanted value, 1 the upper tolerance, -1 the lower one."""

    trait: Trait
    off: float
    within: bool


@dataclass(frozen=True, slots=True)
class OrderCard:
    """
    A piece as its card shows it; `piece` is its id in the journal ("" for none).

    `knitted` is whether it is off the needles; `number` None: it is of no order.
    """

    number: int | None
    title: str
    name: str
    stage: Stage | None
    stage_words: str
    piece: str
    colour: str
    knitted: bool
    odd: bool
    marks: tuple[TrackMark, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderGroup:
    """The pieces of a line, or those that are alike: what is wanted, the cards, what is odd."""

    title: str
    wanted: str
    cards: tuple[OrderCard, ...]
    waiting: str
    odd: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StageRow:
    """A stage and how many pieces are just there, by their line's title and colour."""

    name: str
    count: int
    parts: tuple[tuple[str, str, int], ...]


@dataclass(frozen=True, slots=True)
class DayLine:
    """When the order is ready, in days from now: nine times in ten between `low` and `high`."""

    low: float
    best: float
    high: float
    due: float | None
    due_words: str


@dataclass(frozen=True, slots=True)
class OrderBoard:
    """The page: `sentence` alone where there is nothing else to show."""

    name: str = ""
    head: str = ""
    sentence: str = ""
    stages: tuple[StageRow, ...] = ()
    crew: tuple[str, ...] = ()
    day: DayLine | None = None
    ready: tuple[str, ...] = ()
    yarn: tuple[str, ...] = ()
    next: str = ""
    next_number: int | None = None
    key: str = ""
    groups: tuple[OrderGroup, ...] = ()


def order_board(look: OrderLook | None, words: ScreenWording) -> OrderBoard:
    """Return the page of an order as far as it was looked at."""
    if look is None:
        return OrderBoard(sentence=words("order", "looking"))
    if look.trouble:
        return OrderBoard(sentence=look.trouble)
    key = words("order", "key", traits=", ".join(NAMES[one] for one in TRACKS))
    state = look.state
    if state is None:
        alike = tuple(_alike(one, words) for one in look.batches or () if len(one.pieces) > 1)
        none = f"{words('order', 'none')} {words('order', 'begin')}"
        return OrderBoard(sentence=none, key=key if alike else "", groups=alike)
    done, count = sum(one.knitted for one in look.lines), state.next_number - 1
    head = [
        words("order", "knitted", done=done, count=count),
        words("order", "packed", count=sum(one.packed for one in look.lines)),
        words("order", "due", day=state.due) if state.due else words("order", "no_due"),
    ]
    view = look.view
    ready = tuple(ready_lines(view)) if view is not None else (words("order", "working"),)
    yarn = [wool_line(one) for one in view.wool] if view is not None else []
    yarn += [*drying_lines(look.drying), *rejected_lines(state), *settled_lines(state)]
    groups = tuple(_group(look, state, line, words) for line in state.lines)
    marked = any(card.marks for group in groups for card in group.cards)
    return OrderBoard(
        state.name,
        ", ".join(head),
        stages=tuple(_stage_rows(look)),
        crew=tuple(crew_lines(state)),
        day=_day(view, words) if view is not None else None,
        ready=ready,
        yarn=tuple(yarn),
        next=next_line(view) if view is not None else _next(look, state),
        next_number=look.next.number if look.next is not None else None,
        key=key if marked else "",
        groups=groups,
    )


def _next(look: OrderLook, state: OrderState) -> str:
    return piece_title(state, look.next.number) if look.next is not None else ""


def _stage_rows(look: OrderLook) -> Iterator[StageRow]:
    for stage, name in STAGES.items():
        parts = [(one.line.title, one.line.colour, one.at[stage]) for one in look.lines]
        yield StageRow(
            name, sum(many for _, _, many in parts), tuple(one for one in parts if one[2])
        )


def _day(view: OrderView, words: ScreenWording) -> DayLine | None:
    days = view.ready.days
    if days is None:
        return None
    due = words("order", "due", day=view.state.due) if view.days_left is not None else ""
    return DayLine(days.low, days.best, days.high, view.days_left, due)


def _group(
    look: OrderLook, state: OrderState, line: OrderedLine, words: ScreenWording
) -> OrderGroup:
    batch = next((one for one in look.batches or () if one.first == line.first), None)
    beside = {one.traits.number: one for one in batch.pieces} if batch is not None else {}
    pieces, upcoming = state.pieces(line), look.next.number if look.next is not None else None
    shown = [one for one in pieces if one.stage is not None or one.number == upcoming]
    waiting = [one.number for one in pieces if one.stage is None]
    compared = batch is not None and bool(batch.pieces)
    return OrderGroup(
        words(
            "order", "group",
            title=line.title, done=sum(bool(one.knitted) for one in pieces), count=len(pieces),
        ),
        wanted_line(batch) if batch is not None and compared else "",
        tuple(_card(state, line, one, beside.get(one.number)) for one in shown),
        words("order", "waiting", numbers=ranges(waiting)) if waiting else "",
        _odd(batch, words) if batch is not None and compared else (),
    )  # fmt: skip


def _card(
    state: OrderState, line: OrderedLine, one: OrderedPiece, beside: PieceBeside | None
) -> OrderCard:
    return OrderCard(
        one.number,
        str(one.number),
        piece_title(state, one.number),
        one.stage,
        f"{STAGES[one.stage]}, odd" if beside is not None and beside.odd else STAGES[one.stage],
        one.piece,
        line.colour,
        bool(one.knitted),
        beside is not None and beside.odd,
        _marks(beside),
    )


def _alike(batch: Batch, words: ScreenWording) -> OrderGroup:
    """Return pieces that are alike and of no order."""
    cards = tuple(
        OrderCard(
            None, one.traits.name, one.traits.name, None, "odd" if one.odd else "",
            one.traits.piece, "",
            knitted=True, odd=one.odd, marks=_marks(one),
        )
        for one in batch.pieces
    )  # fmt: skip
    title = words("order", "alike", title=batch.title, count=len(cards))
    return OrderGroup(title, wanted_line(batch), cards, "", _odd(batch, words))


def _odd(batch: Batch, words: ScreenWording) -> tuple[str, ...]:
    unit = unit_of(batch)
    found = tuple(odd_line(one, unit) for one in batch.pieces if one.odd)
    return found or (words("order", "even"),)


def _marks(beside: PieceBeside | None) -> tuple[TrackMark, ...]:
    if beside is None:
        return ()
    return tuple(
        TrackMark(
            one.trait, max(-FARTHEST, min(one.by / one.allowed, FARTHEST)), one.within
        )
        for trait in TRACKS
        for one in beside.differences
        if one.trait is trait and one.allowed > 0
    )  # fmt: skip


def ranges(numbers: Iterable[int]) -> str:
    """Name numbers, those that follow each other as one: "22 to 26, 31"."""
    told = []
    for _, run in groupby(enumerate(sorted(numbers)), lambda pair: pair[1] - pair[0]):
        these = [number for _, number in run]
        told.append(f"{these[0]} to {these[-1]}" if len(these) > 1 else str(these[0]))
    return ", ".join(told)


def board_lines(board: OrderBoard) -> Iterator[str]:
    """Give the page as lines of text."""
    yield from filter(None, (board.name and f"{board.name}: {board.head}.", board.sentence))
    stages = [f"{one.count} {one.name}" for one in board.stages if one.count]
    if stages:
        yield f"{', '.join(stages)}."
    yield from (*board.crew, *board.ready, *board.yarn)
    if board.next:
        yield board.next
    for group in board.groups:
        yield from filter(None, (group.title, group.wanted, group.waiting, *group.odd))
