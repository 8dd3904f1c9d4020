"""One stitch on a small piece of fabric: what is drawn while its making is told."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import DrawnFabric
from app.drawings.piece import cast_on_row, drawn
from engine.pattern.drawn_steps import steps_of
from engine.pattern.needle import fixed
from engine.pattern.notation import Along, BindOff, Group, Work
from engine.pattern.stitches import STITCHES

if TYPE_CHECKING:
    from app.drawings.fabric import DrawnRow, Seen
    from engine.pattern.notation import Item

_BESIDE: Final = 3
"""Plain stitches on either side of the one that is shown."""
_BELOW: Final = 2
"""Plain rows below it."""


def stitch_drawn(item: Item, *, made: bool) -> DrawnFabric | None:
    """
    Return a small piece of fabric with an item in its middle; None if it makes no stitch.

    `made`: it lies on the needle already; otherwise it is what is worked now.
    """
    body = _once(item)
    taken = fixed(body)
    plain = Work(STITCHES["k"], (_BESIDE,))
    if taken is None or not any(taken):
        return None
    before = 2 * _BESIDE + taken[0]
    steps = steps_of((plain, *body, plain), before)
    if steps is None:
        return None
    rows: list[DrawnRow] = [cast_on_row(before)]
    rows += [_plain(before, number, _seen(rows[-1])) for number in range(1, _BELOW + 1)]
    working = drawn(steps.steps, _BELOW + 1, _seen(rows[-1]), right_side=True, before=before)
    count = steps.made(steps.ends[-2]) - _BESIDE
    return DrawnFabric(
        tuple(rows), working, _BESIDE + (count if made else 0), bit_first=_BESIDE, bit_count=count
    )


def _once(item: Item) -> tuple[Item, ...]:
    """Return the item as often as it has to be seen: once."""
    match item:
        case Work():
            return (replace(item, amount=(1,)),)
        case BindOff():
            return (replace(item, amount=(1,), stop=None),)
        case Group() | Along():
            return item.body
        case _:
            return (item,)


def _plain(count: int, number: int, below: tuple[Seen, ...]) -> DrawnRow:
    steps = steps_of((Work(STITCHES["k"], (count,)),), count)
    if steps is None:
        raise ValueError("A plain row can always be drawn.")
    return drawn(steps.steps, number, below, right_side=number % 2 == 1, before=count)


def _seen(row: DrawnRow) -> tuple[Seen, ...]:
    return tuple(stitch.seen for stitch in row.stitches)
