"""The window's icon: the strokes of the icon's SVG as a picture of points.

`python -m app.drawings.icon_art assets` draws icon.png there from icon.svg. The running program
only loads the finished picture: it never imports this module (nor the arrays it needs). It reads
what our own SVG is made of: rounded rectangles, and paths of one M and relative c, drawn as strokes
with round ends (Scalable Vector Graphics 2, "Paths").
"""

from __future__ import annotations

import re
import sys
from itertools import pairwise
from pathlib import Path
from typing import Final, TypeAlias
from xml.etree.ElementTree import Element, fromstring

import numpy as np
import numpy.typing as npt

from app.drawings.stitch_art import png

Floats: TypeAlias = npt.NDArray[np.float64]

SIDE: Final = 256
"""Pixels of a side: what X11's and Wayland's desktops take and make smaller."""
_BOX: Final = 256.0  # the side of the SVG
_PIECES: Final = 24  # straight pieces of a curve
_SVG: Final = "{http://www.w3.org/2000/svg}"


def icon_pixels(svg: str, side: int = SIDE) -> npt.NDArray[np.uint8]:
    """
    Return the icon as (side, side, 4): red, green, blue, opacity.

    Raises:
        ValueError: the SVG has a path of another kind.

    """
    scale = side / _BOX
    steps = (np.arange(side) + 0.5) / scale
    x, y = np.meshgrid(steps, steps)
    colour, opaque = np.zeros((side, side, 3)), np.zeros((side, side))
    for shape in fromstring(svg):  # noqa: S314 (our own file)
        if shape.tag == f"{_SVG}rect":
            away, ink = _from_rectangle(shape, x, y), shape.attrib["fill"]
        elif shape.tag == f"{_SVG}path":
            away, ink = _from_stroke(shape, x, y), shape.attrib["stroke"]
        else:
            continue
        covered = np.clip(0.5 - away * scale, 0, 1)
        after = covered + opaque * (1 - covered)
        rgb = np.array([int(ink[at : at + 2], 16) for at in (1, 3, 5)], dtype=np.float64)
        mixed = rgb * covered[..., None] + colour * (opaque * (1 - covered))[..., None]
        colour = mixed / np.maximum(after, 1e-9)[..., None]
        opaque = after
    whole = np.dstack((colour, opaque * 255))
    return np.rint(whole).clip(0, 255).astype(np.uint8)


def _from_rectangle(shape: Element, x: Floats, y: Floats) -> Floats:
    """Return how far each point lies outside a rectangle of round corners, less than 0 inside."""
    left, top, wide, high, round_ = (
        float(shape.attrib[name]) for name in ("x", "y", "width", "height", "rx")
    )
    across = np.abs(x - left - wide / 2) - wide / 2 + round_
    along = np.abs(y - top - high / 2) - high / 2 + round_
    corner = np.hypot(np.maximum(across, 0), np.maximum(along, 0))
    return np.asarray(corner + np.minimum(np.maximum(across, along), 0) - round_)


def _from_stroke(shape: Element, x: Floats, y: Floats) -> Floats:
    """Return how far each point lies outside a stroke with round ends, less than 0 inside."""
    written = shape.attrib["d"]
    if set(re.findall("[A-Za-z]", written)) != {"M", "c"}:
        raise ValueError(f"This path is not made of M and c: {written}")
    start, *curves = (
        [float(number) for number in re.findall(r"-?[\d.]+", part)]
        for part in re.split("[Mc]", written)[1:]
    )
    at = np.array(start)
    nearest = np.full_like(x, np.inf)
    for curve in curves:
        one, two, end = at + np.array(curve).reshape(3, 2)
        t = np.linspace(0, 1, _PIECES + 1)[:, None]
        points = (1 - t) ** 3 * at + 3 * (1 - t) ** 2 * t * one
        points = points + 3 * (1 - t) * t**2 * two + t**3 * end
        for (ax, ay), (bx, by) in pairwise(points):
            dx, dy = bx - ax, by - ay
            share = np.clip(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0, 1)
            nearest = np.minimum(nearest, np.hypot(x - ax - share * dx, y - ay - share * dy))
        at = end
    return nearest - float(shape.attrib["stroke-width"]) / 2


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    drawn = icon_pixels(folder.joinpath("icon.svg").read_text(encoding="utf-8"))
    folder.joinpath("icon.png").write_bytes(png(drawn))
