"""From a pose to strokes in the order in which they are painted: what lies behind comes first."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Final, TypeAlias

from app.drawings.hands.strands import NEEDLES, Part, curve

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.drawings.hands.strands import Point, Pose, Strand

Flat: TypeAlias = tuple[float, float]
Line: TypeAlias = tuple[Flat, ...]

LEFT: Final = -5.4
RIGHT: Final = 5.4
BOTTOM: Final = -4.0
TOP: Final = 3.2
"""What is seen of every pose, in stitch widths."""
_OVERLAP: Final = 0.06
"""So far, in stitch widths, the filling of a stroke reaches beyond its edges."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """
    A piece of a strand in one level.

    First its edges are drawn, `thick` wide with square ends, then its filling with round ends,
    which reaches a little farther, so that pieces of one strand join without a line between.
    """

    part: Part
    line: Line
    filling: Line
    thick: float
    level: float
    strand: int
    """Of which strand of the pose it is a piece."""
    starts: bool
    ends: bool
    """Whether the strand starts and ends with it: there the edge is closed."""
    cut: tuple[bool, bool] = (False, False)
    """Whether it leaves the picture at its start and at its end: there it is not rounded."""


Layer: TypeAlias = tuple[Stroke, ...]
"""Strokes that are painted as one: first the edges of all, then the fillings of all."""


def painted(pose: Pose) -> tuple[Layer, ...]:
    """Return the layers of a pose in the order of painting."""
    strokes = [stroke for at, strand in enumerate(pose.strands) for stroke in _strokes(strand, at)]
    strokes.sort(key=lambda one: one.level)
    together = groupby(enumerate(strokes), lambda one: _as_one(*one))
    return tuple(tuple(stroke for _, stroke in layer) for _, layer in together)


def _as_one(at: int, stroke: Stroke) -> tuple[float, str, int]:
    """Return what strokes have in common that are painted as one: a needle and its point."""
    return stroke.level, stroke.part, 0 if stroke.part in NEEDLES | {Part.ARROW} else at


def _strokes(strand: Strand, number: int) -> list[Stroke]:
    runs: list[list[Point]] = []
    for point in curve(strand):
        if runs and runs[-1][-1][2] == point[2]:
            runs[-1].append(point)
        elif runs:
            runs.append([(*runs[-1][-1][:2], point[2]), point])
        else:
            runs.append([point])
    found = []
    for at, run in enumerate(runs):
        line = tuple(point[:2] for point in run)
        for piece, from_start, to_end in _seen_of(line):
            first = at == 0 and from_start
            last = at == len(runs) - 1 and to_end
            filling = _longer(
                piece,
                _OVERLAP if at and from_start else 0,
                _OVERLAP if at < len(runs) - 1 and to_end else 0,
            )
            found.append(
                Stroke(
                    *(strand.part, piece, filling, strand.thick, run[0][2], number, first, last),
                    cut=(not from_start, not to_end),
                )
            )
    return found


def _seen_of(line: Line) -> Iterator[tuple[Line, bool, bool]]:
    """Return the pieces of a line within the picture, and whether each has its start and end."""
    piece: list[Flat] = []
    starts = True
    for one, two in pairwise(line):
        cut = _cut(one, two)
        if cut is None:
            continue
        if not piece:
            piece, starts = [cut[0]], cut[0] == one
        piece.append(cut[1])
        if cut[1] != two:
            yield tuple(piece), starts, False
            piece = []
    if piece:
        yield tuple(piece), starts, True


def _cut(one: Flat, two: Flat) -> tuple[Flat, Flat] | None:
    """Return the part of a straight line within the picture, if any (Liang and Barsky)."""
    from_t, to_t = 0.0, 1.0
    dx, dy = two[0] - one[0], two[1] - one[1]
    for step, room in (
        (-dx, one[0] - LEFT),
        (dx, RIGHT - one[0]),
        (-dy, one[1] - BOTTOM),
        (dy, TOP - one[1]),
    ):
        if step == 0:
            if room < 0:
                return None
        elif step < 0:
            from_t = max(from_t, room / step)
        else:
            to_t = min(to_t, room / step)
    if from_t >= to_t:
        return None

    def at(t: float, end: Flat) -> Flat:
        return end if t in {0.0, 1.0} else (one[0] + t * dx, one[1] + t * dy)

    return at(from_t, one), at(to_t, two)


def _longer(line: Line, at_start: float, at_end: float) -> Line:
    return (_beyond(line[1], line[0], at_start), *line[1:-1], _beyond(line[-2], line[-1], at_end))


def _beyond(before: Flat, end: Flat, by: float) -> Flat:
    x, y = end[0] - before[0], end[1] - before[1]
    long = max((x * x + y * y) ** 0.5, 1e-9)
    return end[0] + x / long * by, end[1] + y / long * by
