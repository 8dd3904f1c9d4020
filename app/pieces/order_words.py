"""An order in words: how far it is, what lies drying, yarn, hours, the day, what is next."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from app.pieces.plan_words import counted
from engine.batch.progress import DRY_HOURS, StageDoubt, moment
from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.pieces.order_view import OrderView
    from engine.batch.order import OrderState
    from engine.batch.progress import Drying
    from engine.batch.readiness import Between
    from engine.batch.wool import WoolNeed

STAGES: Final = {
    None: "to do",
    Stage.BEGUN: "begun",
    Stage.KNITTED: "knitted",
    Stage.ENDS: "ends in",
    Stage.WASHED: "drying",
    Stage.DRY: "dry",
    Stage.MEASURED: "measured",
    Stage.PACKED: "packed",
}
DOUBTS: Final = {
    StageDoubt.NO_SUCH_PIECE: "the order has no such piece",
    StageDoubt.SO_ALREADY: "so it is already",
    StageDoubt.BACK: "it is further than that",
    StageDoubt.NOT_KNITTED: "it is not even begun",
    StageDoubt.STILL_WET: f"washed just now, it dries {DRY_HOURS[0]} to {DRY_HOURS[1]} hours",
}
_SURE: Final = 0.99
_NEVER: Final = 0.01
_MANY: Final = 12
"""So many numbers are named; of more, only how many there are."""


def piece_title(state: OrderState, number: int) -> str:
    """Return what a piece is called: "Mug sleeve 12"."""
    line = state.line_of(number)
    return f"{line.item} {number}" if line is not None else f"Piece {number}"


def order_lines(view: OrderView) -> Iterator[str]:
    """Give an order as lines for a terminal."""
    state = view.state
    spares = f" and {counted(view.spares, 'spare')}" if view.spares else ""
    due = f" Due {state.due}{_in_days(view.days_left)}." if state.due else " No day is set."
    yield f"{state.name}: {counted(state.count, 'piece')} ordered{spares}.{due}"
    if not view.lines:
        yield 'Nothing is ordered yet: walesong order add 24 "Mug sleeve" --colour grey.'
        return
    yield ""
    yield from table(view)
    yield ""
    yield from crew_lines(view.state)
    yield from drying_lines(view.drying)
    yield from rejected_lines(view.state)
    for need in view.wool:
        yield wool_line(need)
    yield from ready_lines(view)
    yield next_line(view)
    yield from settled_lines(state)
    if state.unplaced:
        yield f"Said of no piece of the order: {_named(state.unplaced)}."


def settled_lines(state: OrderState) -> Iterator[str]:
    """Give what two devices did with the same numbers, and the question that settles it."""
    for one in state.moved:
        line = next(line for line in state.lines if line.first == one.first)
        many = len(line.numbers)
        yield (
            f"Two devices gave the numbers {one.told} to {one.told + many - 1} at once: the "
            f"{line.title} have {line.numbers[0]} to {line.numbers[-1]} now. Write these on their "
            "slips; are they right? If so: walesong order settle."
        )
    for number in state.twice:
        yield (
            f"{piece_title(state, number)} was begun on two devices at once. Is it one piece? If "
            f"so: walesong order settle {number}. If there are two, one of them needs another "
            "number: walesong order mark begun NUMBER, then settle."
        )


def _in_days(days: float | None) -> str:
    if days is None:
        return ""
    whole = math.floor(days)
    if whole < 0:
        return f" ({counted(-whole, 'day')} ago)"
    return f" (in {counted(whole, 'day')})" if whole else " (today)"


def table(view: OrderView) -> list[str]:
    """Return a line for each line of the order, with its pieces by stage, and a sum."""
    head = ("pieces", "", "ordered", "spares", *STAGES.values())
    rows: list[tuple[str, ...]] = [head]
    for one in view.lines:
        line = one.line
        numbers = f"{line.numbers[0]}-{line.numbers[-1]}"
        at = [str(one.at[stage] or "") for stage in STAGES]
        rows.append((line.title, numbers, str(line.count), str(line.spares or ""), *at))
    sums = [sum(one.at[stage] for one in view.lines) for stage in STAGES]
    rows.append(
        ("together", "", str(view.state.count), str(view.spares), *(str(one or "") for one in sums))
    )
    wide = [max(len(row[at]) for row in rows) for at in range(len(head))]
    return [
        "  ".join(
            cell.ljust(wide[at]) if at == 0 else cell.rjust(wide[at]) for at, cell in enumerate(row)
        ).rstrip()
        for row in rows
    ]


def crew_lines(state: OrderState) -> Iterator[str]:
    """Give a line a knitter: what she has done, has on the needles and has still to do."""
    told = dict(state.hours)
    for knitter in state.knitters:
        mine = [one for line in state.lines for one in state.pieces(line) if one.knitter == knitter]
        done = sum(one.stage not in {None, Stage.BEGUN} for one in mine)
        begun = [one.number for one in mine if one.stage is Stage.BEGUN]
        waiting = sum(one.stage is None for one in mine)
        hours = f", {float(told[knitter]):g} hours a week" if knitter in told else ""
        needles = f", on the needles {_named(begun)}" if begun else ""
        yield f"{knitter}: {done} knitted{needles}, {waiting} to begin{hours}."
    nobody = sum(
        not one.knitter and one.stage is None for line in state.lines for one in state.pieces(line)
    )
    if nobody and state.knitters:
        yield f"Given to nobody yet: {counted(nobody, 'piece')}."


def drying_lines(lying: Sequence[Drying]) -> Iterator[str]:
    """Give what lies drying, and what may be dry by now."""
    late = [one.number for one in lying if one.late]
    ready = [one.number for one in lying if one.ready and not one.late]
    wet = [one.number for one in lying if not one.ready]
    if late:
        yield f"Washed over {DRY_HOURS[1]} hours ago, surely dry: {_named(late)}."
    if ready:
        yield f"Washed over {DRY_HOURS[0]} hours ago, feel whether dry: {_named(ready)}."
    if wet:
        yield f"Still drying: {_named(wet)}."


def rejected_lines(state: OrderState) -> Iterator[str]:
    """Give what was rejected and is knitted anew."""
    for number, one in state.told:
        if one.rejected and state.line_of(number) is not None:
            why = "; ".join(filter(None, one.rejected)) or "no reason said"
            again = f", {counted(len(one.rejected), 'time')}" if len(one.rejected) > 1 else ""
            yield f"Rejected: {piece_title(state, number)} ({why}){again}; knitted anew."


def _named(numbers: Sequence[int]) -> str:
    if len(numbers) > _MANY:
        return counted(len(numbers), "piece")
    return ", ".join(map(str, numbers))


def chance_words(chance: float) -> str:
    """Say a chance: never that something is certain."""
    if chance >= _SURE:
        return "over 99 in 100"
    if chance <= _NEVER:
        return "under 1 in 100"
    return f"{round(chance * 100)} in 100"


def wool_line(need: WoolNeed) -> str:
    """Say whether the yarn of a colour suffices, in whole balls of one dye lot."""
    colour = f"Yarn, {need.colour}" if need.colour else "Yarn"
    if need.unknown:
        return (
            f"{colour}: what {need.unknown[0]} takes is not known; weigh a piece, or give a weight."
        )
    takes = f"{need.grams[0]:.0f} to {need.grams[1]:.0f} g for all of it" if need.grams else ""
    if need.chance is None or need.balls is None:
        return f"{colour}: {takes}; no ball was named yet."
    lot = f" of lot {need.lot}" if need.lot else ""
    there = f"{counted(need.there, 'ball')} of {need.ball_g:g} g{lot}"
    more = need.balls - need.there
    buy = f"; {counted(more, 'ball')} more of the same lot would do" if more > 0 else ""
    others = f" ({counted(need.lots - 1, 'other lot')} not counted)" if need.lots > 1 else ""
    return (
        f"{colour}: {takes}; {there} suffice with a chance of {chance_words(need.chance)}{buy}"
        f"{others}."
    )


def ready_lines(view: OrderView) -> Iterator[str]:
    """Give the hours left and the day at this pace, with their intervals, or what is missing."""
    ready = view.ready
    if ready.unknown_lines:
        yield (
            f"Hours left: not known; no {ready.unknown_lines[0]} was timed, nor can its time be "
            "reckoned from stitches and rows of the others."
        )
        return
    if ready.hours is not None:
        yield f"Knitting left: {between(ready.hours)} hours (nine times in ten)."
    if ready.unknown_hours:
        yield (
            "Ready: not known; say how many hours a week "
            f"{' and '.join(ready.unknown_hours)} will knit."
        )
    elif ready.days is None:
        yield 'Ready: not known; say who knits and how much: walesong order hours "NAME" 5.'
    else:
        first, last = ready_days(view)
        chance = ""
        if ready.chance is not None:
            chance = f"; by {view.state.due} with a chance of {chance_words(ready.chance)}"
        yield f"Ready at this pace: {first} to {last} (nine times in ten){chance}."


def between(one: Between) -> str:
    """Say an interval with its middle: "42 to 51, about 46"."""
    return f"{one.low:.0f} to {one.high:.0f}, about {one.best:.0f}"


def ready_days(view: OrderView) -> tuple[str, str]:
    """Return the days between which the order is ready, ISO 8601; rounded outwards."""
    here, days = moment(view.now), view.ready.days
    if here is None or days is None:
        raise ValueError("It is not known when the order is ready.")
    first = here + timedelta(days=math.floor(days.low))
    last = here + timedelta(days=math.ceil(days.high))
    return first.date().isoformat(), last.date().isoformat()


def next_line(view: OrderView) -> str:
    """Say what to start next."""
    if view.next is None:
        left = view.state.count + view.spares - view.packed
        return "All are begun." if left else "All are packed."
    one = view.next
    who = f" ({one.knitter})" if one.knitter else ""
    anew = ", which was rejected" if one.rejected else ""
    return f"To start next: {piece_title(view.state, one.number)}{who}{anew}."
