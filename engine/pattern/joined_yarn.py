"""What "rejoin yarn" means within a row where no stitches are named with it."""

from __future__ import annotations

from engine.pattern.notation import Item, Remark, TakeUp


def only_yarn(item: TakeUp) -> bool:
    """Whether "rejoin yarn" names no stitches: others may be taken up beside it."""
    return item.amount is None and not item.name and not item.beside


def taken_next(following: tuple[Item, ...]) -> bool:
    """Whether the next thing in the row is to take up stitches that are named."""
    item = next((one for one in following if not isinstance(one, Remark)), None)
    return isinstance(item, TakeUp) and item.beside and item.amount is not None
