"""
Small pictures of places and things, as values: a piece on its needle, a skein, a story, a plan.

Each lies in a square of side 1, y upwards. Inks are named by what they are: "wool" (of the piece),
"other" and "third" (two more wools), or a role of the theme.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points, `width` thick; with `fills` the area inside them, which is convex."""

    points: tuple[Point, ...]
    ink: str
    width: float = 0.05
    fills: bool = False


Emblem = tuple[Stroke, ...]


def knitting(left: float, top: float, wide: float, tall: float, ink: str) -> Emblem:
    """Return a piece that hangs from a needle: the needle lies at `top`, the piece below it."""
    area = Stroke(
        ((left, top - tall), (left + wide, top - tall), (left + wide, top), (left, top)),
        ink,
        fills=True,
    )
    columns = max(round(wide / 0.14), 2)
    rows = max(round(tall / 0.12), 1)
    step, rise = wide / columns, tall / rows
    stitches = tuple(
        Stroke(
            (
                (left + (at + 0.08) * step, top - row * rise - rise * 0.12),
                (left + (at + 0.5) * step, top - row * rise - rise * 0.88),
                (left + (at + 0.92) * step, top - row * rise - rise * 0.12),
            ),
            "shade",
            0.018,
        )
        for row in range(rows)
        for at in range(columns)
    )
    needle = Stroke(((left - 0.09, top + 0.01), (left + wide + 0.12, top + 0.01)), "needle", 0.06)
    knob = disc(left - 0.09, top + 0.01, 0.055, "needle")
    edge = Stroke((*area.points, area.points[0]), "edge", 0.018)
    return (area, *stitches, edge, needle, knob)


def disc(x: float, y: float, radius: float, ink: str) -> Stroke:
    """Return a round spot."""
    turns = 16
    around = tuple(
        (x + radius * cos(2 * pi * at / turns), y + radius * sin(2 * pi * at / turns))
        for at in range(turns)
    )
    return Stroke(around, ink, fills=True)


def _oval(x: float, y: float, wide: float, tall: float, ink: str, width: float) -> Stroke:
    turns = 28
    around = tuple(
        (x + wide * cos(2 * pi * at / turns), y + tall * sin(2 * pi * at / turns))
        for at in range(turns + 1)
    )
    return Stroke(around, ink, width)


def _skein(x: float, y: float, size: float, ink: str) -> Emblem:
    """Return a twisted skein with its band, lying."""
    hank = Stroke(
        tuple(
            (x + size * 0.5 * cos(2 * pi * at / 28), y + size * 0.27 * sin(2 * pi * at / 28))
            for at in range(28)
        ),
        ink,
        fills=True,
    )
    twists = tuple(
        Stroke(
            (
                (x + size * (0.1 * at - 0.09), y - size * 0.2),
                (x + size * (0.1 * at + 0.0), y),
                (x + size * (0.1 * at + 0.09), y + size * 0.2),
            ),
            "shade",
            0.02,
        )
        for at in (-3.4, -2.4, -1.4, 1.4, 2.4, 3.4)
    )
    wide, tall = size * 0.1, size * 0.285
    band = Stroke(
        ((x - wide, y - tall), (x + wide, y - tall), (x + wide, y + tall), (x - wide, y + tall)),
        "tape",
        fills=True,
    )
    edge = Stroke((*band.points, band.points[0]), "edge", 0.018)
    return (hank, *twists, _oval(x, y, size * 0.5, size * 0.27, "edge", 0.018), band, edge)


def _needles() -> Emblem:
    one = Stroke(((0.14, 0.2), (0.86, 0.72)), "needle", 0.07)
    other = Stroke(((0.86, 0.2), (0.14, 0.72)), "needle", 0.07)
    return (one, other, disc(0.12, 0.185, 0.075, "needle"), disc(0.88, 0.185, 0.075, "needle"))


