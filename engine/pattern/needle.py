"""
The stitches on the needle, and what a row does to their number.

What items take and leave is arithmetic; where markers, short rows or stitches on hold are in play,
only working the row tells (`engine.pattern.hands`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import gcd
from typing import assert_never

from engine.pattern.count_map import NOWHERE, CountMap, exactly
from engine.pattern.notation import (
    NEEDLE,
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    StopAt,
    StopWork,
    TakeUp,
    TurnWork,
    Work,
)

GAP = "\N{SYMBOL FOR SPACE}"
"""The name of the mark that stands where a short row was turned."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """
    A row that cannot be worked.

    `off_by` above zero: so many stitches are left unworked; below zero: so many are too few; None
    where another thing than the count is wrong. `at` is where in the line the trouble is.
    """

    off_by: int | None
    message: str
    at: int = 0


class MisfitError(Exception):
    """Raised while a row is worked, where it cannot go on; `misfit` says why."""

    def __init__(self, misfit: Misfit) -> None:
        """Keep the reason."""
        super().__init__(misfit.message)
        self.misfit = misfit


@dataclass(frozen=True, slots=True)
class Needle:
    """
    The live stitches, in the order in which the next row comes to them.

    `segments` are the counts between markers, `marks` the markers' names between them (one fewer).
    The first `behind` stitches were left unworked by a short row and are not worked by the next
    one. `held` are the stitches laid aside, by name, the last one last. `adrift` says that short
    rows in the round have left the start of the round.
    """

    segments: tuple[int, ...] = (0,)
    marks: tuple[str, ...] = ()
    behind: int = 0
    held: tuple[tuple[str, int], ...] = ()
    in_the_round: bool = False
    adrift: bool = False

    @property
    def total(self) -> int:
        """How many stitches are on the needle."""
        return sum(self.segments)

    @property
    def plain(self) -> bool:
        """Whether nothing but the number of stitches matters."""
        return not self.marks and not self.behind and not self.adrift

    def with_total(self, total: int) -> Needle:
        """Return a plain needle with another number of stitches."""
        return replace(self, segments=(total,), marks=(), behind=0, adrift=False)


def fixed(items: tuple[Item, ...]) -> tuple[int, int] | None:
    """Return what items take and leave, or None where that depends on the needle."""
    takes = leaves = 0
    for item in items:
        both = fixed_item(item)
        if both is None:
            return None
        takes, leaves = takes + both[0], leaves + both[1]
    return takes, leaves


def fixed_item(item: Item) -> tuple[int, int] | None:
    """Return what one item takes and leaves, or None where that depends on the needle."""
    match item:
        case Work():
            amount = one(item.amount)
            return item.stitch.takes * amount, item.stitch.leaves * amount
        case Group():
            inner = fixed(item.body)
            times = one(item.times)
            return (inner[0] * times, inner[1] * times) if inner else None
        case InStitch():
            inner = fixed(item.body)
            return (item.takes, inner[1]) if inner else None
        case BindOff():
            return (one(item.amount), 0) if item.amount is not None else None
        case CastOn() | PickUp():
            return 0, one(item.amount)
        case Hold():
            if item.parted:
                return 0, 0
            if item.which is HoldWhich.NEXT and item.amount is not None:
                return one(item.amount), 0
            return None
        case Along() | TurnWork() | TakeUp():
            return None
        case Marker() | JoinRound() | Remark():
            return 0, 0
        case _:
            assert_never(item)


def count_map(items: tuple[Item, ...]) -> CountMap | None:
    """
    Return what a row does to a plain needle's number of stitches.

    None where the row knows markers, gaps or stitches on hold: then only working it tells.
    """
    takes = leaves = 0
    for index, item in enumerate(items):
        if isinstance(item, Marker | TurnWork | Hold | TakeUp):
            return None
        both = fixed_item(item)
        if both is not None and not has_markers(item):
            takes, leaves = takes + both[0], leaves + both[1]
            continue
        stretch = _stretch(item, items[index + 1 :])
        if stretch is None:
            return None
        step, made, left = stretch
        if step <= 0:
            return NOWHERE
        rest = count_map(items[index + 1 :])
        if rest is None:
            return None
        after = rest(left)
        if after is None:
            return NOWHERE
        least = takes + left
        shift = (leaves + after) * step - made * least
        common = gcd(gcd(made, shift), step)
        return CountMap(made // common, shift // common, step // common, least, step, least % step)
    return exactly(takes, leaves)


def _stretch(item: Item, following: tuple[Item, ...]) -> tuple[int, int, int] | None:
    """Return what an elastic item takes and leaves each time and how many it leaves unworked."""
    match item:
        case Along() if not any(has_markers(inner) for inner in item.body):
            inner = fixed(item.body)
            left = _left(item.stop, following)
            return (*inner, left) if inner is not None and left is not None else None
        case BindOff() if item.amount is None:
            left = _left(item.stop, following) if item.stop is not None else 0
            return (1, 0, left) if left is not None else None
        case _:
            return None


def _left(stop: StopWork, following: tuple[Item, ...]) -> int | None:
    match stop.kind:
        case StopAt.END:
            return one(stop.left)
        case StopAt.REST:
            return needed(following)
        case StopAt.MARKER | StopAt.GAP:
            return None


def needed(following: tuple[Item, ...]) -> int:
    """Return how many stitches the items need up to the next one that depends on the needle."""
    count = 0
    for item in following:
        both = fixed_item(item)
        if both is None:
            if isinstance(item, Along | BindOff) and item.stop is not None:
                left = _left(item.stop, ())
                count += left or 0
            break
        count += both[0]
    return count


def has_markers(item: Item) -> bool:
    """Whether markers, turns or stitches on hold are in an item."""
    match item:
        case Marker() | TurnWork() | Hold() | TakeUp():
            return True
        case Group() | InStitch() | Along():
            return any(has_markers(inner) for inner in item.body)
        case _:
            return False


def net_of(items: tuple[Item, ...]) -> int | None:
    """Return by how many items change the count, wherever they end; None if that is not fixed."""
    net = 0
    for item in items:
        change = _net(item)
        if change is None:
            return None
        net += change
    return net


def _net(item: Item) -> int | None:
    match item:
        case Along():
            return 0 if net_of(item.body) == 0 else None
        case Group():
            inner = net_of(item.body)
            return None if inner is None else inner * one(item.times)
        case TakeUp():
            return None
        case InStitch() | Work() | CastOn() | BindOff() | Hold():
            both = fixed_item(item)
            return both[1] - both[0] if both is not None else None
        case _:
            both = fixed_item(item)
            return both[1] - both[0] if both is not None else 0


def needle_of(
    before: Needle,
    total: int,
    marks: list[tuple[int, str]],
    behind: int,
    held: list[tuple[str, int]],
) -> Needle:
    """Return a needle with marks at these places, like another in all else."""
    inside = [(position, name) for position, name in marks if 0 < position < total or name != GAP]
    positions = [0, *(position for position, _ in inside), total]
    segments = tuple(after - start for start, after in pairwise(positions))
    return Needle(
        segments,
        tuple(name for _, name in inside),
        behind,
        tuple(held),
        before.in_the_round,
    )


def with_marks(needle: Needle, places: tuple[int, ...], name: str) -> Needle:
    """Return the needle with marks of that name at these places, counted from its beginning."""
    position, marks = 0, [(place, name) for place in places if 0 <= place <= needle.total]
    for count, mark in zip(needle.segments, needle.marks, strict=False):
        position += count
        marks.append((position, mark))
    marks.sort(key=lambda mark: mark[0])
    edges = [0, *(place for place, _ in marks), needle.total]
    segments = tuple(after - before for before, after in pairwise(edges))
    return replace(needle, segments=segments, marks=tuple(mark for _, mark in marks))


def begun_before(needle: Needle, count: int) -> Needle:
    """
    Return a needle in the round whose rounds now begin so many stitches before they did.

    The marker where they began before stays where it is.
    """
    places, position = [(count, "")], 0
    for stitches, mark in zip(needle.segments, needle.marks, strict=False):
        position += stitches
        places.append(((position + count) % needle.total, mark))
    plain = replace(needle, segments=(needle.total,), marks=())
    for place, mark in sorted(places):
        plain = with_marks(plain, (place,), mark)
    return plain


def without_marks(needle: Needle, name: str) -> Needle:
    """Return the needle without the marks of that name."""
    segments, marks = [needle.segments[0]], []
    for count, mark in zip(needle.segments[1:], needle.marks, strict=True):
        if mark == name:
            segments[-1] += count
        else:
            segments.append(count)
            marks.append(mark)
    return replace(needle, segments=tuple(segments), marks=tuple(marks))


def without_first(needle: Needle, count: int) -> Needle:
    """Return the needle without so many stitches at its beginning."""
    segments, marks, gone = list(needle.segments), list(needle.marks), count
    while marks and gone >= segments[0]:
        gone -= segments.pop(0)
        marks.pop(0)
    segments[0] -= gone
    return replace(needle, segments=tuple(segments), marks=tuple(marks), behind=0)


def without_round_mark(needle: Needle) -> Needle:
    """
    Return the needle without markers at the beginning of the round.

    Every round begins and ends there, so "to m" means the next marker, or the round's end.
    """
    if not needle.in_the_round or not needle.marks or needle.adrift:
        return needle
    first = 1 if needle.segments[0] == 0 and needle.marks[0] != GAP else 0
    marks, segments = needle.marks[first:], needle.segments[first:]
    if marks and segments[-1] == 0 and marks[-1] != GAP:
        marks, segments = marks[:-1], segments[:-1]
    return replace(needle, segments=segments, marks=marks)


def yarn_alone(needle: Needle, item: TakeUp) -> bool:
    """Whether "rejoin yarn at left edge" is no more than that: no stitches wait anywhere."""
    waiting = needle.held or needle.behind or GAP in needle.marks
    return bool(item.yarn and needle.total) and not waiting


def by_needles(items: tuple[Item, ...]) -> bool:
    """Whether ends of needles are named, of which only the knitter knows where they are."""
    return any(
        (isinstance(item, Along) and item.stop.mark.startswith(NEEDLE))
        or (isinstance(item, Group | Along) and by_needles(item.body))
        for item in items
    )


def one(amount: tuple[int | None, ...]) -> int:
    """Return the number of an amount that is for one size."""
    if len(amount) != 1:
        raise ValueError("The row still has the numbers of several sizes.")
    return amount[0] or 0
