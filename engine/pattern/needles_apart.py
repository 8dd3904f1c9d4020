"""
Rounds that are said needle by needle: "N1: k2, pm, m1, pm, k to end of needle; N2: knit".

Where a needle ends is not known: the knitter spreads the stitches as she likes. What is worked
before the first such end is known from the beginning of the round, what is worked after the last
from its end; between them stitches may only be passed.
"""

from __future__ import annotations

from engine.pattern.needle import Misfit, Needle, fixed, has_markers, net_of
from engine.pattern.notation import NEEDLE, Along, Item, StopAt, StopWork, Work
from engine.pattern.problems import too_few
from engine.pattern.stitches import STITCHES


def with_needles_joined(items: tuple[Item, ...]) -> tuple[Item, ...] | None:
    """Return the round with all that is between its needles' ends passed; None if it is shaped."""
    ends = [index for index, item in enumerate(items) if _to_end_of_needle(item)]
    if not ends:
        return None
    before, between, after = items[: ends[0]], items[ends[0] : ends[-1] + 1], items[ends[-1] + 1 :]
    wanted = fixed(after)
    if wanted is None or net_of(between) != 0 or any(map(has_markers, between)):
        return None
    left = 0 if after else _left_by(items[ends[-1]])
    passed = Along((Work(STITCHES["sl"]),), StopWork(StopAt.END, (wanted[0] + left,)))
    return (*before, passed, *after)


def counted_only(needle: Needle, items: tuple[Item, ...]) -> Needle | Misfit:
    """Return the needle after a round of which only the number of stitches is known."""
    net = net_of(items)
    if net is None:
        return Misfit(None, "Say how many stitches each needle has", items[0].at)
    total = needle.total + net
    if total < 0:
        return Misfit(total, too_few(-total, needle.total), items[0].at)
    return needle.with_total(total)


def _to_end_of_needle(item: Item) -> bool:
    return isinstance(item, Along) and item.stop.mark.startswith(NEEDLE)


def _left_by(item: Item) -> int:
    """Return how many stitches the last needle leaves: none, or the round cannot be worked."""
    return (item.stop.left[0] or 0) if isinstance(item, Along) else 0
