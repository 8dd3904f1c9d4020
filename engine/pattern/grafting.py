"""Stitches that are grafted, or bound off with three needles: afterwards none of them is live."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from engine.pattern.hands import work
from engine.pattern.needle import Misfit, Needle
from engine.pattern.notation import Item, Remark, Turn, amount_for
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


def can_be_grafted(needle: Needle, items: tuple[Item, ...]) -> bool:
    """Whether a row ends at the end of the needle, or in its middle, folded in half."""
    if not isinstance(work(needle, items), Misfit):
        return True
    worked = tuple(item for item in items if not isinstance(item, Remark))
    folded = work(needle, (*worked, Turn()))
    return not isinstance(folded, Misfit) and 2 * folded.behind == folded.total


def stated_to_graft(words: str, size: int) -> int | None:
    """Return how many stitches "the two sets of 37 sts" are together; None if it does not say."""
    found = _TWO_SETS.search(words)
    sets = 2
    if found is None:
        found, sets = _REMAINING.search(words), 1
    amount = amount_of(found["each"]) if found is not None else None
    number = amount_for(amount, size)[0] if amount is not None else None
    return None if number is None else sets * number
