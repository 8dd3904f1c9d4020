"""What a row does to the count where markers are in it, and what happens between two rows."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern.count_map import CountMap
from engine.pattern.hands import work_as_flat
from engine.pattern.needle import (
    Misfit,
    Needle,
    count_map,
    net_of,
    without_first,
    without_round_mark,
)
from engine.pattern.notation import (
    Along,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    Remark,
    Work,
)
from engine.pattern.on_hold import REST
from engine.pattern.stitches import STITCHES
from engine.pattern.tree import (
    RowSpec,
)

if TYPE_CHECKING:
    from engine.pattern.instruction import Instruction


def work_between(needle: Needle, items: tuple[Item, ...]) -> Needle | Misfit:
    """Return the needle after what happens between two rows (the stitches are not all worked)."""
    left = _left_by_a_turn(needle, items)
    if left is not None:
        return left
    takes_all = any(isinstance(item, Hold) and item.which is not HoldWhich.NEXT for item in items)
    passed = items if takes_all else (*items, Along((_PASSED,)))
    after = work_as_flat(replace(needle, in_the_round=True), passed)
    if isinstance(after, Misfit):
        return after
    return without_round_mark(replace(after, in_the_round=needle.in_the_round))


def _left_by_a_turn(needle: Needle, items: tuple[Item, ...]) -> Needle | None:
    """Like "leave rem 18 sts on a pin" after a row that was turned: those it did not reach."""
    holds = [item for item in items if not isinstance(item, Remark)]
    match holds:
        case [Hold(which=HoldWhich.REST) | Hold(which=HoldWhich.NEXT) as hold] if needle.behind:
            if hold.amount not in {None, (needle.behind,)}:
                return None
            held = (*needle.held, (hold.name or REST, needle.behind))
            return replace(without_first(needle, needle.behind), held=held)
        case _:
            return None


def net_effect(items: tuple[Item, ...]) -> CountMap | None:
    """Return what a row with markers does to the count, if that is a fixed number; else None."""
    net = net_of(items)
    return None if net is None else CountMap(b=net, least=max(0, -net))


def all_counted(items: tuple[Item, ...]) -> bool:
    """Whether the number of loops of every stitch is known."""
    for item in items:
        match item:
            case Work():
                if not item.stitch.counted:
                    return False
            case Group() | InStitch() | Along():
                if not all_counted(item.body):
                    return False
            case _:
                continue
    return True


def only_as_set(items: tuple[Item, ...]) -> bool:
    """Whether the row says nothing but "work as set"."""
    return (
        len(items) == 1
        and isinstance(items[0], Along)
        and all(isinstance(part, Work) and part.stitch.name == "work" for part in items[0].body)
    )


def spec_of(instruction: Instruction, base: RowSpec) -> RowSpec:
    """Return a row like another with a different instruction."""
    fits = count_map(instruction.items)
    effect = fits if fits is not None else net_effect(instruction.items)
    return RowSpec(instruction, base.label, base.line, fits, effect)


def nearest_fit(fits: CountMap, count: int, where: str = "in the row") -> str:
    """Say which numbers of stitches near this one the row would fit; `where` they would lie."""
    if not fits.somewhere:
        return ""
    if fits.only is not None:
        return f"; it needs {fits.only}"
    if fits.modulus == 1:
        return f"; it needs {fits.least} or more" if count < fits.least else ""
    below = count - (count - fits.remainder) % fits.modulus
    above = below + fits.modulus
    legal = [number for number in (below, above) if number >= fits.least] or [fits.least]
    return f"; with {' or '.join(str(number) for number in legal)} {where} it would fit"


def seen_from_behind(needle: Needle) -> Needle:
    """Return the needle as it is after turning the work."""
    return replace(
        needle, segments=tuple(reversed(needle.segments)), marks=tuple(reversed(needle.marks))
    )


def times_that_fit(effect: CountMap, start: int, times: int) -> int:
    """Return how often rows can be worked before they do not fit."""
    low, high = 0, times
    while low < high:
        middle = (low + high + 1) // 2
        if effect.power(middle)(start) is not None:
            low = middle
        else:
            high = middle - 1
    return low


_PASSED = Work(STITCHES["sl"])
