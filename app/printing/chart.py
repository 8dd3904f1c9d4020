"""The stitches of a part as charts: which of its rows are drawn, and which of them come again.

A chart is found from the worked stitches, not from the words of the row: rows that come again are
drawn once, and so are stitches that come again across all the rows of a chart (`across`).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.printing.across import MOST_COLUMNS, across
from app.printing.chart_rows import chart_rows
from app.printing.squares import UNWORKED, Chart, Mark

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.printing.squares import ChartRow
    from app.printing.walked import Walked, WalkedRow

MOST_ROWS: Final = 80
"""A larger chart fits on no sheet of paper; the words of the rows are clearer then."""
_PLAIN_ROWS: Final = 6
"""So many plain rows, or more, part a chart into two: nobody reads empty squares.

So many rows, or more, that only repeat others are left out, and part it too.
"""
_FEWEST_ROWS: Final = 2
"""Fewer patterned rows are clearer in words, unless they are repeated."""
_SPARSE: Final = 0.1
"""A chart is worth it from this share of patterned squares on, or as one of several wedges."""
_WIDEST_WHOLE: Final = 40
"""A chart without repeats, or of one half, that is wider is harder to follow than the words."""
_HALVES: Final = 2
_AS_SET: Final = frozenset({"work", "work as they face"})
_MOSTLY_TOLD: Final = 0.25
"""A chart says what to work: at most this share of its squares may say "as before"."""


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
    for run in chart_rows(walked):
        for rows, worked, group in _without_repeats(*run):
            for start, whole in _stretches(rows):
                if group and whole == len(rows):
                    end = whole
                    first = max(whole - group, start)
                    comes_again = True
                else:
                    end, first, comes_again = _end_of(rows, worked, start, whole)
                again = _numbers_of(rows[first:end]) if comes_again else None
                drawn = rows[start:end]
                if not _worth_drawing(drawn, len(walked), again=again is not None):
                    continue
                chart = _chart(title, drawn, worked[start:end], in_the_round=in_the_round)
                if chart is not None:
                    yield replace(chart, again=again)


def _end_of(
    rows: Sequence[ChartRow], worked: Sequence[WalkedRow], start: int, whole: int
) -> tuple[int, int, bool]:
    """Return where a chart that may go on to `whole` ends, and whether rows of it come again.

    Between them stands the first of these rows.
    """
    end = whole
    # "K2tog around" after rows of one width is no part of their pattern.
    while end - start > 1 and _uniform(rows[end - 1], worked[end - 1]):
        if len({row.width for row in rows[start : end - 1]}) > 1:
            break
        end -= 1
    first, last = _rows_again(rows[start:end])
    return (start + last, start + first, True) if last > first else (end, start, False)


def _numbers_of(rows: Sequence[ChartRow]) -> tuple[int, int] | None:
    """Return the numbers of the first and the last row; None if one has none."""
    first, last = rows[0].number, rows[-1].number
    return (first, last) if first and last else None


def _worth_drawing(rows: Sequence[ChartRow], part: int, *, again: bool) -> bool:
    """Whether rows are clearer drawn: they can be told by their numbers and are several.

    One patterned row is enough where it is repeated, or where they are all the rows of the `part`.
    """
    patterned = sum(not _plain(row) for row in rows)
    enough = again or patterned >= _FEWEST_ROWS or len(rows) == part
    return enough and any(row.number for row in rows)


def _without_repeats(
    rows: Sequence[ChartRow], worked: Sequence[WalkedRow]
) -> Iterator[tuple[Sequence[ChartRow], Sequence[WalkedRow], int]]:
    """Yield the rows from one long repetition to the next, of which only the first time is kept.

    The number says how many of the rows, at their end, are repeated so. What is repeated with
    another number of stitches each time (shaping) is no repetition here.
    """
    start = at = 0
    while at < len(rows):
        group, end = _repetition(rows, worked, at)
        repeat = worked[at].place.repeat
        forever = group > 0 and repeat is not None and repeat.times is None
        if not forever and end - at - group < _PLAIN_ROWS:
            at += 1
            continue
        yield rows[start : at + group], worked[start : at + group], group
        start = at = end
    if start < len(rows):
        yield rows[start:], worked[start:], 0


def _repetition(rows: Sequence[ChartRow], worked: Sequence[WalkedRow], at: int) -> tuple[int, int]:
    """Return how many rows are repeated from here, and where their repetition ends."""
    repeat = worked[at].place.repeat
    if repeat is None or (repeat.time, repeat.row) != (1, 1):
        return 0, at
    group, end = repeat.rows, at + repeat.rows
    while end < len(rows):
        one, first = worked[end].place.repeat, rows[at + (end - at) % group]
        if one is None or one.time == 1 or (one.times, one.rows) != (repeat.times, group):
            break
        if (rows[end].leftwards, rows[end].cells) != (first.leftwards, first.cells):
            return 0, at
        end += 1
    return group, min(end, len(rows))


def _stretches(rows: Sequence[ChartRow]) -> Iterator[tuple[int, int]]:
    """Yield the first row, and the one after the last, of each stretch between plain rows."""
    patterned = [at for at, row in enumerate(rows) if not _plain(row)]
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


def _plain(row: ChartRow) -> bool:
    """Whether a row is knitted or purled from end to end, in one yarn."""
    marks = {cell.mark for cell in row.cells if cell.mark.stitch not in UNWORKED}
    return len(marks) == 1 and all(not one.yarn and one.stitch in {"k", "p"} for one in marks)


def _uniform(row: ChartRow, walked: WalkedRow) -> bool:
    """Whether a shaping row is the same all along: "k2tog around" needs no chart."""
    return walked.place.shaping and len({cell.mark for cell in row.cells}) == 1


def _chart(
    title: str, rows: Sequence[ChartRow], worked: Sequence[WalkedRow], *, in_the_round: bool
) -> Chart | None:
    if not 0 < len(rows) <= MOST_ROWS or not _patterned(rows):
        return None
    chart = across(Chart((title,), tuple(rows), in_the_round), worked)
    repeats = chart.frame is not None or chart.parts > _HALVES
    if chart.columns > (MOST_COLUMNS if repeats else _WIDEST_WHOLE):
        return None
    if _share_as_set(chart.rows) > _MOSTLY_TOLD or (
        chart.parts == 1 and max(_patterned(chart.rows), _patterned(rows)) < _SPARSE
    ):
        return None
    return chart


def _share_as_set(rows: Sequence[ChartRow]) -> float:
    """Return the share of squares of which the row says only that they go on as before."""
    marks = [cell.mark for row in rows for cell in row.cells]
    return sum(mark.stitch in _AS_SET for mark in marks) / max(len(marks), 1)


def _patterned(rows: Sequence[ChartRow]) -> float:
    """Return the share of squares that are not plain knitting, which needs no chart."""
    marks = [cell.mark for row in rows for cell in row.cells if cell.mark.stitch not in UNWORKED]
    plain = sum(mark in {Mark("k"), Mark("p", wrong_side=True)} for mark in marks)
    return 1 - plain / max(len(marks), 1)


def _rows_again(rows: Sequence[ChartRow]) -> tuple[int, int]:
    """Return the first row that comes again and the one after the last of its group (or 0, 0)."""
    keys = [(row.leftwards, row.cells) for row in rows]
    for group in range(1, len(rows) // 2 + 1):
        for first in range(min(len(rows) - 2 * group, 8) + 1):
            if all(keys[at] == keys[at + group] for at in range(first, len(keys) - group)):
                return first, first + group
    return 0, 0
