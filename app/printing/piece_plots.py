"""Pieces one beside another, drawn: a trait with its tolerance, and the chart of one maker."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.printing.shapes import (
    FAINT,
    INK,
    PAPER,
    SHADE,
    SOFT,
    Anchor,
    Area,
    Dot,
    Drawing,
    LineShape,
    Words,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.printing.shapes import Shape

_WIDE: Final = 170.0
_HIGH: Final = 42.0
_LEFT: Final = 24.0
_TOP: Final = 9.0
_FOOT: Final = 7.0
_TYPE: Final = 2.8
_MOST_NAMES: Final = 30
"""Of more pieces only some get their name below; all get their dot."""


def band_plot(
    title: str,
    points: Sequence[tuple[str, float, bool]],
    band: tuple[float, float, float] | None,
    write: Callable[[float], str],
) -> Drawing:
    """
    Return a dot for each piece (name, value, odd) above the band of its tolerance.

    `band` is its lower end, what is wanted, and its upper end; an odd piece is a ring.
    """
    values = [value for _, value, _ in points]
    plot = _Plot([*values, *(band or ())], len(points))
    shapes: list[Shape] = []
    if band is not None:
        low, wanted, high = band
        shapes += [plot.area(low, high), plot.level(wanted, SOFT)]
        shapes += [plot.label(low, write(low)), plot.label(high, write(high))]
    else:
        ends = dict.fromkeys((min(values), max(values)))
        shapes += [plot.label(value, write(value)) for value in ends]
    shapes += plot.frame(title)
    shapes += plot.names([name for name, _, _ in points])
    for place, (_, value, odd) in enumerate(points):
        shapes.append(plot.dot(place, value, odd=odd))
    odd_names = [f"{name} {write(value)}" for name, value, odd in points if odd]
    told = f"; odd: {', '.join(odd_names)}" if odd_names else "; none is odd"
    between = f"{write(min(values))} to {write(max(values))}"
    return plot.drawing(shapes, f"{title} of {len(points)} pieces, {between}{told}.")


def limits_plot(
    title: str,
    points: Sequence[tuple[str, float, bool]],
    limits: tuple[float | None, float, float],
    write: Callable[[float], str],
) -> Drawing:
    """Return a line through the values with its middle and limits (None: no lower one)."""
    low, centre, high = limits
    values = [value for _, value, _ in points]
    plot = _Plot([*values, centre, high, *([low] if low is not None else [0.0])], len(points))
    shapes: list[Shape] = [plot.level(centre, SOFT), plot.label(centre, write(centre))]
    for limit in (low, high):
        if limit is not None:
            shapes += [plot.level(limit, INK, dash=1.5), plot.label(limit, write(limit))]
    shapes += plot.frame(title)
    shapes += plot.names([name for name, _, _ in points])
    for place in range(len(points) - 1):
        shapes.append(
            LineShape(
                plot.x(place), plot.y(values[place]), plot.x(place + 1), plot.y(values[place + 1])
            )
        )
    shapes += [plot.dot(place, value, odd=odd) for place, (_, value, odd) in enumerate(points)]
    out = [name for name, _, odd in points if odd]
    told = f"; told: {', '.join(out)}" if out else "; none is told"
    return plot.drawing(
        shapes, f"{title}: middle {write(centre)}, upper limit {write(high)}{told}."
    )


class _Plot:
    """Where values and pieces lie on the paper."""

    def __init__(self, values: Sequence[float], pieces: int) -> None:
        low, high = min(values), max(values)
        room = (high - low) * 0.08 or max(abs(high), 1.0) * 0.05
        self.low, self.high, self.pieces = low - room, high + room, pieces

    def x(self, place: int) -> float:
        return _LEFT + (_WIDE - _LEFT - 3) * (place + 0.5) / max(self.pieces, 1)

    def y(self, value: float) -> float:
        inside = _HIGH - _TOP - _FOOT
        return _TOP + inside * (self.high - value) / (self.high - self.low)

    def area(self, low: float, high: float) -> Area:
        left, right = _LEFT, _WIDE - 3
        corners = ((left, low), (right, low), (right, high), (left, high))
        return Area(tuple((x, self.y(value)) for x, value in corners), SHADE, "")

    def level(self, value: float, ink: str, dash: float = 0.0) -> LineShape:
        at = self.y(value)
        return LineShape(_LEFT, at, _WIDE - 3, at, 0.3, ink, dash)

    def label(self, value: float, words: str) -> Words:
        return Words(_LEFT - 1.5, self.y(value) + 1, words, _TYPE, Anchor.END)

    def frame(self, title: str) -> list[Shape]:
        foot = _HIGH - _FOOT
        return [
            Words(0, 4.2, title, 3.4, Anchor.START, bold=True),
            LineShape(_LEFT, foot, _WIDE - 3, foot, 0.2, FAINT),
            LineShape(_LEFT, _TOP, _LEFT, foot, 0.2, FAINT),
        ]

    def names(self, names: Sequence[str]) -> list[Shape]:
        every = -(-len(names) // _MOST_NAMES) or 1
        return [
            Words(self.x(place), _HIGH - 2.5, name, 2.4, ink=SOFT)
            for place, name in enumerate(names)
            if place % every == 0
        ]

    def dot(self, place: int, value: float, *, odd: bool) -> Dot:
        x, y = self.x(place), self.y(value)
        return Dot(x, y, 1.6, PAPER, INK, 0.7) if odd else Dot(x, y, 0.9, INK, INK)

    def drawing(self, shapes: Sequence[Shape], describes: str) -> Drawing:
        return Drawing(_WIDE, _HIGH, tuple(shapes), describes)
