"""What comes again across the rows of a chart is drawn once: frames, equal parts, edges.

Where nothing comes again, every row stands over the stitches that it was worked into.
"""

from __future__ import annotations

from dataclasses import replace
from math import gcd
from statistics import median
from typing import TYPE_CHECKING, Final

from app.printing.squares import BOUND_OFF, NO_STITCH, Cell, Mark
from engine.pattern.needle import fixed
from engine.pattern.notation import Along

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.printing.squares import Chart, ChartRow
    from app.printing.walked import WalkedRow

MOST_COLUMNS: Final = 60
_HARDLY_LESS: Final = 0.75
"""A frame that leaves out less than a quarter of the columns makes a chart no clearer."""
_WIDEST_EDGE: Final = 12
_HALVES: Final = 2
_WIDEST_HALF: Final = 16
"""Of two halves that are wider each side is shaped for itself: that is no repeat."""


def across(chart: Chart, worked: Sequence[WalkedRow]) -> Chart:
    """Draw stitches that come again across the rows only once."""
    rows = chart.rows
    if len({row.width for row in rows}) == 1:
        return _framed(chart, worked)
    parts = _equal_parts(rows)
    if parts > 1:
        # All parts are drawn from their right end, where each begins on the right side.
        cut = [replace(row, cells=_cut(row, row.width // parts)) for row in rows]
        widest = max(row.width for row in cut)
        shifted = tuple(replace(row, indent=widest - row.width) for row in cut)
        return replace(chart, rows=shifted, parts=parts)
    edged = _between_edges(rows)
    if edged is not None:
        return _padded(chart, *edged)
    return replace(chart, rows=_indented(rows, worked))


def _equal_parts(rows: Sequence[ChartRow]) -> int:
    """Return of how many equal parts every row is made, at most."""
    parts = 0
    for row in rows:
        cells = row.cells
        word = next(
            size
            for size in range(1, len(cells) + 1)
            if len(cells) % size == 0 and cells == cells[:size] * (len(cells) // size)
        )
        parts = gcd(parts, len(cells) // word)
        if parts == 1:
            break
    return parts


def _cut(row: ChartRow, width: int) -> tuple[Cell, ...]:
    """Return so many stitches from the right end."""
    taken: list[Cell] = []
    for cell in reversed(row.cells):
        if width <= 0:
            break
        taken.append(cell)
        width -= cell.width
    return tuple(reversed(taken))


def _between_edges(rows: Sequence[ChartRow]) -> tuple[int, int, int] | None:
    """Return left edge, right edge and number of equal parts between them, or None.

    The narrowest edges that leave at least two parts in every row.
    """
    narrowest = min(len(row.cells) for row in rows)
    for edges in range(1, min(2 * _WIDEST_EDGE, narrowest - 2) + 1):
        for right in range(max(0, edges - _WIDEST_EDGE), min(edges, _WIDEST_EDGE) + 1):
            left = edges - right
            inner = [replace(row, cells=row.cells[left : len(row.cells) - right]) for row in rows]
            if all(len({cell.mark for cell in row.cells}) == 1 for row in inner):
                continue  # plain knitting between shaped edges is no repeat
            parts = _equal_parts(inner)
            if parts > 1 and (parts > _HALVES or narrowest < _HALVES * _WIDEST_HALF):
                return left, right, parts
    return None


def _padded(chart: Chart, left: int, right: int, parts: int) -> Chart:
    """Draw one part between the edges; where it is narrower than in other rows it is padded."""
    ones: list[tuple[Cell, ...]] = []
    for row in chart.rows:
        inner = row.cells[left : len(row.cells) - right]
        ones.append(inner[len(inner) - len(inner) // parts :])
    widest = max(sum(cell.width for cell in one) for one in ones)
    rows = []
    for row, one in zip(chart.rows, ones, strict=True):
        missing = widest - sum(cell.width for cell in one)
        before, after = row.cells[:left], row.cells[len(row.cells) - right :]
        cells = (*before, *[Cell(Mark(NO_STITCH))] * missing, *one, *after)
        rows.append(replace(row, cells=cells))
    first = max(sum(cell.width for cell in row.cells[:left]) for row in rows)
    return replace(chart, rows=tuple(rows), frame=(first, widest), times=parts)


def _framed(chart: Chart, worked: Sequence[WalkedRow]) -> Chart:
    """Frame the group of columns that comes again and leave out its repeats."""
    columns = list(zip(*(_columns(row) for row in chart.rows), strict=True))
    count = len(columns)
    best: tuple[int, int, int] | None = None  # columns drawn, period, right edge
    times = 1
    for period in range(1, count // 2 + 1):
        start, end = _longest_run(columns, period)
        before = _before_star(worked[0], count - end, period)
        found = (end - start - (before - (count - end))) // period
        drawn = count - (found - 1) * period
        if found > 1 and (best is None or drawn < best[0]):
            best, times = (drawn, period, before), found
    if best is None or (best[0] > _HARDLY_LESS * count and count <= MOST_COLUMNS):
        return chart
    _, period, right = best
    left = count - right - times * period
    keep = [*range(left + period), *range(count - right, count)]
    rows = tuple(replace(row, cells=_only(row, keep)) for row in chart.rows)
    return replace(chart, rows=rows, frame=(left, period), times=times)


def _columns(row: ChartRow) -> list[tuple[Cell, int]]:
    return [(cell, part) for cell in row.cells for part in range(cell.width)]


def _only(row: ChartRow, keep: Sequence[int]) -> tuple[Cell, ...]:
    columns = _columns(row)
    return tuple(columns[at][0] for at in keep if columns[at][1] == 0)


def _longest_run(columns: Sequence[object], period: int) -> tuple[int, int]:
    """Return the longest stretch (first column, one after the last) that has this period.

    Of two equally long ones the one that lies farther right, where a right-side row begins.
    """
    best = (0, 0)
    end = len(columns)
    for at in range(len(columns) - period - 1, -2, -1):
        if at >= 0 and columns[at] == columns[at + period]:
            continue
        if end - at - 1 > best[1] - best[0] and end - at - 1 > period:
            best = (at + 1, end)
        end = at + period
    return best


def _before_star(first: WalkedRow, least: int, period: int) -> int:
    """Return how many stitches the first row has before its repeat, if that is possible.

    Otherwise the least that lie right of what comes again.
    """
    taken = 0
    for item in first.place.instruction.items:
        if isinstance(item, Along) and item.star:
            return taken if least <= taken < least + period else least
        one = fixed((item,))
        if one is None:
            return least
        taken += one[1]
    return least


def _indented(rows: Sequence[ChartRow], worked: Sequence[WalkedRow]) -> tuple[ChartRow, ...]:
    """Shift every row so that most of its stitches stand on those that they came out of."""
    shifts = [0]
    for below, row, walked in zip(rows, rows[1:], worked[1:], strict=False):
        shifts.append(shifts[-1] + _bound_off_left(below) + _shift(row, walked))
    least = min(shifts)
    return tuple(
        replace(row, indent=shift - least) for row, shift in zip(rows, shifts, strict=True)
    )


def _bound_off_left(row: ChartRow) -> int:
    """Return how many squares at the left of a row are no stitches any more after it."""
    return next(
        (at for at, cell in enumerate(row.cells) if cell.mark.stitch != BOUND_OFF), len(row.cells)
    )


def _shift(row: ChartRow, walked: WalkedRow) -> int:
    """Return by how many columns to the right a row begins over the stitches below it."""
    taken = square = 0
    over: list[float] = []
    for step in walked.steps or ():
        squares = max(len(step.leaves), int(step.bound_off))
        if step.takes and squares:
            over.append(taken + (step.takes - 1) / 2 - square - (squares - 1) / 2)
        taken += step.takes
        square += squares
    middle = median(over) if over else 0.0
    return round(taken - row.width - middle) if row.leftwards else round(middle)
