"""
Crossings of stitches, by their usual names: which strand lies in front, and what is purled.

The names differ between designers more than other abbreviations do. Those read here ("C4F", "T3B",
"2/2 LC", "2/1 RPC", "2/1/2 RPC", "RT") have one common meaning; where a name leaves open how many
stitches cross how many, the halves are taken (common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache


@dataclass(frozen=True, slots=True)
class Crossing:
    """
    The first `moved` stitches wait on another needle while the `other` ones are worked.

    `front`: they wait in front, so that they cross to the left over the others; otherwise at the
    back. `middle` stitches between the strands are worked where they are, behind both. `purl`: the
    strand behind, or the middle where there is one, is purled; what lies in front is always knit.
    """

    moved: int
    other: int
    front: bool
    middle: int = 0
    purl: bool = False

    @property
    def width(self) -> int:
        """How many stitches it takes and leaves."""
        return self.moved + self.middle + self.other

    @property
    def purls(self) -> tuple[bool, bool, bool]:
        """Whether the others, the middle and the stitches that waited are purled, as worked."""
        if self.middle:
            return False, self.purl, False
        return self.purl and self.front, False, self.purl and not self.front


_NAME = re.compile(
    r"(?:(?P<kind>cr|c|t|tw|cable) ?(?P<all>\d+) ?(?P<way>front|back|left|right|[lrfb])?(?P<p>p)?"
    r"|(?P<first>\d+)/(?:(?P<middle>\d+)/)?(?P<second>\d+) ?(?P<side>[lr])(?P<letters>[a-z]{0,3})"
    r"|(?P<turn>[lr])t)",
    re.IGNORECASE,
)


@cache
def crossing_of(name: str) -> Crossing | None:
    """Return how a crossing is worked; None if its name does not say."""
    found = _NAME.fullmatch(name)
    if found is None:
        return None
    if found["turn"]:
        return Crossing(1, 1, front=found["turn"].casefold() == "l")
    if found["first"]:
        left = found["side"].casefold() == "l"
        first, second = int(found["first"]), int(found["second"])
        middle = int(found["middle"] or 0)
        purl = "p" in found["letters"].casefold()
        # The first number is the strand in front; it is moved where that crosses to the left.
        moved, other = (first, second) if left else (second, first)
        if middle:
            moved, other = first, second
        return Crossing(moved, other, front=left, middle=middle, purl=purl)
    width, way = int(found["all"]), (found["way"] or "").casefold()[:1]
    if not way or width < 2:  # noqa: PLR2004 (one stitch crosses nothing)
        return None
    front = way in {"f", "l"}
    twist = found["kind"].casefold() == "t"
    # A twist carries knit stitches over a background of purl: of an odd number, one knit more.
    in_front = (width + twist) // 2
    moved = in_front if front else width - in_front
    purl = twist or bool(found["p"])
    return Crossing(moved, width - moved, front=front, purl=purl)
