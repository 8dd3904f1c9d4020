"""How a stitch looks: strands of plied yarn, lit from the upper left, as grey pictures to tint.

`python -m app.drawings.stitch_art FOLDER` draws the sheet of stitches anew. The running program
only loads the finished picture: it never imports this module (nor the arrays it needs).

A tile is one stitch with a margin around it, because strands reach into their neighbours: the
stitch itself fills `INNER` of the tile. Places in a tile are x from left to right and y from
bottom to top, 0..1 across the stitch itself.
"""

from __future__ import annotations

import struct
import sys
import zlib
from pathlib import Path
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from app.drawings.sheet import (
    MARGIN_X,
    MARGIN_Y,
    NEEDLE_SHARE,
    SHEET,
    TILE,
    Tile,
)
from app.drawings.strands import STRANDS, Strand

Floats: TypeAlias = npt.NDArray[np.float64]

_FINE: Final = 3  # every pixel is made of 3 x 3 samples
_LIGHT: Final = np.array([-0.42, 0.58, 0.70])  # towards the lamp: from the upper left
_PLY_EVERY: Final = 0.30  # one turn of the ply per this much of strand, in stitch widths
_PLY_LEAN: Final = 0.16  # how far a ply runs along the strand from edge to edge
_ASPECT: Final = (TILE * (1 - 2 * MARGIN_Y)) / (TILE * (1 - 2 * MARGIN_X))


def tile_picture(tile: Tile) -> Floats:
    """Return a tile as (height, width, 2): brightness and opacity in 0..1, top row first."""
    rows, columns = TILE * _FINE, TILE * _FINE
    across = (np.arange(columns) + 0.5) / columns
    upward = 1 - (np.arange(rows) + 0.5) / rows
    x = (across - MARGIN_X) / (1 - 2 * MARGIN_X)
    y = (upward - MARGIN_Y) / (1 - 2 * MARGIN_Y) * _ASPECT
    grid_x, grid_y = np.meshgrid(x, y)
    bright, opaque = np.zeros_like(grid_x), np.zeros_like(grid_x)
    if tile is Tile.GROUND:
        # The shadow between the strands: without it one would see through the fabric.
        bright += 0.40
        sides = np.clip(np.minimum(grid_x, 1 - grid_x) / 0.04 + 1, 0, 1)
        ends = np.clip(np.minimum(grid_y + 0.1, _ASPECT + 0.1 - grid_y) / 0.04, 0, 1)
        opaque = sides * ends
    elif tile in {Tile.SHAFT, Tile.TIP}:
        bright, opaque = _needle(grid_x, grid_y, tip=tile is Tile.TIP)
    for strand in STRANDS.get(tile, ()):
        strand_bright, strand_opaque = _draw(strand, grid_x, grid_y)
        # What lies over something else throws a soft shadow on it.
        bright = strand_bright * strand_opaque + bright * (1 - strand_opaque)
        opaque = strand_opaque + opaque * (1 - strand_opaque)
    picture = np.stack([bright, opaque], axis=-1)
    fine = picture.reshape(TILE, _FINE, TILE, _FINE, 2)
    whole_opaque = fine[..., 1].mean(axis=(1, 3))
    weighted = (fine[..., 0] * fine[..., 1]).mean(axis=(1, 3))
    whole_bright = np.divide(
        weighted, whole_opaque, out=np.full_like(weighted, 0.5), where=whole_opaque > 0
    )
    return np.stack([whole_bright, whole_opaque], axis=-1)


