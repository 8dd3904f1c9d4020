"""
How high a row can be before anybody has counted rows: what stitches, yarn or needle allow.

From the best that is known: stitches that she counted, the gauge that the pattern states, the yarn
category that it names, the needle she named.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from engine.facts.needles import needle_at
from engine.facts.stated_gauge import read_stated_gauge
from engine.facts.swatches import in_use
from engine.plan.gauge import TEN_CM
from engine.quantities import LengthUnit, parse_length

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

YARN_CATEGORIES: Final = (
    (33, 40, 1.5, 2.25, "lace"),
    (27, 32, 2.25, 3.25, "sock|super fine"),
    (23, 26, 3.25, 3.75, "sport|fine"),
    (21, 24, 3.75, 4.5, "dk|double knitting|light worsted|light"),
    (16, 20, 4.5, 5.5, "worsted|afghan|aran|medium"),
    (12, 15, 5.5, 8.0, "chunky|craft|rug|bulky"),
    (7, 11, 8.0, 12.75, "super bulky"),
    (4, 6, 12.75, 25.0, "jumbo"),
)
"""
Fewest and most stitches to 4 in, needles in mm and names, by category, 0 to 7.

Standard Yarn Weight System of the Craft Yarn Council, as in `shared/tables/yarn_categories.toml`;
category 7 has no lower end there, 4 is common practice. "Fingering" is in two of them and in none
here.
"""
_NUMBERED: Final = re.compile(r"\bcategory\s*([0-7])\b", re.IGNORECASE)
_ROWS_OF_A_STITCH: Final = (1.2, 2.1)
"""Rows over stitches: 1.3 to 1.5 in stockinette, 2 in garter (common practice, no source)."""
_OFF: Final = 0.05
"""One in twenty more or fewer stitches is still that yarn (common practice, no source)."""


def row_heights(state: PieceState, course: Course) -> tuple[float, float] | None:
    """Return the lowest and the highest row in cm that can be meant; None if nothing is known."""
    found = _stitches(state, course)
    if found is None:
        return None
    fewest, most = found
    low, high = _ROWS_OF_A_STITCH
    return 10 / (most * (1 + _OFF) * high), 10 / (fewest * (1 - _OFF) * low)


def _stitches(state: PieceState, course: Course) -> tuple[float, float] | None:
    """Return fewest and most stitches to 10 cm."""
    for one in in_use(state):
        if one.stitches is not None:
            counted = float(one.stitches.per(TEN_CM))
            return counted, counted
    stated = read_stated_gauge(course.gauge)
    if stated is not None and stated.stitches_per_10cm is not None:
        stitches = float(stated.stitches_per_10cm)
        return stitches, stitches
    category = _category(course.yarn)
    if category is not None:
        fewest, most, *_ = YARN_CATEGORIES[category]
        return float(fewest), float(most)
    needle = parse_length(needle_at(state, state.done))
    if needle is None or needle.unit is not LengthUnit.MM:
        return None
    size = float(needle.value)
    fits = [one for one in YARN_CATEGORIES if one[2] <= size <= one[3]]
    if not fits:
        return None
    # On one needle people knit the yarn next to it, too: a firm sole, an airy shawl.
    places = [YARN_CATEGORIES.index(one) for one in fits]
    near = YARN_CATEGORIES[max(0, min(places) - 1) : max(places) + 2]
    return float(min(one[0] for one in near)), float(max(one[1] for one in near))


def _category(yarn: str) -> int | None:
    """Return the category that a pattern's line on yarn names, by number or else by name."""
    numbered = _NUMBERED.search(yarn)
    if numbered is not None:
        return int(numbered[1])
    named = [
        (len(word), place)
        for place, (*_, words) in enumerate(YARN_CATEGORIES)
        for word in words.split("|")
        if re.search(rf"\b{word}\b", yarn, re.IGNORECASE)
    ]
    # The longest name wins: "super bulky" is not "bulky".
    return max(named)[1] if named else None
