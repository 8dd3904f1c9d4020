"""
The table of stitches: how many loops each takes from the left needle and leaves on the right.

The numbers are those of the Craft Yarn Council's list of knitting abbreviations, as three
independent glossaries explain them; they are arithmetic facts. A pattern can add stitches of its
own.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache


class Kind(StrEnum):
    """What sort of stitch it is; pictures and words go by it."""

    KNIT = "knit"
    PURL = "purl"
    SLIP = "slip"
    AS_SET = "as set"
    DECREASE = "decrease"
    INCREASE = "increase"
    YARN_OVER = "yarn over"
    CABLE = "cable"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Stitch:
    """
    A stitch by its usual abbreviation: `takes` loops from the left needle, `leaves` on the right.

    `words` says what to do, in full words, where the designer has defined the stitch; for the
    trade's stitches the words are in the phrase data. `counted` is False where the number of loops
    is not known and the row has to be taken on trust.
    """

    name: str
    takes: int
    leaves: int
    kind: Kind = Kind.OTHER
    words: str = ""
    counted: bool = True

    @property
    def net(self) -> int:
        """How many stitches it adds (below zero: takes away)."""
        return self.leaves - self.takes


def _stitches() -> dict[str, Stitch]:
    decrease, increase, yarn_over = Kind.DECREASE, Kind.INCREASE, Kind.YARN_OVER
    rows = [
        Stitch("k", 1, 1, Kind.KNIT),
        Stitch("p", 1, 1, Kind.PURL),
        Stitch("sl", 1, 1, Kind.SLIP),
        Stitch("work", 1, 1, Kind.AS_SET),
        Stitch("work as they face", 1, 1, Kind.AS_SET),
        Stitch("ssk", 2, 1, decrease),
        Stitch("ssp", 2, 1, decrease),
        Stitch("sssk", 3, 1, decrease),
        Stitch("sssp", 3, 1, decrease),
        Stitch("skp", 2, 1, decrease),
        Stitch("sk2p", 3, 1, decrease),
        Stitch("s2kp", 3, 1, decrease),
        Stitch("cdd", 3, 1, decrease),
        Stitch("cddp", 3, 1, decrease),
        Stitch("dec", 2, 1, decrease),
        Stitch("psso", 0, -1, decrease),
        Stitch("p2sso", 0, -2, decrease),
        Stitch("drop", 1, 0, decrease),
        Stitch("kfb", 1, 2, increase),
        Stitch("pfb", 1, 2, increase),
        Stitch("kfbf", 1, 3, increase),
        Stitch("pfbf", 1, 3, increase),
        Stitch("inc", 1, 2, increase),
        Stitch("yo", 0, 1, yarn_over),
        *(
            Stitch(name, 0, 1, increase)
            for name in ["m1", "m1l", "m1r", "m1p", "m1lp", "m1rp", "lli", "rli", "llip", "rlip"]
        ),
        Stitch("mb", 1, 1),
        # Brioche: the slipped stitch and the yarn over that lies on it count as one.
        Stitch("brk", 1, 1, Kind.KNIT),
        Stitch("brp", 1, 1, Kind.PURL),
        Stitch("sl1yo", 1, 1, Kind.SLIP),
        # German short rows: the stitch pulled double stays one stitch.
        Stitch("mds", 1, 1, Kind.SLIP),
        Stitch("chart", 1, 1, Kind.AS_SET, counted=False),
    ]
    return {stitch.name: stitch for stitch in rows}


STITCHES: dict[str, Stitch] = _stitches()


@cache
def together(letter: str, count: int) -> Stitch:
    """Return "knit (or purl) so many together", which leaves one."""
    return Stitch(f"{letter}{count}tog", count, 1, Kind.DECREASE)


@cache
def cable(name: str) -> Stitch:
    """Return a crossing by its name; it takes and leaves as many as the digits in it say."""
    return Stitch(name, cable_width(name), cable_width(name), Kind.CABLE)


def cable_width(name: str) -> int:
    """
    Return how many stitches a crossing needs.

    "2/2 lc" crosses two over two: four. "c6f" and "t3b" have their whole width in the name, "rt",
    "lt" and "tw2" are two.
    """
    numbers = [int(digits) for digits in "".join(c if c.isdigit() else " " for c in name).split()]
    if not numbers:
        return 2
    return sum(numbers) if "/" in name else numbers[0]
