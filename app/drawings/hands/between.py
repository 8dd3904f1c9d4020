"""
Between two poses: every strand moves from where it was to where it is.

Strands are paired by what they are, in their order. Points are laid out evenly along a strand, so
that strands of different points can be paired; the level, which says what lies in front, is that of
the pose that is nearer. What has no pair appears or leaves halfway; arrows stand only at the ends.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.drawings.hands.strands import Part, Pose, curve

if TYPE_CHECKING:
    from app.drawings.hands.strands import Point, Strand

_HALF: Final = 0.5


def between(before: Pose, after: Pose, share: float) -> Pose:
    """Return the pose at `share` (0 to 1) of the way; at both ends it is the pose itself."""
    if share <= 0:
        return before
    if share >= 1:
        return after
    eased = share * share * (3 - 2 * share)  # hands begin and end slowly
    nearer = before if share < _HALF else after
    others = {_name(one, at): one for one, at in _numbered(after if share < _HALF else before)}
    found = []
    for one, at in _numbered(nearer):
        if one.part is Part.ARROW:
            continue  # what moves needs no arrow
        other = others.get(_name(one, at))
        way = eased if share < _HALF else 1 - eased
        found.append(one if other is None else _moved(one, other, way))
    return Pose(tuple(found))


def _numbered(pose: Pose) -> list[tuple[Strand, int]]:
    seen: dict[tuple[Part, str], int] = {}
    found = []
    for one in pose.strands:
        key = (one.part, one.name)
        found.append((one, seen.get(key, 0)))
        seen[key] = seen.get(key, 0) + 1
    return found


def _name(strand: Strand, at: int) -> tuple[Part, str, int]:
    return strand.part, strand.name, at


def _moved(here: Strand, there: Strand, way: float) -> Strand:
    """Return a strand `way` of the way to another, with its own levels."""
    if here.points == there.points:
        return here
    one, two = curve(here), curve(there)
    count = max(len(one), len(two))
    ours, theirs = _even(one, count), _even(two, count)
    points = tuple(
        (x + (u - x) * way, y + (v - y) * way, level)
        for (x, y, level), (u, v, _) in zip(ours, theirs, strict=True)
    )
    return replace(here, points=points, straight=True)


def _even(line: tuple[Point, ...], count: int) -> tuple[Point, ...]:
    """Return `count` points at even distances along a line."""
    steps = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in itertools.pairwise(line)]
    along = list(itertools.accumulate(steps, initial=0.0))
    found: list[Point] = []
    at = 0
    for number in range(count):
        wanted = along[-1] * number / (count - 1)
        while at < len(steps) - 1 and along[at + 1] < wanted:
            at += 1
        t = (wanted - along[at]) / steps[at] if steps[at] else 0.0
        (x, y, low), (u, v, high) = line[at], line[at + 1]
        found.append((x + (u - x) * t, y + (v - y) * t, low if t < _HALF else high))
    return tuple(found)
