"""Wraps that make stitches long are let go on the next row; counted yarn overs are not."""

from __future__ import annotations

import re

from engine.pattern.needle import net_of
from engine.pattern.notation import Item, Remark

DROPPED_UNCOUNTED = "The extra wraps were counted as yarn overs; write 'k1, drop 2' for each"
_DROPS = re.compile(
    r"\b(?:dropping|letting|allowing)\b.*\b(?:extra|wraps?|loops?)\b", re.IGNORECASE
)


def drops_yarn_overs(items: tuple[Item, ...], last: tuple[Item, ...]) -> bool:
    """Whether a row lets "extra wraps" go that the row before it has counted as yarn overs."""
    said = any(isinstance(item, Remark) and _DROPS.search(item.text) for item in items)
    return said and net_of(last) != 0
