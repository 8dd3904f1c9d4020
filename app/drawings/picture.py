"""The picture of a fabric as values: tiles between corners, needles and row numbers; no Kivy here.

Lengths are in stitch widths; y = 0 is the top of the last row done, x = 0 the middle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias, cast

from app.drawings.sheet import PLACES, Tile

if TYPE_CHECKING:
    from collections.abc import Iterable


class Ink(StrEnum):
    """In which colour a part of the picture is drawn."""

    WOOL = "wool"
    IDLE = "idle"  # stitches that are not worked in this row
    FRESH = "fresh"  # stitches of the working row that are already worked
    NOW = "now"  # planned stitches of the bit that is worked now
    PLANNED = "planned"
    HINT = "hint"


Corners: TypeAlias = tuple[float, float, float, float, float, float, float, float]


@dataclass(frozen=True, slots=True)
class Quad:
    """A tile between four corners: lower left, lower right, upper right, upper left."""

    tile: Tile
    ink: Ink
    corners: Corners
    """x and y of each corner; y = 0 is the top of the last row done, x = 0 the middle."""
    colour: str = ""


@dataclass(frozen=True, slots=True)
class RowMark:
    """Where the number of a row stands: `x` is the edge of the fabric at which the row begins."""

    number: int
    x: float
    y: float
    at_right: bool
    ink: Ink
    text: str
    """What is written there: "12", "12 A B"."""


@dataclass(frozen=True, slots=True)
class DrawnNeedle:
    """A needle from its far end to its tip, in stitch widths."""

    end_x: float
    end_y: float
    tip_x: float
    tip_y: float


@dataclass(frozen=True)
class Strip:
    """Quads of one row in one ink and yarn, in drawing order, as if its foot were at y = 0."""

    quads: tuple[Quad, ...]
    ink: Ink
    colour: str = ""

    @cached_property
    def vertices(self) -> tuple[list[float], list[int]]:
        """The quads as a mesh: x, y, and the place on the sheet, of four corners each."""
        return mesh(self.quads)


@dataclass(frozen=True, slots=True)
class Picture:
    """
    Everything drawn; `needles` lie over the strips and under the loops.

    `strips` are drawn in their order, each raised by the height beside it.
    """

    strips: tuple[tuple[Strip, float], ...]
    loops: tuple[Quad, ...]
    needles: tuple[DrawnNeedle, ...]
    marks: tuple[RowMark, ...]
    bit: tuple[float, float] | None
    """From where to where the bit that is worked now reaches."""
    work_x: float
    """Where the next stitch is worked."""
    top: float
    bottom: float
    left: float
    right: float
    columns: tuple[tuple[float, ...], ...] = ()
    """The middle of every stitch of the rows done, from the lowest one."""

    @property
    def quads(self) -> tuple[Quad, ...]:
        """Every quad of the strips where it is drawn."""
        return tuple(raised(quad, y) for strip, y in self.strips for quad in strip.quads)


def raised(quad: Quad, by: float) -> Quad:
    """Return a quad so much higher up."""
    corners = tuple(value + (by if at % 2 else 0.0) for at, value in enumerate(quad.corners))
    return replace(quad, corners=cast("Corners", corners))


def mesh(quads: Iterable[Quad]) -> tuple[list[float], list[int]]:
    """Return quads as vertices (x, y, place across and down the sheet) and corners of triangles."""
    vertices: list[float] = []
    indices: list[int] = []
    for at, quad in enumerate(quads):
        left, right, top, bottom = PLACES[quad.tile]
        x0, y0, x1, y1, x2, y2, x3, y3 = quad.corners
        vertices += (x0, y0, left, bottom, x1, y1, right, bottom)
        vertices += (x2, y2, right, top, x3, y3, left, top)
        first = 4 * at
        indices += (first, first + 1, first + 2, first, first + 2, first + 3)
    return vertices, indices
