"""A chart as a drawing, its signs one by one for the key, and a chart in letters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.printing.shapes import (
    INK,
    SHADE,
    SOFT,
    Anchor,
    Area,
    Dot,
    Drawing,
    LineShape,
    Plain,
    Shape,
    Words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.printing.signs import Sign, Signs
    from app.printing.squares import Chart, ChartRow
    from engine.pattern.crossings import Crossing

CELL: Final = 5.0
"""Side of a square, in millimetres."""
_MARGIN: Final = 9.0
_EMPTY: Final = "empty"
_FOOT: Final = 5.0
_STROKE: Final = 0.45
_YARNS: Final = ("", "#c9c9c9", "#e6e6e6", "#b0b0b0")
"""Grey of the squares of each yarn: light enough for its letter to be read."""
_NUMBER: Final = 3.0


def draw_chart(chart: Chart, signs: Signs, describes: str, *, mirrored: bool = False) -> Drawing:
    """Draw a chart; `mirrored` turns what leans, for a chart that has been mirrored."""
    width = chart.columns * CELL
    height = len(chart.rows) * CELL
    # Numbers for several sizes ("15 (17, 19)") take more room than one.
    left, right = (_margin(chart, leftwards=leftwards) for leftwards in (False, True))
    shapes: list[Shape] = []
    for index, row in enumerate(chart.rows):
        top = height - (index + 1) * CELL + 1
        shapes += _row(row, left, top, signs, mirrored=mirrored)
    shapes += _frame(chart, left, height)
    shapes += _stitch_numbers(chart, left, height, mirrored=mirrored)
    return Drawing(width + left + right, height + 1 + _FOOT, tuple(shapes), describes)


def _margin(chart: Chart, *, leftwards: bool) -> float:
    """Return the room beside a chart for the numbers of the rows that begin there."""
    longest = max((len(row.label) for row in chart.rows if row.leftwards is leftwards), default=0)
    return max(_MARGIN, longest * _NUMBER * 0.56 + 3)


def _row(
    row: ChartRow, margin: float, top: float, signs: Signs, *, mirrored: bool
) -> Iterator[Shape]:
    column = row.indent
    for cell in row.cells:
        left = margin + column * CELL
        sign = signs.sign(cell.mark)
        yield _square(left, top, cell.width, _fill(sign))
        yield from sign_shapes(sign, left, top, cell.width, mirrored=mirrored)
        column += cell.width
    # The number stands at the side where the row begins.
    base = top + CELL / 2 + _NUMBER * 0.36
    if row.leftwards:
        x = margin + column * CELL + 1.5
        yield Words(x, base, row.label, _NUMBER, Anchor.START)
    else:
        x = margin + row.indent * CELL - 1.5
        yield Words(x, base, row.label, _NUMBER, Anchor.END)


def _fill(sign: Sign) -> str:
    return SHADE if sign.shape == _EMPTY else _YARNS[sign.tone]


def _square(left: float, top: float, width: int, fill: str = "") -> Area:
    right, bottom = left + width * CELL, top + CELL
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return Area(corners, fill, SOFT, 0.2)


def _frame(chart: Chart, margin: float, height: float) -> Iterator[Shape]:
    if chart.frame is None:
        return
    left = margin + chart.frame[0] * CELL
    right = left + chart.frame[1] * CELL
    yield Area(((left, 1), (right, 1), (right, height + 1), (left, height + 1)), "", INK, 0.9)


def _stitch_numbers(
    chart: Chart, margin: float, height: float, *, mirrored: bool
) -> Iterator[Shape]:
    """Draw the numbers of the stitches, from the side where the first row begins."""
    columns = chart.columns
    for stitch in range(1, columns + 1):
        if columns > 12 and stitch % 5 and stitch != 1:  # noqa: PLR2004 (every fifth is enough)
            continue
        at = stitch - 1 if mirrored else columns - stitch
        x = margin + (at + 0.5) * CELL
        yield Words(x, height + 1 + 3.6, str(stitch), 2.6, ink=SOFT)


def draw_sign(sign: Sign, width: int, describes: str, *, mirrored: bool = False) -> Drawing:
    """Draw one sign of the key in its square."""
    marks = sign_shapes(sign, 0.3, 0.3, width, mirrored=mirrored)
    shapes = (_square(0.3, 0.3, width, _fill(sign)), *marks)
    return Drawing(width * CELL + 0.6, CELL + 0.6, shapes, describes)


# Strokes of the signs from (x, y) to (x, y), 0..1 across the square, y upwards; dots and radius.
_STROKES: Final[dict[str, tuple[tuple[float, float, float, float], ...]]] = {
    "as_set": ((0.25, 0.4, 0.75, 0.4), (0.25, 0.6, 0.75, 0.6)),
    "twist": ((0.35, 0.2, 0.65, 0.8), (0.65, 0.2, 0.35, 0.8), (0.35, 0.8, 0.65, 0.8)),
    "slip": ((0.25, 0.8, 0.5, 0.25), (0.5, 0.25, 0.75, 0.8)),
    "slip_front": ((0.25, 0.8, 0.5, 0.25), (0.5, 0.25, 0.75, 0.8), (0.2, 0.15, 0.8, 0.15)),
    "slash": ((0.2, 0.15, 0.8, 0.85),),
    "backslash": ((0.8, 0.15, 0.2, 0.85),),
    "slash_two": ((0.2, 0.15, 0.8, 0.85), (0.5, 0.15, 0.5, 0.5)),
    "backslash_two": ((0.8, 0.15, 0.2, 0.85), (0.5, 0.15, 0.5, 0.5)),
    "peak": ((0.2, 0.15, 0.5, 0.85), (0.5, 0.85, 0.8, 0.15), (0.5, 0.15, 0.5, 0.85)),
    "fork": ((0.5, 0.15, 0.5, 0.5), (0.5, 0.5, 0.25, 0.85), (0.5, 0.5, 0.75, 0.85)),
    "bound_off": ((0.15, 0.35, 0.5, 0.65), (0.5, 0.65, 0.85, 0.35)),
    "waits": ((0.38, 0.5, 0.62, 0.5),),
    "cast_on": ((0.2, 0.3, 0.8, 0.3), (0.5, 0.3, 0.5, 0.7)),
}
_DOTS: Final[dict[str, tuple[float, float, float]]] = {
    "dot": (0.5, 0.5, 0.75),
    "twist_dot": (0.5, 0.12, 0.35),
    "slash_dot": (0.7, 0.3, 0.45),
    "backslash_dot": (0.3, 0.3, 0.45),
    "fork_dot": (0.72, 0.3, 0.45),
}


def sign_shapes(
    sign: Sign, left: float, top: float, width: int, *, mirrored: bool
) -> Iterator[Plain]:
    """Draw a sign into the square (or squares) whose upper left corner is given."""
    wide = width * CELL

    def at(x: float, y: float) -> tuple[float, float]:
        return left + (1 - x if mirrored else x) * wide, top + (1 - y) * CELL

    for x1, y1, x2, y2 in _STROKES.get(sign.shape.removesuffix("_dot"), ()):
        yield LineShape(*at(x1, y1), *at(x2, y2), _STROKE)
    if sign.shape in _DOTS:
        x, y, radius = _DOTS[sign.shape]
        yield Dot(*at(x, y), radius, INK, "", 0)
    if sign.shape == "ring":
        yield Dot(*at(0.5, 0.5), 1.35, "", INK, _STROKE)
    if sign.crossing is not None:
        yield from _crossing(sign.crossing, left, top, mirrored=mirrored)
    if sign.shape == "letters":
        size = min(3.2, 1.6 * wide / max(len(sign.letters), 1))
        yield Words(left + wide / 2, top + CELL / 2 + size * 0.36, sign.letters, size)


def _crossing(crossing: Crossing, left: float, top: float, *, mirrored: bool) -> Iterator[Plain]:
    """Draw which strand goes over: to the left or to the right, the other one behind.

    What is purled, the strand behind or the stitches between the two, has the sign of a purl.
    """
    width = crossing.width
    front = crossing.moved if crossing.front else crossing.other
    back = width - crossing.middle - front
    # In squares from the left: where each strand begins below, and where it ends above.
    if crossing.front is not mirrored:
        over, under = (width - front, 0, front), (0, width - back, back)
    else:
        over, under = (0, width - front, front), (width - back, 0, back)

    def band(strand: tuple[int, int, int], fill: str) -> Area:
        start, end, count = strand
        low, high = top + CELL - 0.3, top + 0.3
        return Area(
            (
                (left + start * CELL + 0.4, low),
                (left + (start + count) * CELL - 0.4, low),
                (left + (end + count) * CELL - 0.4, high),
                (left + end * CELL + 0.4, high),
            ),
            fill,
            INK,
            0.35,
        )

    yield band(under, SHADE)
    yield band(over, "#ffffff")
    if crossing.purl:
        count = crossing.middle or back
        first = under[1]
        if crossing.middle:
            first = crossing.moved if mirrored else crossing.other
        for at in range(count):
            x = left + (first + at + 0.5) * CELL
            yield Dot(x, top + (CELL / 2 if crossing.middle else 1.0), 0.5, INK, "", 0)


def chart_in_letters(chart: Chart, signs: Signs) -> tuple[str, ...]:
    """Return the lines of a chart in letters, the top row first."""
    lines = []
    wide = max(3, *(len(row.label) for row in chart.rows))
    left, right = _frame_letters(chart)
    for row in reversed(chart.rows):
        squares = [" "] * row.indent
        for cell in row.cells:
            squares += [signs.sign(cell.mark).text] * cell.width
        squares += [" "] * (chart.columns - len(squares))
        body = ""
        for at, square in enumerate(squares):
            body += ("[" if at == left else " ") if at else ("[" if left == 0 else "")
            body += square + ("]" if at == right else "")
        first, last = ("", row.label) if row.leftwards else (row.label, "")
        lines.append(f"{first:>{wide}}  {body}  {last:>{wide}}".rstrip())
    return tuple(lines)


def _frame_letters(chart: Chart) -> tuple[int, int]:
    if chart.frame is None:
        return -1, -1
    return chart.frame[0], sum(chart.frame) - 1
