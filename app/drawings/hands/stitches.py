"""
Loops of yarn as they lie: on a needle, in the fabric, and how a row of them is one strand.

A loop is written from right to left, as a row runs that is worked from the right side. Each row's
yarn comes from between two columns, runs through the loop below, up, over and down again. Knitted,
it comes out of the loop below towards the knitter: its feet lie behind that loop's legs, its legs
before its head. Purled, it is the other way round. (Common practice, no source.)
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from app.drawings.hands.strands import Point

STEP: Final = 1.3
"""From one column to the next."""
DROP: Final = 1.0
"""From the middle of a needle down to where its loops come out of the row below."""


class Worked(StrEnum):
    """How a loop comes out of the loop below."""

    KNIT = "knit"
    PURL = "purl"


def on_needle(
    x: float,
    y: float,
    worked: Worked = Worked.KNIT,
    *,
    needle: float = 0.0,
    turned: bool = False,
    foot: tuple[float, float] | None = None,
    tall: float = 0.0,
) -> tuple[Point, ...]:
    """
    Return a loop on a needle whose middle is at (x, y) and whose level is `needle`.

    Its leg nearer to the tip of the full needle lies in front; `turned`: behind. `foot` is where it
    comes out of the row below, right under it if not given.
    """
    fx, fy = foot if foot is not None else (x, y - DROP)
    back, fore = (-1.0, 1.0) if worked is Worked.KNIT else (1.0, -1.0)
    before, behind = needle + 1, needle - 1
    right, left = (behind, before) if turned else (before, behind)
    top = y + 0.36 + tall
    return (
        (fx + STEP / 2, fy - 0.14, back),
        (fx + 0.3, fy - 0.06, back),
        (fx + 0.2, fy + 0.1, fore),
        (fx + 0.36, (fy + y) / 2 + 0.05, fore),
        (x + 0.28, y - 0.16, right),
        (x + 0.14, y + 0.2, right),
        (x - 0.04, top, right),
        (x - 0.24, y + 0.2, left),
        (x - 0.34, y - 0.16, left),
        (fx - 0.36, (fy + y) / 2 + 0.05, fore),
        (fx - 0.2, fy + 0.1, fore),
        (fx - 0.3, fy - 0.06, back),
        (fx - STEP / 2, fy - 0.14, back),
    )


def in_fabric(
    x: float, foot: float, worked: Worked = Worked.KNIT, *, head: float = 1.26
) -> tuple[Point, ...]:
    """Return a loop that hangs free, from the row below at `foot` to its head."""
    back, fore = (-1.0, 1.0) if worked is Worked.KNIT else (1.0, -1.0)
    return (
        (x + STEP / 2, foot - 0.14, back),
        (x + 0.3, foot - 0.06, back),
        (x + 0.2, foot + 0.1, fore),
        (x + 0.4, foot + 0.5, fore),
        (x + 0.4, foot + 0.85, 0.0),
        (x + 0.24, foot + head - 0.08, 0.0),
        (x, foot + head, 0.0),
        (x - 0.24, foot + head - 0.08, 0.0),
        (x - 0.4, foot + 0.85, 0.0),
        (x - 0.4, foot + 0.5, fore),
        (x - 0.2, foot + 0.1, fore),
        (x - 0.3, foot - 0.06, back),
        (x - STEP / 2, foot - 0.14, back),
    )


def joined(loops: Iterable[tuple[Point, ...]]) -> tuple[Point, ...]:
    """Return loops as one strand, each begun where the one before it ended."""
    points: list[Point] = []
    for loop in loops:
        if points:
            one, two = points.pop(), loop[0]
            points.append(((one[0] + two[0]) / 2, (one[1] + two[1]) / 2, two[2]))
            points += loop[1:]
        else:
            points += loop
    return tuple(points)
