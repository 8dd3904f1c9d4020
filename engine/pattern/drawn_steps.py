"""From the items of a row to its single stitches, in the order in which they are worked.

A row that cannot be told apart stitch by stitch (it needs markers whose places are not known, or
the reader does not understand it) gives None; it is then drawn as plain strands, never guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, assert_never

from engine.pattern.needle import fixed
from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    InStitch,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    StopAt,
    Work,
)
from engine.pattern.stitches import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.pattern.notation import Item, Stop
    from engine.pattern.stitches import Stitch

_MOST: Final = 4000
"""Wider than that no row is drawn."""


class Facing(StrEnum):
    """How a stitch looks on the side that faces the knitter while she works it."""

    KNIT = "knit"
    PURL = "purl"
    OVER = "over"
    AS_BELOW = "as_below"
    PLAIN = "plain"


class Over(StrEnum):
    """Which of several loops worked together lies over the others."""

    FIRST = "first"
    MIDDLE = "middle"
    LAST = "last"


@dataclass(frozen=True, slots=True)
class Worked:
    """One step of the hands: loops taken from the left needle, stitches left on the right one.

    `over` says which of the loops taken lies over the others on the right side of the fabric;
    `name` is the stitch's usual abbreviation with how it is worked ("k2tog", "k tbl"), for charts.
    """

    takes: int
    leaves: tuple[Facing, ...]
    over: Over = Over.LAST
    bound_off: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps of a row, and after how many of them each of its items ends."""

    steps: tuple[Worked, ...]
    ends: tuple[int, ...]

    def made(self, steps: int) -> int:
        """Return how many stitches the first so many steps leave on the right needle."""
        return sum(len(step.leaves) for step in self.steps[:steps])


class _UnknownError(Exception):
    """The row cannot be told apart stitch by stitch."""


def steps_of(items: Sequence[Item], before: int) -> Steps | None:
    """Return the steps of a row over `before` stitches, or None if they cannot be told."""
    hands = _Hands(before)
    ends: list[int] = []
    try:
        for at, item in enumerate(items):
            hands.one(item, tuple(items[at + 1 :]))
            ends.append(len(hands.steps))
    except _UnknownError:
        return None
    return Steps(tuple(hands.steps), tuple(ends)) if hands.taken == before else None


class _Hands:
    def __init__(self, total: int) -> None:
        self.total = total
        self.taken = 0
        self.steps: list[Worked] = []

    def work(self, items: tuple[Item, ...]) -> None:
        for at, item in enumerate(items):
            self.one(item, items[at + 1 :])

    def one(self, item: Item, following: tuple[Item, ...]) -> None:
        match item:
            case Work():
                for _ in range(_amount(item.amount)):
                    self._step(_worked(item))
            case Group():
                for _ in range(_amount(item.times)):
                    self.work(item.body)
            case Along():
                end = self._end(item.stop, following)
                while self.taken < end:
                    before = self.taken
                    self.work(item.body)
                    if self.taken <= before:
                        raise _UnknownError
            case InStitch():
                made = fixed(item.body)
                if made is None:
                    raise _UnknownError
                self._step(Worked(item.takes, (Facing.KNIT,) * made[1]))
            case BindOff():
                count = (
                    _amount(item.amount)
                    if item.amount is not None
                    else (self._end(item.stop, following) if item.stop else self.total) - self.taken
                )
                for _ in range(count):
                    self._step(Worked(1, (), bound_off=True))
            case CastOn() | PickUp():
                self._step(Worked(0, (Facing.KNIT,) * _amount(item.amount)))
            case Marker() | JoinRound() | Remark():
                pass
            case _:  # short rows and stitches on hold: the row is not one line of stitches
                raise _UnknownError

    def _step(self, step: Worked) -> None:
        if step.takes < 0 or len(self.steps) > _MOST:
            raise _UnknownError
        self.taken += step.takes
        if self.taken > self.total:
            raise _UnknownError
        self.steps.append(step)

    def _end(self, stop: Stop, following: tuple[Item, ...]) -> int:
        match stop.kind:
            case StopAt.END:
                return self.total - _amount(stop.left)
            case StopAt.REST:
                needed = 0
                for item in following:
                    one = fixed((item,))
                    if one is None:
                        break
                    needed += one[0]
                return self.total - needed
            case _:
                raise _UnknownError


def _amount(amount: tuple[int | None, ...]) -> int:
    if len(amount) != 1:
        raise _UnknownError
    return amount[0] or 0


# Which way a decrease leans on the right side: the loop that lies over comes from the other side.
_FIRST_OVER: Final = frozenset({"ssk", "sssk", "skp", "sk2p"})
_MIDDLE_OVER: Final = frozenset({"cdd", "cddp", "s2kp"})
_PURLED: Final = frozenset(
    {"ssp", "sssp", "cddp", "pfb", "pfbf", "m1p", "m1lp", "m1rp", "llip", "rlip"}
)


def _worked(item: Work) -> Worked:
    """Return how a stitch is worked and what it looks like to her who works it."""
    stitch = item.stitch
    if not stitch.counted or stitch.leaves < 0:
        raise _UnknownError
    # Through the back loops stitches knit or purled together lie the other way round.
    together = stitch.name.endswith("tog")
    first = stitch.name in _FIRST_OVER or (together and stitch.name.startswith("p"))
    if together and "tbl" in item.how:
        first = not first
    over = Over.FIRST if first else Over.LAST
    if stitch.name in _MIDDLE_OVER:
        over = Over.MIDDLE
    name = " ".join((stitch.name, *item.how))
    return Worked(stitch.takes, (_facing(stitch),) * stitch.leaves, over, name=name)


def _facing(stitch: Stitch) -> Facing:
    match stitch.kind:
        case Kind.KNIT | Kind.CABLE:
            return Facing.KNIT
        case Kind.PURL:
            return Facing.PURL
        case Kind.SLIP | Kind.AS_SET:
            return Facing.AS_BELOW
        case Kind.YARN_OVER:
            return Facing.OVER
        case Kind.DECREASE | Kind.INCREASE:
            together = stitch.name.startswith("p") and stitch.name.endswith("tog")
            return Facing.PURL if together or stitch.name in _PURLED else Facing.KNIT
        case Kind.OTHER:
            return Facing.PLAIN
        case _:
            assert_never(stitch.kind)
