"""
Stitches cast on over every gap of the row before: "k to end, casting on 2 sts over each gap".

How many gaps there are only the row that bound off can tell, so the words are made into the work
itself: to the first gap, cast on, to the next one.
"""

from __future__ import annotations

import re
from dataclasses import replace

from engine.pattern.needle import one
from engine.pattern.notation import (
    BOUND_OFF,
    Along,
    BindOff,
    CastOn,
    Group,
    Item,
    Remark,
    StopAt,
    StopWork,
)

GAPS_NAMED = re.compile(
    r"\b(?:gaps?|(?:button)?holes?|openings?|(?:bound|cast|bind)[ -]?off|bo sts)\b"
)
"""Words that say of stitches cast on that they stand where others were bound off."""
_SEVERAL = re.compile(
    r"\b(?:each|every|both|all)\b|\b(?:gaps|(?:button)?holes|openings)\b", re.IGNORECASE
)

NOT_KNOWN = "Over how many gaps this is cast on is not known; state the stitches after the row"


def cast_on_over_gaps(items: tuple[Item, ...]) -> CastOn | None:
    """Return what is cast on over gaps after working to the end; None for other rows."""
    if not any(isinstance(item, CastOn) for item in items):
        return None
    work = tuple(item for item in items if not isinstance(item, Remark))
    match work:
        case (*_, Along(stop=StopWork(kind=StopAt.END, left=(0,))), CastOn() as last) if (
            GAPS_NAMED.search(last.how)
        ):
            return last
        case _:
            return None


def over_each_gap(
    items: tuple[Item, ...], bound: tuple[Item, ...], gaps: int
) -> tuple[Item, ...] | None:
    """
    Return a row with its stitches cast on over each of the gaps; None where they are not known.

    `bound` is the row before, which has left so many `gaps`. One gap leaves the row as it is.
    """
    last = cast_on_over_gaps(items)
    if last is None or gaps == 1:
        return items
    if gaps == 0:
        return None if _SEVERAL.search(last.how) else items
    if not _SEVERAL.search(last.how) and one(last.amount) == _bound_off(bound):
        return items  # all of them together
    along = next(item for item in reversed(items) if isinstance(item, Along))
    at = items.index(along)
    cast_on = replace(last, how="")
    to_gap = replace(along, stop=StopWork(StopAt.MARKER, mark=BOUND_OFF))
    return (
        *items[:at],
        *(item for _ in range(gaps) for item in (to_gap, cast_on)),
        along,
        *(item for item in items[at + 1 :] if item is not last),
    )


def _bound_off(items: tuple[Item, ...]) -> int:
    """Return how many stitches a row binds off within it, as far as its words say."""
    count = 0
    for item in items:
        if isinstance(item, BindOff) and item.amount is not None:
            count += one(item.amount)
        elif isinstance(item, Group):
            count += _bound_off(item.body) * one(item.times)
    return count
