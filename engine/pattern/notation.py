"""
What a written row is made of, as values.

An `Amount` has one number for all sizes or one for every size; None stands for the dash of a size
that leaves the step out. `at` is where the words stand in the line, for pointing only.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.pattern.stitches import Stitch

Amount = tuple[int | None, ...]

ONE: Amount = (1,)
NONE_LEFT: Amount = (0,)


def _at() -> int:
    return field(default=0, compare=False, repr=False)


class StopAt(StrEnum):
    """Where something that is worked "to ..." ends."""

    END = "end"
    REST = "rest"
    """Before the stitches that the words after it need: "rep from *, k2"."""
    MARKER = "marker"
    GAP = "gap"
    """The place where a short row was turned."""


@dataclass(frozen=True, slots=True)
class StopWork:
    """An end: `left` stitches before the end of the row, a marker (by name, "" any) or a gap."""

    kind: StopAt = StopAt.END
    left: Amount = NONE_LEFT
    mark: str = ""


TO_END = StopWork()
ALL_MARKERS = "all"
"""The name by which all the markers are removed."""
CENTRE = "centre"
"""The name of the marker that stands at the middle stitch, where the words say only "centre st"."""


BOUND_OFF = "bound off"
"""The name of the marks where stitches were bound off on the row before."""
ELSEWHERE = "another piece"
"""The name of stitches that another piece has left."""
NEEDLE = "needle"
"""The name of the marks at the ends of needles, followed by the needle's number."""


@dataclass(frozen=True, slots=True)
class Work:
    """`amount` stitches worked alike; `how` are words such as "tbl" and "wyif"."""

    stitch: Stitch
    amount: Amount = ONE
    how: tuple[str, ...] = ()
    colour: str = ""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Group:
    """The items so many times in all; `unsure` where "n times" may mean n more."""

    body: tuple[Item, ...]
    times: Amount = ONE
    star: bool = False
    unsure: bool = False
    at: int = _at()


@dataclass(frozen=True, slots=True)
class InStitch:
    """All the items worked into one stitch (or into `takes` loops)."""

    body: tuple[Item, ...]
    takes: int = 1
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Along:
    """The items again and again until a stop; `whole` where the row says nothing but "knit"."""

    body: tuple[Item, ...]
    stop: StopWork = TO_END
    star: bool = False
    at: int = _at()


@dataclass(frozen=True, slots=True)
class BindOff:
    """
    Binds off `amount` stitches (None: all that are left), or those before a stop.

    The stitch that is left on the right needle is not among them; what follows counts it in.
    `manner` are the designer's words for how it is to look or feel: "in pattern", "loosely".
    """

    amount: Amount | None = None
    stop: StopWork | None = None
    how: tuple[str, ...] = ()
    at: int = _at()
    manner: str = ""
    rest: bool = False
    """Whether the amount is said to be all that are left: "bo rem 15 sts"."""


@dataclass(frozen=True, slots=True)
class CastOn:
    """Casts on `amount` stitches within a row or at its end; `how` is the designer's method."""

    amount: Amount
    how: str = ""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class PickUp:
    """Picks up `amount` stitches along an edge."""

    amount: Amount
    along: str = ""
    at: int = _at()


class MarkerMove(StrEnum):
    """What is done with a marker."""

    PLACE = "pm"
    SLIP = "sm"
    REMOVE = "rm"


@dataclass(frozen=True, slots=True)
class Marker:
    """A marker is placed, slipped or removed."""

    move: MarkerMove
    name: str = ""
    at: int = _at()


class TurnKind(StrEnum):
    """How a short row is turned."""

    PLAIN = "turn"
    WRAP = "w&t"


@dataclass(frozen=True, slots=True)
class TurnWork:
    """The row ends here and the work is turned."""

    kind: TurnKind = TurnKind.PLAIN
    at: int = _at()


class HoldWhich(StrEnum):
    """Which stitches are laid aside."""

    NEXT = "next"
    LAST = "last"
    REST = "rest"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Hold:
    """Stitches are laid aside under a name; `amount` None means all that are meant."""

    which: HoldWhich = HoldWhich.NEXT
    amount: Amount | None = None
    name: str = ""
    at: int = _at()
    parted: bool = False
    """From one holder to another: the needle is not touched."""


