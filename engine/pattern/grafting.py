"""Stitches that are grafted, or bound off with three needles: afterwards none of them is live."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from engine.pattern.hands import work
from engine.pattern.needle import Misfit, Needle
from engine.pattern.notation import Item, Remark, TurnWork, amount_for
from engine.pattern.spelling import amount_of

if TYPE_CHECKING:
    from collections.abc import Sequence

_GRAFTED = re.compile(
    r"\b(?:graft|kitchener)\w*\b.*\b(?:sts?|stitch(?:es)?|toes?|sets|together|tog|rem)\b"
    r"|^\s*(?:with [^,;]*together[,;]? )?join\b.*\bshoulders\b.*\b(?:three|3)[- ]needle\b"
)
_TWO_SETS = re.compile(
    r"\b(?:two|both|2) (?:sets|groups|lots) of (?P<each>\d+(?: ?[(\[][^()\[\]]*[)\]])?)"
)
_SO_MANY = re.compile(
    r"\bgraft\w*(?: or (?:bo|(?:bind|cast)[ -]off))? (?:(?:the|these|all|last) )*"
    r"(?P<each>\d+(?: ?[(\[][^()\[\]]*[)\]])?) (?:live )?(?:sts|stitches)\b"
)
_REMAINING = re.compile(
    r"\brem(?:aining)?\.? (?:live )?(?P<each>\d+(?: ?[(\[][^()\[\]]*[)\]])?) "
    r"(?:live )?(?:sts|stitches)\b"
)


def grafts(words: str) -> bool:
    """Whether words (in small letters) say that the live stitches are grafted."""
    return _GRAFTED.search(words) is not None


def grafting_words(items: Sequence[Item]) -> str:
    """Return what is said of grafting after the last stitch of a row; "" if nothing is."""
    said = ""
    for item in reversed(items):
        if not isinstance(item, Remark):
            break
        said = f"{item.text} {said}".strip()
    words = said.casefold()
    return words if grafts(words) else ""


def left_to_graft(needle: Needle, items: tuple[Item, ...]) -> int | None:
    """
    Return how many stitches a row leaves at its end, or in its middle where it is folded in half.

    None where the row does not fit.
    """
    after = work(needle, items)
    if not isinstance(after, Misfit):
        return after.total
    worked = tuple(item for item in items if not isinstance(item, Remark))
    folded = work(needle, (*worked, TurnWork()))
    if isinstance(folded, Misfit) or 2 * folded.behind != folded.total:
        return None
    return folded.total


def stated_to_graft(words: str, size: int) -> int | None:
    """Return how many stitches "the two sets of 37 sts" are together; None if it does not say."""
    found = _TWO_SETS.search(words)
    sets = 2
    if found is None:
        found, sets = _REMAINING.search(words) or _SO_MANY.search(words), 1
    amount = amount_of(found["each"]) if found is not None else None
    number = amount_for(amount, size)[0] if amount is not None else None
    return None if number is None else sets * number