def _draw(strand: Strand, grid_x: Floats, grid_y: Floats) -> tuple[Floats, Floats]:
    """Return brightness and opacity of one strand on a grid, in stitch widths."""
    t = np.linspace(0, 1, 90)
    curve = _bezier(np.array(strand.points), t)
    curve[:, 1] *= _ASPECT
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    half = strand.half * (strand.thin + (1 - strand.thin) * np.sin(np.pi * t) ** 0.6)
    away = np.full(grid_x.shape, np.inf)
    nearest = np.zeros(grid_x.shape, dtype=np.intp)
    for index, (px, py) in enumerate(curve):
        distance = ((grid_x - px) ** 2 + (grid_y - py) ** 2) / half[index] ** 2
        closer = distance < away
        away[closer] = distance[closer]
        nearest[closer] = index
    radius = np.sqrt(away)
    inside = np.clip(1 - radius**2, 0, None)
    normal_x = (grid_x - curve[nearest, 0]) / half[nearest]
    normal_y = (grid_y - curve[nearest, 1]) / half[nearest]
    light = normal_x * _LIGHT[0] + normal_y * _LIGHT[1] + np.sqrt(inside) * _LIGHT[2]
    tangent = np.gradient(curve, axis=0)
    tangent /= np.hypot(tangent[:, 0], tangent[:, 1])[:, None]
    sideways = normal_x * -tangent[nearest, 1] + normal_y * tangent[nearest, 0]
    turn = (along[nearest] + _PLY_LEAN * sideways) / _PLY_EVERY
    ply = 1 - 0.16 * (0.5 + 0.5 * np.cos(2 * np.pi * turn)) ** 3
    rim = 0.72 + 0.28 * np.clip(inside * 2.2, 0, 1)
    bright = np.clip((0.60 + 0.46 * np.clip(light, -0.4, 1)) * ply * rim * strand.shade, 0, 1)
    opaque = np.clip((1 - radius) / 0.09, 0, 1)
    return bright, opaque


def _needle(grid_x: Floats, grid_y: Floats, *, tip: bool) -> tuple[Floats, Floats]:
    """Return brightness and opacity of a smooth round needle, or of its tapering tip."""
    half = NEEDLE_SHARE / 2 * _ASPECT
    taper = np.sqrt(np.clip(1 - np.clip(grid_x, 0, 1) ** 1.7, 0, 1)) if tip else 1.0
    across = (grid_y - _ASPECT / 2) / half
    share = across / np.maximum(taper, 1e-6)
    round_ = np.sqrt(np.clip(1 - share**2, 0, 1))
    shine = np.exp(-(((share - 0.45) / 0.22) ** 2))
    bright = np.clip(0.45 + 0.38 * round_ + 0.14 * share + 0.22 * shine, 0, 1)
    opaque = np.clip((taper - np.abs(across)) / 0.12, 0, 1)
    if tip:
        opaque = np.where(grid_x > 1, 0.0, opaque)
    return bright, opaque


def _bezier(points: Floats, t: Floats) -> Floats:
    """Return the points of a cubic Bezier curve at the parameters t, as (len(t), 2)."""
    weights = np.stack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3], axis=-1)
    return np.asarray(weights @ points, dtype=np.float64)


def sheet_pixels() -> npt.NDArray[np.uint8]:
    """Return the whole sheet as (height, width, 4) of red, green, blue, opacity."""
    sheet = np.zeros((SHEET.height, SHEET.width, 4), dtype=np.uint8)
    sheet[..., :3] = 128
    for tile in Tile:
        left, top = SHEET.corner(tile)
        picture = tile_picture(tile)
        grey = np.round(picture[..., :1] * 255).astype(np.uint8)
        part = sheet[top : top + TILE, left : left + TILE]
        part[..., :3] = grey
        part[..., 3] = np.round(picture[..., 1] * 255).astype(np.uint8)
    return sheet


def png(pixels: npt.NDArray[np.uint8]) -> bytes:
    """Write pixels (height, width, 4) as a PNG (ISO/IEC 15948), losslessly."""
    height, width, _ = pixels.shape
    lines = b"".join(b"\0" + pixels[row].tobytes() for row in range(height))

    def chunk(kind: bytes, body: bytes) -> bytes:
        check = zlib.crc32(kind + body)
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)

    header = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(lines, 9))
        + chunk(b"IEND", b"")
    )


if __name__ == "__main__":
    Path(sys.argv[1]).joinpath("stitches.png").write_bytes(png(sheet_pixels()))