def _story() -> Emblem:
    """Return a page on which the length grows, with a reading at each bend."""
    marks = ((0.2, 0.3), (0.4, 0.42), (0.6, 0.62), (0.82, 0.78))
    return (
        Stroke(((0.1, 0.9), (0.1, 0.16), (0.94, 0.16)), "edge", 0.04),
        Stroke(marks, "wool", 0.06),
        *(disc(x, y, 0.065, "edge") for x, y in marks),
    )


def _plan() -> Emblem:
    """Return an outline with a measure along two of its sides."""
    return (
        Stroke(((0.3, 0.3), (0.86, 0.3), (0.86, 0.86), (0.3, 0.86)), "wool", fills=True),
        Stroke(((0.3, 0.3), (0.86, 0.3), (0.86, 0.86), (0.3, 0.86), (0.3, 0.3)), "edge", 0.03),
        *_arrow((0.3, 0.14), (0.86, 0.14)),
        *_arrow((0.14, 0.3), (0.14, 0.86)),
    )


def _arrow(start: Point, end: Point) -> Emblem:
    flat = start[1] == end[1]
    along = (0.09, 0.0) if flat else (0.0, 0.09)
    side = (0.0, 0.06) if flat else (0.06, 0.0)
    tips = tuple(
        Stroke(
            (
                (at_x + sign * along[0] + side[0], at_y + sign * along[1] + side[1]),
                (at_x, at_y),
                (at_x + sign * along[0] - side[0], at_y + sign * along[1] - side[1]),
            ),
            "edge",
            0.04,
        )
        for (at_x, at_y), sign in ((start, 1), (end, -1))
    )
    return (Stroke((start, end), "edge", 0.04), *tips)


def _pattern() -> Emblem:
    page = ((0.18, 0.08), (0.82, 0.08), (0.82, 0.94), (0.18, 0.94))
    side = 0.13
    squares = tuple(
        Stroke(((x, y), (x + side, y), (x + side, y + side), (x, y + side)), "wool", fills=True)
        for row in range(3)
        for at in range(3)
        if (row + at) % 2 == 0
        for x, y in [(0.29 + at * side, 0.17 + row * side)]
    )
    lines = tuple(Stroke(((0.29, y), (0.71, y)), "edge", 0.035) for y in (0.82, 0.72, 0.62))
    return (
        Stroke(page, "page", fills=True),
        Stroke((*page, page[0]), "edge", 0.03),
        *squares,
        *lines,
    )


def _hours() -> Emblem:
    return (
        _oval(0.5, 0.5, 0.36, 0.36, "edge", 0.05),
        Stroke(((0.5, 0.74), (0.5, 0.5), (0.66, 0.42)), "edge", 0.05),
    )


def _box() -> Stroke:
    return Stroke(((0.14, 0.14), (0.86, 0.14), (0.86, 0.86), (0.14, 0.86), (0.14, 0.14)), "edge",
                  0.05)  # fmt: skip


EMBLEMS: Final[Mapping[str, Emblem]] = {
    "board": knitting(0.2, 0.82, 0.58, 0.66, "wool"),
    "pieces": (
        *knitting(0.12, 0.88, 0.22, 0.3, "other"),
        *knitting(0.64, 0.88, 0.22, 0.44, "third"),
        *knitting(0.38, 0.5, 0.24, 0.4, "wool"),
    ),
    "begin": (*_skein(0.5, 0.66, 0.84, "wool"), Stroke(((0.1, 0.2), (0.92, 0.3)), "needle", 0.06),
              disc(0.1, 0.2, 0.06, "needle")),
    "story": _story(),
    "pattern": _pattern(),
    "plan": _plan(),
    "skein": _skein(0.5, 0.5, 0.94, "wool"),
    "needles": _needles(),
    "hours": _hours(),
    "open": (_box(), ),
    "ticked": (_box(), Stroke(((0.26, 0.52), (0.44, 0.32), (0.8, 0.8)), "edge", 0.1)),
}  # fmt: skip
"""The pictures by name."""