@dataclass(frozen=True, slots=True)
class TakeUp:
    """Stitches that were laid aside (under a name, "" the last) are taken up again."""

    name: str = ""
    amount: Amount | None = None
    beside: bool = False
    """Beside the stitches on the needle; otherwise they become the needle."""
    whole: bool = False
    """The amount is said to be all that is on hold there."""
    whence: str = ""
    """The words that name where they are, where that may be another piece."""
    yarn: str = ""
    """Words that speak of the yarn only: "rejoin yarn at left edge"."""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class JoinRound:
    """From here on the piece is worked in the round."""

    at: int = _at()


@dataclass(frozen=True, slots=True)
class Remark:
    """Words that change no stitch: "break yarn", "change to larger needles"."""

    text: str
    at: int = _at()


Item = (
    Work
    | Group
    | InStitch
    | Along
    | BindOff
    | CastOn
    | PickUp
    | Marker
    | TurnWork
    | Hold
    | TakeUp
    | JoinRound
    | Remark
)


def amount_for(amount: Amount, size: int) -> Amount:
    """Return the amount of one size (counted from 0)."""
    return amount if len(amount) == 1 else (amount[size],)


def items_for(items: tuple[Item, ...], size: int) -> tuple[Item, ...]:
    """Return the items with the numbers of one size; what a size leaves out is left out."""
    return tuple(_items_for(items, size))


def _items_for(  # noqa: C901, PLR0912 (one case an item)
    items: Iterable[Item], size: int
) -> Iterable[Item]:
    for item in items:
        match item:
            case Work() | CastOn() | PickUp():
                amount = amount_for(item.amount, size)
                if amount is item.amount:
                    yield item
                elif amount[0] is not None:
                    yield replace(item, amount=amount)
            case Group():
                times = amount_for(item.times, size)
                if times[0] is not None:
                    yield replace(item, times=times, body=items_for(item.body, size))
            case InStitch() | Along() if not is_graded((item,)):
                yield item
            case InStitch():
                yield replace(item, body=items_for(item.body, size))
            case Along():
                stop = _stop_for(item.stop, size)
                yield replace(item, stop=stop, body=items_for(item.body, size))
            case BindOff():
                if item.amount is not None:
                    amount = amount_for(item.amount, size)
                    if amount[0] is not None:
                        yield replace(item, amount=amount)
                elif item.stop is not None:
                    yield replace(item, stop=_stop_for(item.stop, size))
                else:
                    yield item
            case Hold() | TakeUp():
                if item.amount is None:
                    yield item
                elif (amount := amount_for(item.amount, size))[0] is not None:
                    yield replace(item, amount=amount)
            case Marker() | TurnWork() | JoinRound() | Remark():
                yield item


def _stop_for(stop: StopWork, size: int) -> StopWork:
    left = amount_for(stop.left, size)
    return replace(stop, left=left if left[0] is not None else NONE_LEFT)


def amounts(items: Iterable[Item]) -> Iterable[tuple[Amount, int]]:
    """Yield every amount in the items, with where it stands."""
    for item in items:
        match item:
            case Work() | CastOn() | PickUp():
                yield item.amount, item.at
            case Group():
                yield item.times, item.at
                yield from amounts(item.body)
            case InStitch():
                yield from amounts(item.body)
            case Along():
                yield item.stop.left, item.at
                yield from amounts(item.body)
            case BindOff():
                if item.amount is not None:
                    yield item.amount, item.at
                if item.stop is not None:
                    yield item.stop.left, item.at
            case Hold() | TakeUp():
                if item.amount is not None:
                    yield item.amount, item.at
            case Marker() | TurnWork() | JoinRound() | Remark():
                pass


def is_graded(items: Iterable[Item]) -> bool:
    """Whether any number in the items differs between sizes."""
    return any(len(amount) > 1 for amount, _ in amounts(items))
