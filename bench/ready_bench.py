"""
How often what is told of an order holds: hours of knitting left, and the day on which it is ready.

Crews are made up: their hands, their weeks and their pieces differ by more than the answers assume,
and each works to about half of the order before it is asked. What is rejected until then is
told. The share of orders whose true hours
and day lie within the interval of nine times in ten is printed, with its width.

    python -m bench.ready_bench [ORDERS]
"""

from __future__ import annotations

import math
import random
import sys
from dataclasses import dataclass, field
from fractions import Fraction
from statistics import median

from engine import order_events as said
from engine.batch.order import OrderedLine, OrderedPiece, OrderState
from engine.batch.readiness import Readiness, Timing, readiness
from engine.stages import Stage

_FIRST_SEED = 5_000  # the figures of the answers were looked at with seeds below 1,000
ITEMS = ((22, 50), (50, 54), (40, 66), (62, 96))
"""Rows and stitches of the demo's items."""


@dataclass
class Crew:
    """Knitters as they really are, and what they have knitted."""

    dice: random.Random
    unlike: float
    weeks_differ: float
    hands: dict[str, float] = field(default_factory=dict)
    hours: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Draw who they are."""
        for knitter in "ABCD"[: self.dice.randint(2, 4)]:
            self.hands[knitter] = self.dice.lognormvariate(0, 0.2)
            self.hours[knitter] = self.dice.uniform(2, 9)

    def week(self, knitter: str) -> float:
        """Return the hours of one week; one in ten weeks she is away."""
        if self.dice.random() < 0.1:
            return 0.0
        return self.hours[knitter] * self.dice.lognormvariate(0, self.weeks_differ)

    def minutes(self, line: OrderedLine, knitter: str) -> float:
        """Return how long a piece takes her."""
        rows, stitches = line.wanted.rows or 0, line.wanted.stitches or 0  # type: ignore[union-attr]
        usual = rows * stitches * 3.0 / 60
        return usual * self.hands[knitter] * self.dice.lognormvariate(0, self.unlike)


def lines_of(dice: random.Random) -> tuple[OrderedLine, ...]:
    """Return the lines of an order: one to four items, four to twenty-four of each."""
    found, first = [], 1
    for rows, stitches in dice.sample(ITEMS, dice.randint(1, 4)):
        count = dice.randint(4, 24)
        spares = -(-count // 12)
        wanted = said.LineWanted(first, "", rows, stitches, None, None, None)
        found.append(OrderedLine(first, f"item {first}", "", "", count, spares, wanted))
        first += count + spares
    return tuple(found)


def asked(  # noqa: PLR0917 (all that is known)
    lines: tuple[OrderedLine, ...],
    made: dict[int, str],
    minutes: dict[int, float],
    rejected: dict[int, int],
    on_needle: dict[str, tuple[OrderedLine, int, float]],
    left: dict[str, float],
    told_hours: dict[str, int],
    days: float,
) -> Readiness:
    """Return what is told of the order as it stands."""
    share = {number: 1 - left[one] / took for one, (_, number, took) in on_needle.items()}
    begun = {number: Stage.BEGUN for _, number, _ in on_needle.values()}
    told = {
        number: OrderedPiece(
            number,
            knitter if number in minutes or number in begun else "",
            stage=Stage.MEASURED if number in minutes else begun.get(number),
            knitted="x" if number in minutes else "",
            rejected=("",) * rejected.get(number, 0),
        )
        for number, knitter in made.items()
    }
    state = OrderState(
        order="o",
        begun=True,
        lines=lines,
        told=tuple(sorted(told.items())),
        hours=tuple((one, Fraction(hours)) for one, hours in told_hours.items()),
    )
    return readiness(state, Timing(minutes, share, days, None))


def one_order(  # noqa: PLR0915 (one order from its first day to its last)
    seed: int, unlike: float, weeks_differ: float
) -> tuple[bool, bool, float, float]:
    """Return whether hours and day held, and how wide they were, relative to what was true."""
    dice = random.Random(seed)
    crew, lines = Crew(dice, unlike, weeks_differ), lines_of(dice)
    waiting = [(line, number) for line in lines for number in line.numbers]
    dice.shuffle(waiting)
    total = len(waiting)
    minutes: dict[int, float] = {}
    made: dict[int, str] = {}
    rejected: dict[int, int] = {}
    half: tuple[float, Readiness] | None = None
    left: dict[str, float] = {}
    days = 0.0
    true_hours, day_done = 0.0, 0.0
    on_needle: dict[str, tuple[OrderedLine, int, float]] = {}
    rejects = dice.betavariate(1, 11)
    # What she says of her hours is off by a fifth or so.
    told_hours = {
        one: round(max(hours * dice.lognormvariate(0, 0.2), 1)) for one, hours in crew.hours.items()
    }
    this_week: dict[str, float] = {}
    spare_used = dict.fromkeys((line.first for line in lines), 0)
    while waiting or on_needle:
        if half is None and len(minutes) >= total / 2 and days >= 14:
            half = days, asked(lines, made, minutes, rejected, on_needle, left, told_hours, days)
        for knitter in crew.hands:
            if days % 7 == 0:
                this_week[knitter] = crew.week(knitter)
            today = spent = this_week[knitter] * 60 / 7
            while spent > 0 and (waiting or knitter in on_needle):
                if knitter not in on_needle:
                    line, number = waiting.pop()
                    took = crew.minutes(line, knitter)
                    on_needle[knitter] = (line, number, took)
                    left[knitter], made[number] = took, knitter
                work = min(spent, left[knitter])
                spent -= work
                left[knitter] -= work
                true_hours += work / 60 if half is not None else 0.0
                if left[knitter] <= 1e-9:
                    line, number, took = on_needle.pop(knitter)
                    day_done = days + 1 - spent / today
                    lost = dice.random() < rejects
                    if lost and half is None:  # she says so, and it is knitted anew
                        rejected[number] = rejected.get(number, 0) + 1
                        waiting.append((line, number))
                        continue
                    minutes[number] = took
                    if lost:
                        spare_used[line.first] += 1
                        if spare_used[line.first] > line.spares:
                            waiting.append((line, number))
        days += 1
    if half is None or half[1].hours is None or half[1].days is None:
        return True, True, math.nan, math.nan
    at, told_of = half
    true_days = day_done + dice.uniform(2, 4) - at
    hours, until = told_of.hours, told_of.days
    assert hours is not None
    assert until is not None
    return (
        hours.low <= true_hours <= hours.high,
        until.low <= true_days <= until.high,
        (hours.high - hours.low) / max(true_hours, 1),
        (until.high - until.low) / max(true_days, 1),
    )


def main() -> None:
    """Print the table."""
    orders = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print("crew                    hours held  day held  width of hours  width of days")
    for name, unlike, weeks in (("even", 0.1, 0.2), ("usual", 0.15, 0.35), ("uneven", 0.3, 0.6)):
        found = [
            one_order(seed, unlike, weeks) for seed in range(_FIRST_SEED, _FIRST_SEED + orders)
        ]
        told = [one for one in found if not math.isnan(one[2])]
        held = [sum(one[at] for one in told) / len(told) for at in (0, 1)]
        wide = [median(one[at] for one in told) for at in (2, 3)]
        print(
            f"{name:<22}{held[0]:>11.0%}{held[1]:>10.0%}{wide[0]:>16.2f}{wide[1]:>15.2f}"
            f"   ({len(told)} of {orders} orders)"
        )


if __name__ == "__main__":
    main()
