"""From the items of a row to its single stitches, in the order in which they are worked.

Told with the needle that it is worked from, a row knows its markers and where a short row was
turned. A row that cannot be told apart stitch by stitch (the reader does not understand it, or the
places of its markers are not known) gives None; it is then drawn as plain strands, never guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, assert_never

from engine.pattern.crossings import crossing_of
from engine.pattern.needle import GAP, Needle, fixed
from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    JoinRound,
    Marker,
    MarkerMove,
    PickUp,
    Remark,
    StopAt,
    TurnWork,
    Work,
)
from engine.pattern.stitches import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.pattern.crossings import Crossing
    from engine.pattern.notation import Item, StopWork
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
    `crossed` says of a crossing, for each stitch that it leaves, which of the loops taken it came
    out of and whether it lies in front. `idle` loops are not worked: a short row turned before
    them, or they were laid aside.
    """

    takes: int
    leaves: tuple[Facing, ...]
    over: Over = Over.LAST
    bound_off: bool = False
    name: str = ""
    colour: str = ""
    crossed: tuple[tuple[int, bool], ...] = ()
    idle: bool = False


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


def steps_of(items: Sequence[Item], before: int | Needle) -> Steps | None:
    """
    Return the steps of a row, or None if they cannot be told.

    `before` is the number of stitches, or the needle with its markers where that is known.
    """
    if isinstance(before, Needle) and before.adrift:
        return None
    hands = _DrawingHands(before if isinstance(before, Needle) else Needle((before,)))
    ends: list[int] = []
    try:
        for at, item in enumerate(items):
            hands.one(item, tuple(items[at + 1 :]))
            ends.append(len(hands.steps))
    except _UnknownError:
        return None
    hands.end()
    return Steps(tuple(hands.steps), tuple(ends)) if hands.taken == hands.total else None


class _DrawingHands:
    def __init__(self, needle: Needle) -> None:
        self.total = needle.total
        self.in_the_round = needle.in_the_round
        self.marks: list[tuple[int, str]] = []
        position = 0
        for count, name in zip(needle.segments, needle.marks, strict=False):
            position += count
            self.marks.append((position, name))
        self.taken = 0
        self.turned = False
        self.steps: list[Worked] = []
        self._pass_over(needle.behind)
        self.marks = [mark for mark in self.marks if mark != (needle.behind, GAP)]

    def _pass_over(self, loops: int) -> None:
        """Leave loops unworked: they stay as they are."""
        for _ in range(loops):
            self._step(Worked(1, (Facing.AS_BELOW,), idle=True))

    def end(self) -> None:
        """End the row: a short row leaves the stitches after its turn as they are."""
        if self.turned:
            self._pass_over(self.total - self.taken)

    def work(self, items: tuple[Item, ...]) -> None:
        for at, item in enumerate(items):
            self.one(item, items[at + 1 :])

    def one(  # noqa: C901, PLR0912 (one case an item)
        self, item: Item, following: tuple[Item, ...]
    ) -> None:
        if self.turned and not isinstance(item, Remark | TurnWork):
            raise _UnknownError  # two rows in one line: they are not one line of stitches
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
                self._in_stitch(item)
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
            case Marker():
                self._marker(item)
            case TurnWork():
                self.turned = True
            case Hold(amount=(int(count),), which=HoldWhich.NEXT):
                for _ in range(count):
                    self._step(Worked(1, (), idle=True))
            case JoinRound() | Remark():
                pass
            case _:  # stitches taken up again: the row is not one line of stitches
                raise _UnknownError

    def _in_stitch(self, item: InStitch) -> None:
        inner = _DrawingHands(Needle((item.takes,)))
        for part in item.body:
            if isinstance(part, Work):
                inner.steps += [_worked(part)] * _amount(part.amount)
            else:
                raise _UnknownError
        single = all((one.takes, len(one.leaves)) == (1, 1) for one in inner.steps)
        if single and len(inner.steps) == item.takes > 1:
            # "(p1, k1) into the double yo": each loop is worked by itself.
            for step in inner.steps:
                self._step(step)
            return
        leaves = tuple(facing for step in inner.steps for facing in step.leaves)
        self._step(Worked(item.takes, leaves))

    def _marker(self, item: Marker) -> None:
        """Let a marker go by at this place: what follows "to the marker" means the next one."""
        if item.move is not MarkerMove.PLACE and self.marks and self.marks[0][0] <= self.taken:
            self.marks.pop(0)

    def _step(self, step: Worked) -> None:
        if step.takes < 0 or len(self.steps) > _MOST:
            raise _UnknownError
        self.taken += step.takes
        if self.taken > self.total:
            raise _UnknownError
        while self.marks and self.marks[0][0] < self.taken:
            self.marks.pop(0)
        self.steps.append(step)

    def _end(self, stop: StopWork, following: tuple[Item, ...]) -> int:
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
            case StopAt.MARKER:
                return self._mark(stop.mark) - _amount(stop.left)
            case StopAt.GAP:
                return self._gap(_amount(stop.left))
            case _:
                assert_never(stop.kind)

    def _mark(self, name: str) -> int:
        ahead = [(position, mark) for position, mark in self.marks if mark != GAP]
        for position, mark in ahead:
            if mark == name or not name:
                return position
        if self.in_the_round and not ahead:
            return self.total  # the marker at the beginning of the round
        raise _UnknownError

    def _gap(self, left: int) -> int:
        for position, mark in self.marks:
            if mark == GAP and position - left >= self.taken:
                return position - left
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


_BUMPED: Final = frozenset({"kfb", "kfbf", "inc"})


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
    colour = item.colour.casefold()
    crossing = crossing_of(stitch.name) if stitch.kind is Kind.CABLE else None
    if crossing is not None:
        leaves, crossed = _crossed(crossing)
        return Worked(stitch.takes, leaves, name=name, colour=colour, crossed=crossed)
    leaves = (_facing(stitch),) * stitch.leaves
    if stitch.name in _BUMPED:
        # The loop that is knit into the back lies before the others with a bar, like a purl bump.
        leaves = (Facing.KNIT, Facing.PURL, Facing.KNIT)[: stitch.leaves]
    return Worked(stitch.takes, leaves, over, name=name, colour=colour)


def _crossed(crossing: Crossing) -> tuple[tuple[Facing, ...], tuple[tuple[int, bool], ...]]:
    """Return how the stitches of a crossing look, and where they came from, as they are worked."""
    waited = range(crossing.moved)
    middle = range(crossing.moved, crossing.moved + crossing.middle)
    others = range(crossing.moved + crossing.middle, crossing.width)
    leaves: list[Facing] = []
    crossed: list[tuple[int, bool]] = []
    for loops, purled, front in zip(
        (others, middle, waited),
        crossing.purls,
        (not crossing.front, False, crossing.front),
        strict=True,
    ):
        leaves += [Facing.PURL if purled else Facing.KNIT] * len(loops)
        crossed += [(loop, front) for loop in loops]
    return tuple(leaves), tuple(crossed)


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
