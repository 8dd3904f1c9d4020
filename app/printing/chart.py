"""The stitches of a part as charts: which of its rows are drawn, and which of them come again.

A chart is found from the worked stitches, not from the words of the row: rows that come again are
drawn once, and so are stitches that come again across all the rows of a chart (`across`).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.printing.across import MOST_COLUMNS, across
from app.printing.chart_rows import chart_rows
from app.printing.squares import Chart, Mark

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.printing.squares import ChartRow
    from app.printing.walked import Walked, WalkedRow

MOST_ROWS: Final = 80
"""A larger chart fits on no sheet of paper; the words of the rows are clearer then."""
_PLAIN_ROWS: Final = 6
"""So many plain rows, or more, part a chart into two: nobody reads empty squares."""
_SPARSE: Final = 0.1
"""A whole part drawn without repeats is worth it from this share of patterned squares on."""


def charts_of(walked: Walked) -> tuple[Chart, ...]:
    """Return the charts of a piece: of every part that is more than plain knitting."""
    charts: dict[object, Chart] = {}
    for section, title in walked.course.sections:
        rows = [row for row in walked.rows if row.place.section == section]
        for chart in _charts(title, rows, in_the_round=walked.course.in_the_round):
            same = replace(chart, titles=(), times=1, again=None)
            if same in charts:
                titles = dict.fromkeys((*charts[same].titles, *chart.titles))
                charts[same] = replace(charts[same], titles=tuple(titles))
            else:
                charts[same] = chart
    return tuple(charts.values())


def _charts(title: str, walked: Sequence[WalkedRow], *, in_the_round: bool) -> Iterator[Chart]:
    """Yield the charts of a part: plain rows of any number need none and part what they lie in."""
    rows, worked = chart_rows(walked)
    if rows is None:
        return
    for start, whole in _stretches(rows):
        end = whole
        # "K2tog around" after rows of one width is no part of their pattern.
        while end - start > 1 and _uniform(rows[end - 1], worked[end - 1]):
            if len({row.width for row in rows[start : end - 1]}) > 1:
                break
            end -= 1
        again = _said_again(rows[start:end], worked[start:end])
        first, last = _rows_again(rows[start:end])
        if last > first:
            end = start + last
            numbers = rows[start + first].number, rows[end - 1].number
            again = numbers if all(numbers) else None
        chart = _chart(title, rows[start:end], worked[start:end], in_the_round=in_the_round)
        if chart is not None:
            yield replace(chart, again=again)


def _stretches(rows: Sequence[ChartRow]) -> Iterator[tuple[int, int]]:
    """Yield the first row, and the one after the last, of each stretch between plain rows."""
    patterned = [at for at, row in enumerate(rows) if _patterned((row,))]
    if not patterned:
        return
    start, end = 0, 0
    for at in patterned:
        if at - end >= _PLAIN_ROWS:
            if end > start:
                yield start, end
            start = at
        end = at + 1
    yield start, len(rows) if len(rows) - end < _PLAIN_ROWS else end


def _uniform(row: ChartRow, walked: WalkedRow) -> bool:
    """Whether a shaping row is the same all along: "k2tog around" needs no chart."""
    return walked.place.shaping and len({cell.mark for cell in row.cells}) == 1


def _chart(
    title: str, rows: Sequence[ChartRow], worked: Sequence[WalkedRow], *, in_the_round: bool
) -> Chart | None:
    if not 0 < len(rows) <= MOST_ROWS or not _patterned(rows):
        return None
    chart = across(Chart((title,), tuple(rows), in_the_round), worked)
    repeats = chart.frame is not None or chart.parts > 1
    if chart.columns > MOST_COLUMNS or (not repeats and _patterned(rows) < _SPARSE):
        return None
    return chart


def _patterned(rows: Sequence[ChartRow]) -> float:
    """Return the share of squares that are not plain knitting, which needs no chart."""
    marks = [cell.mark for row in rows for cell in row.cells]
    plain = sum(mark in {Mark("k"), Mark("p", wrong_side=True)} for mark in marks)
    return 1 - plain / max(len(marks), 1)


def _said_again(rows: Sequence[ChartRow], worked: Sequence[WalkedRow]) -> tuple[int, int] | None:
    """Return the first and last number of the rows that the words say are repeated."""
    for at, one in enumerate(worked):
        repeat = one.place.repeat
        if repeat is None or repeat.times == 1 or repeat.rows == 1:
            continue
        last = at + repeat.rows - repeat.row
        if last < len(rows) and rows[at].number and rows[last].number:
            return rows[at].number, rows[last].number
        return None
    return None


def _rows_again(rows: Sequence[ChartRow]) -> tuple[int, int]:
    """Return the first row that comes again and the one after the last of its group (or 0, 0)."""
    keys = [(row.leftwards, row.cells) for row in rows]
    for group in range(1, len(rows) // 2 + 1):
        for first in range(min(len(rows) - 2 * group, 8) + 1):
            if all(keys[at] == keys[at + group] for at in range(first, len(keys) - group)):
                return first, first + group
    return 0, 0
