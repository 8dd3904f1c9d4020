"""A drawing as values: lines, areas, curves and words in millimetres, for every form of print.

x runs to the right and y downwards. Grey values are written as on screens ("#595959"); everything
is drawn in black and greys, so that nothing is lost on a black-and-white printer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

INK = "#000000"
PAPER = "#ffffff"
SOFT = "#595959"
FAINT = "#9a9a9a"
SHADE = "#e4e4e4"


class Anchor(StrEnum):
    """Which point of a line of words is given."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class LineShape:
    """A straight line; `dash` is the length of its strokes (0: none)."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.25
    ink: str = INK
    dash: float = 0.0


@dataclass(frozen=True, slots=True)
class Area:
    """A closed outline of straight lines; empty `fill` or `ink` draws nothing."""

    points: tuple[tuple[float, float], ...]
    fill: str = ""
    ink: str = INK
    width: float = 0.25


@dataclass(frozen=True, slots=True)
class CurveShape:
    """A strand: a cubic Bezier curve through its four control points, with round ends."""

    points: tuple[
        tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]
    ]
    width: float
    ink: str = INK


@dataclass(frozen=True, slots=True)
class PathShape:
    """A line through points, bent smoothly where they lie close; `round_ends` or cut off square."""

    points: tuple[tuple[float, float], ...]
    width: float
    ink: str = INK
    round_ends: bool = True


@dataclass(frozen=True, slots=True)
class Dot:
    """A circle."""

    x: float
    y: float
    radius: float
    fill: str = ""
    ink: str = INK
    width: float = 0.25


@dataclass(frozen=True, slots=True)
class Words:
    """A line of words on the baseline `y`; `size` is the height of the type."""

    x: float
    y: float
    text: str
    size: float = 3.2
    anchor: Anchor = Anchor.MIDDLE
    bold: bool = False
    ink: str = INK


@dataclass(frozen=True, slots=True)
class Stamped:
    """A stamp of the drawing, put where the matrix (a, b, c, d, e, f) takes it.

    A point (x, y) of the stamp comes to (a x + c y + e, b x + d y + f).
    """

    stamp: str
    matrix: tuple[float, float, float, float, float, float]


Plain = LineShape | Area | CurveShape | PathShape | Dot | Words
Shape = Plain | Stamped


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing of `width` by `height` millimetres; `describes` is what it shows, in words.

    `stamps` are drawn wherever a `Stamped` names them.
    """

    width: float
    height: float
    shapes: tuple[Shape, ...]
    describes: str
    stamps: dict[str, tuple[Plain, ...]] = field(default_factory=dict)
