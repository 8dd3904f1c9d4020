"""
Follows the strands of a drawn pose as they are painted: where two cross, and which lies over.

It knows nothing of how a pose was made: it takes the strokes in the order of painting, finds where
their lines cross on the paper, and the one that is painted later lies over.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

from app.drawings.hands.painting import Stroke, painted
from app.drawings.hands.strands import NEEDLES, THREADS, Pose


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a strand that is followed crosses another one (or itself)."""

    along: float
    """How far along the strand, in pieces of its line."""
    other: int
    """The number of the other strand."""
    at_other: float
    over: bool
    same_level: bool
    x: float
    y: float


class Followed:
    """All crossings of a pose, by strand."""

    def __init__(self, pose: Pose) -> None:
        """Paint the pose and keep the strokes of yarn and needles."""
        self.pose = pose
        self._strokes = [
            (order, stroke)
            for order, layer in enumerate(painted(pose))
            for stroke in layer
            if stroke.part in THREADS | NEEDLES and "point" not in pose.strands[stroke.strand].name
        ]

    @cached_property
    def crossings(self) -> dict[int, list[Crossing]]:
        """The crossings of every strand in the order in which it is followed."""
        starts = self._starts()
        found: dict[int, list[Crossing]] = {}
        for number, (order, one) in enumerate(self._strokes):
            for other_order, two in self._strokes[number + 1 :]:
                for i, j, s, t, x, y in _meetings(one, two):
                    if one.strand == two.strand and _joined(one, two, x, y):
                        continue
                    here = starts[id(one)] + i + s
                    there = starts[id(two)] + j + t
                    level = one.level == two.level
                    over = order > other_order
                    found.setdefault(one.strand, []).append(
                        Crossing(here, two.strand, there, over, level, x, y)
                    )
                    found.setdefault(two.strand, []).append(
                        Crossing(there, one.strand, here, not over, level, x, y)
                    )
        return {strand: sorted(met, key=lambda c: c.along) for strand, met in found.items()}

    def _starts(self) -> dict[int, float]:
        """Return how far along its strand every stroke begins, told by the pieces before it."""
        by_strand: dict[int, list[Stroke]] = {}
        for _, stroke in self._strokes:
            by_strand.setdefault(stroke.strand, []).append(stroke)
        starts: dict[int, float] = {}
        for strand, strokes in by_strand.items():
            rest = list(strokes)
            at = 0.0
            ends = {one.line[-1] for one in rest}
            now = next(one for one in rest if one.starts or one.line[0] not in ends)
            while True:
                starts[id(now)] = at
                rest.remove(now)
                at += len(now.line) - 1
                following = [one for one in rest if one.line[0] == now.line[-1]]
                if not following:
                    if not rest:
                        break
                    following = rest[:1]  # beyond the edge of the picture: another stretch of it
                    at += 1000
                now = following[0]
            assert not rest, self.pose.strands[strand].name
        return starts

    def number(self, name: str) -> int:
        """Return the strand of that name; AssertionError if there is not just one."""
        found = [at for at, one in enumerate(self.pose.strands) if one.name == name]
        assert len(found) == 1, (name, len(found))
        return found[0]

    def met(self, strand: str, *others: str) -> list[Crossing]:
        """Return the crossings of a strand with others, in the order in which it is followed."""
        numbers = {self.number(other) for other in others}
        return [one for one in self.crossings.get(self.number(strand), []) if one.other in numbers]

    def pattern(self, strand: str, *others: str) -> str:
        """Return the crossings of a strand with others: "u" is under, "o" over."""
        return "".join("o" if one.over else "u" for one in self.met(strand, *others))


def _joined(one: Stroke, two: Stroke, x: float, y: float) -> bool:
    """Whether two pieces of one strand only meet where one begins as the other ends."""
    ends = {one.line[0], one.line[-1]} & {two.line[0], two.line[-1]}
    return any(abs(x - end[0]) + abs(y - end[1]) < 1e-6 for end in ends)


@cache
def _box(stroke: Stroke) -> tuple[float, float, float, float]:
    xs, ys = zip(*stroke.line, strict=True)
    return min(xs), max(xs), min(ys), max(ys)


def _meetings(one: Stroke, two: Stroke) -> list[tuple[int, int, float, float, float, float]]:
    a_box, b_box = _box(one), _box(two)
    if a_box[1] < b_box[0] or b_box[1] < a_box[0] or a_box[3] < b_box[2] or b_box[3] < a_box[2]:
        return []
    found = []
    for i, (a, b) in enumerate(zip(one.line, one.line[1:], strict=False)):
        for j, (c, d) in enumerate(zip(two.line, two.line[1:], strict=False)):
            met = _meet(a, b, c, d)
            if met is not None:
                found.append((i, j, *met))
    return found


def _meet(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> tuple[float, float, float, float] | None:
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return None
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return None
    rx, ry, sx, sy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    turn = rx * sy - ry * sx
    if abs(turn) < 1e-12:
        return None
    s = ((c[0] - a[0]) * sy - (c[1] - a[1]) * sx) / turn
    t = ((c[0] - a[0]) * ry - (c[1] - a[1]) * rx) / turn
    if not (0 <= s < 1 and 0 <= t < 1):
        return None
    return s, t, a[0] + s * rx, a[1] + s * ry
