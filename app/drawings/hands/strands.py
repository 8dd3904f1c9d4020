"""
What a drawn pose is made of: strands that run through space, and nothing else.

Yarn, needles, fingers and arrows are all strands: points in stitch widths (x to the right, y
upwards) with a level, the height above the paper. Where two strands cross, the one with the higher
level lies in front. A strand is smooth between its points unless it is a straight one.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final, TypeAlias

Point: TypeAlias = tuple[float, float, float]
"""x, y and level."""
_SAMPLES: Final = 7
"""Straight pieces between two points of a smooth strand."""


class Part(StrEnum):
    """What a strand is, and with that how it is drawn."""

    FABRIC = "fabric"  # rows that are done
    OLD = "old"  # the stitches of the last row, still to be worked
    NEXT = "next"  # the stitch that is worked now
    YARN = "yarn"  # the row that is being made, and the yarn to the ball
    TAIL = "tail"  # the loose end
    FULL = "full"  # the needle with the stitches to be worked
    FREE = "free"  # the needle that takes the new ones
    HOOK = "hook"  # a crochet hook or a blunt sewing needle
    HAND = "hand"
    ARROW = "arrow"


WIDTHS: Final = {
    Part.FABRIC: 0.26,
    Part.OLD: 0.26,
    Part.NEXT: 0.26,
    Part.YARN: 0.26,
    Part.TAIL: 0.26,
    Part.FULL: 0.44,
    Part.FREE: 0.44,
    Part.HOOK: 0.26,
    Part.HAND: 1.0,
    Part.ARROW: 0.19,
}
"""How thick each is, in stitch widths."""
NEEDLES: Final = frozenset({Part.FULL, Part.FREE, Part.HOOK})
THREADS: Final = frozenset({Part.FABRIC, Part.OLD, Part.NEXT, Part.YARN, Part.TAIL})


@dataclass(frozen=True, slots=True)
class Strand:
    """A strand through its points, in the order in which it is followed."""

    part: Part
    points: tuple[Point, ...]
    name: str = ""
    """By which a check finds it: "row", "old", "full", "free"."""
    width: float = 0.0
    """In stitch widths; 0: as thick as its part usually is."""
    straight: bool = False

    @property
    def thick(self) -> float:
        """How thick it is drawn, in stitch widths."""
        return self.width or WIDTHS[self.part]

    def mirrored(self) -> Strand:
        """Return it the other way round, for left-handed knitters."""
        return replace(self, points=tuple((-x, y, level) for x, y, level in self.points))

    def from_behind(self) -> Strand:
        """Return it as it is seen from the other side of the work."""
        return replace(self, points=tuple((-x, y, -level) for x, y, level in self.points))


@dataclass(frozen=True, slots=True)
class Pose:
    """One picture of the hands at work."""

    strands: tuple[Strand, ...]

    def mirrored(self) -> Pose:
        """Return the pose as left-handed knitters see it."""
        return Pose(tuple(strand.mirrored() for strand in self.strands))

    def from_behind(self) -> Pose:
        """Return the pose as who stands opposite sees it: what was in front lies behind."""
        return Pose(tuple(strand.from_behind() for strand in self.strands))


def curve(strand: Strand) -> tuple[Point, ...]:
    """
    Return the strand as short straight pieces.

    A Catmull-Rom spline through the points; the level changes halfway between two of them.
    """
    points = strand.points
    if strand.straight or len(points) < 3:  # noqa: PLR2004 (two points are a line)
        return _halved(points)
    found: list[Point] = []
    for at in range(len(points) - 1):
        before, after = points[max(at - 1, 0)], points[min(at + 2, len(points) - 1)]
        one, two = points[at], points[at + 1]
        for step in range(_SAMPLES):
            t = step / _SAMPLES
            x, y = (_spline(before[k], one[k], two[k], after[k], t) for k in (0, 1))
            found.append((x, y, one[2] if t < 0.5 else two[2]))  # noqa: PLR2004 (halfway)
    return (*found, points[-1])


def _halved(points: tuple[Point, ...]) -> tuple[Point, ...]:
    found: list[Point] = []
    for one, two in itertools.pairwise(points):
        found.append(one)
        if one[2] != two[2]:
            x, y = (one[0] + two[0]) / 2, (one[1] + two[1]) / 2
            found += [(x, y, two[2])]
    return (*found, points[-1])


def _spline(before: float, one: float, two: float, after: float, t: float) -> float:
    return 0.5 * (
        2 * one
        + (two - before) * t
        + (2 * before - 5 * one + 4 * two - after) * t * t
        + (3 * one - before - 3 * two + after) * t * t * t
    )
