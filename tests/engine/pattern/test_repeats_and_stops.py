"""Every way of repeating with every way of stopping: never another count than the words say.

40 stitches, a row that takes two of them, and "until 20 sts remain" or "9 times more" in a hundred
wordings (common practice, no source): 20 stitches, or it is refused, or it asks.
"""

from __future__ import annotations

import json
from collections import Counter

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern

ROW = "k1, ssk, k to last 3 sts, k2tog, k1"
FLAT = (
    "Rep rows 1 and 2", "Rep rows 1-2", "Rep last 2 rows", "Repeat these two rows",
    "Work rows 1 and 2", "Dec 1 st at each end of every RS row", "Dec in this way on every RS row",
    "Cont to dec in this way every RS row", "Repeat them", "Rep row 1 every RS row",
)  # fmt: skip
NAMED = (
    "Rep dec row every RS row", "Rep dec row every other row", "Rep this dec row every 2nd row",
    "Repeat the dec row every foll alt row", "Cont to dec every other row",
    "Dec as set every RS row",
)  # fmt: skip
ROUND = ("Rep rnds 1 and 2", "Repeat the last 2 rounds", "Rep these 2 rnds")
STOPS = (
    "until 20 sts rem", "until 20 stitches remain", "until there are 20 sts", "to 20 sts",
    "until 20 sts are left", "until only 20 sts remain", "until 20 sts remain on the needle",
    "9 times more", "9 more times", "another 9 times", "nine times more", "9 times. 20 sts",
    "10 times in all. 20 sts", "until 20 sts rem. 20 sts",
)  # fmt: skip
BEGUN = {
    "flat": ([f"Row 1 (RS): {ROW}", "Row 2: p"], FLAT),
    "named": ([f"Dec row (RS): {ROW}", "Next row: p"], NAMED),
    "round": (["Join in the round, pm for beg of rnd", f"Rnd 1: {ROW}", "Rnd 2: k"], ROUND),
    "marked": (["Join in the round", f"Rnd 1: {ROW}, sm", "Rnd 2: k to end, sm"], ROUND),
}


def left(lines: list[str]) -> int | str:
    """Return the stitches after the last line, or how it was not counted."""
    rows = ", ".join(map(json.dumps, lines))
    document = read_pattern(f"title = 'x'\ncast_on = 40\nrows = [{rows}]", row_reader())
    if not isinstance(document, PatternDocument):
        return "refused"
    (verdict,) = document.check()
    if not verdict.ok:
        return "asks"
    return verdict.counts[-1].stitches or "unknown"


@pytest.mark.parametrize("kind", BEGUN)
def test_no_repeat_is_counted_wrongly(kind: str) -> None:
    """Each combination leaves twenty stitches, or says that it cannot tell; most are counted."""
    begun, repeats = BEGUN[kind]
    found = {
        f"{again} {stop}": left([*begun, f"{again} {stop}."]) for again in repeats for stop in STOPS
    }
    assert {
        words: count for words, count in found.items() if count not in {20, "refused", "asks"}
    } == {}
    assert Counter(found.values())[20] >= 0.9 * len(found)
