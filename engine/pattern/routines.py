"""
The stitch patterns that every knitter knows by name, on both sides and in the round.

Which row of stockinette, garter, rib or seed stitch looks how is the trade's common knowledge; the
names are the North American ones, the British words mean the same (stocking stitch, moss stitch).
"""

from __future__ import annotations

from functools import cache

from engine.pattern.count_map import IDENTITY
from engine.pattern.instruction import Instruction
from engine.pattern.needle import count_map
from engine.pattern.notation import Along, Item, StopWork, Work
from engine.pattern.stitches import STITCHES
from engine.pattern.tree import Routine, RowSpec

AS_SET = "as set"

_KNIT = Work(STITCHES["k"])
_PURL = Work(STITCHES["p"])
_WORK = Work(STITCHES["work"])
_FACE = Work(STITCHES["work as they face"])


def along(stitch: Work) -> tuple[Item, ...]:
    """Return a row that is one stitch from end to end."""
    return (Along((stitch,)),)


@cache
def routine(name: str, *, in_the_round: bool, stitches: int | None) -> Routine:
    """
    Return the stitch pattern of that name over so many stitches (None: not known).

    A name that is not known is worked "as set". Ribs are laid so that flat pieces begin and end
    with the same rib where the number of stitches allows it.
    """
    match name.split():
        case ["stockinette"]:
            rows = [along(_KNIT)] if in_the_round else [along(_KNIT), along(_PURL)]
        case ["reverse", "stockinette"]:
            rows = [along(_PURL)] if in_the_round else [along(_PURL), along(_KNIT)]
        case ["garter"] if in_the_round:
            return Routine(name, (_spec(name, along(_KNIT)), _spec(name, along(_PURL))))
        case ["garter"] | ["knit"]:
            rows = [along(_KNIT)]
        case ["purl"]:
            rows = [along(_PURL)]
        case ["seed"]:
            return _seed(name, stitches, in_the_round=in_the_round)
        case ["rib", knits, purls]:
            rows = _rib(int(knits), int(purls), stitches, in_the_round=in_the_round)
        case _:
            return named_only(name)
    return Routine(name, tuple(_spec(name, items) for items in rows), by_side=True)


def named_only(name: str) -> Routine:
    """Return a stitch pattern of which nothing but the name is said: every row "as set"."""
    return Routine(name, (_spec(name, along(_WORK)),), by_side=True)


def _spec(name: str, items: tuple[Item, ...]) -> RowSpec:
    return RowSpec(Instruction(items, name), "", -1, count_map(items), IDENTITY)


def _seed(name: str, stitches: int | None, *, in_the_round: bool) -> Routine:
    pair: tuple[Item, ...] = (_KNIT, _PURL)
    turned: tuple[Item, ...] = (_PURL, _KNIT)
    if stitches is not None and stitches % 2 and not in_the_round:
        # Over an odd number every row begins and ends with a knit stitch.
        row: tuple[Item, ...] = (Along(pair, StopWork(left=(1,)), star=True), _KNIT)
        return Routine(name, (_spec(name, row),), by_side=True)
    first, second = (Along(pair, star=True),), (Along(turned, star=True),)
    return Routine(name, (_spec(name, first), _spec(name, second)))


def _rib(
    knits: int, purls: int, stitches: int | None, *, in_the_round: bool
) -> list[tuple[Item, ...]]:
    knit, purl = Work(STITCHES["k"], (knits,)), Work(STITCHES["p"], (purls,))
    if in_the_round:
        return [(Along((knit, purl), star=True),)]
    if stitches is not None and stitches % (knits + purls) == knits:
        right: tuple[Item, ...] = (Along((knit, purl), StopWork(left=(knits,)), star=True), knit)
        back, forth = Work(STITCHES["p"], (knits,)), Work(STITCHES["k"], (purls,))
        wrong: tuple[Item, ...] = (Along((back, forth), StopWork(left=(knits,)), star=True), back)
        return [right, wrong]
    right = (Along((knit, purl), star=True),)
    back, forth = Work(STITCHES["k"], (purls,)), Work(STITCHES["p"], (knits,))
    return [right, (Along((back, forth), star=True),)]
