"""The stitches of a part as a chart: squares seen from the right side, with what is repeated.

A chart is found from the worked stitches, not from the words of the row: rows that come again are
drawn once, and so are stitches that come again across all the rows of a chart. Columns count from
the left, rows from the bottom.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from math import gcd
from statistics import median
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import Seen
from app.drawings.piece import row_of
from engine.pattern.headings import Side
from engine.pattern.needle import fixed
from engine.pattern.notation import Along

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.drawings.fabric import DrawnRow
    from app.printing.walked import Walked, WalkedRow
    from engine.pattern.drawn_steps import Worked

_BOUND_OFF: Final = "bo"
_FACING: Final = "work as they face"
NO_STITCH: Final = "none"
"""Fills up a row that has fewer stitches than others between the same edges."""
_WIDEST_EDGE: Final = 12
MOST_COLUMNS: Final = 60
MOST_ROWS: Final = 80
"""A larger chart fits on no sheet of paper; the words of the rows are clearer then."""
_HARDLY_LESS: Final = 0.75
"""A frame that leaves out less than a quarter of the columns makes a chart no clearer."""
_PLAIN_ROWS: Final = 6
"""So many plain rows, or more, part a chart into two: nobody reads empty squares."""
_NUMBERED: Final = re.compile(r"\s*(?:row|rnd|round)s?\b", re.IGNORECASE)
_RANGE: Final = re.compile(r"(\d+)\s*(?:-|\u2013|\u2014|to)\s*(\d+)")
_SPARSE: Final = 0.1
"""A whole part drawn without repeats is worth it from this share of patterned squares on."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What a square says: the stitch by its abbreviation, and whether it is worked on the back.

    `yarn` is the letter of its yarn, "" where the chart has only one.
    """

    stitch: str
    wrong_side: bool = False
    yarn: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """A square, or `width` squares that are worked in one."""

    mark: Mark
    width: int = 1


@dataclass(frozen=True, slots=True)
class ChartRow:
    """A row of squares from left to right; `indent` empty squares lie left of it.

    `leftwards` says that it is worked from right to left; `number` is 0 where the designer gives
    the row none; `row` is the row of the piece, counted from the cast-on.
    """

    number: int
    leftwards: bool
    cells: tuple[Cell, ...]
    indent: int = 0
    row: int = field(default=0, compare=False)

    @property
    def label(self) -> str:
        """Its number as it is written beside it."""
        return str(self.number) if self.number else ""

    @property
    def width(self) -> int:
        """How many stitches it has."""
        return sum(cell.width for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of one or more parts of a piece.

    `frame` is the first column and the number of columns of the stitches that come `times` times;
    `parts` is above one where only one of so many equal parts is drawn; `again` the first and last
    number of the rows that come again.
    """

    titles: tuple[str, ...]
    rows: tuple[ChartRow, ...]
    in_the_round: bool
    frame: tuple[int, int] | None = None
    times: int = 1
    parts: int = 1
    again: tuple[int, int] | None = None

    @property
    def columns(self) -> int:
        """How many squares it is wide."""
        return max(row.indent + row.width for row in self.rows)

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Every mark in it once, the commonest first."""
        counted = Counter(cell.mark for row in self.rows for cell in row.cells)
        return tuple(mark for mark, _ in counted.most_common())

    @property
    def drawn(self) -> Chart:
        """The chart without the numbers that may differ between sizes."""
        return replace(self, times=1)

    def mirrored(self) -> Chart:
        """Return the chart for left-handed knitting; what leans is turned where it is drawn."""
        columns = self.columns
        rows = tuple(
            replace(
                row,
                leftwards=not row.leftwards,
                cells=row.cells[::-1],
                indent=columns - row.indent - row.width,
            )
            for row in self.rows
        )
        frame = (columns - sum(self.frame), self.frame[1]) if self.frame else None
        return replace(self, rows=rows, frame=frame)


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
    rows, worked = _rows_of(walked)
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


def _rows_of(walked: Sequence[WalkedRow]) -> tuple[list[ChartRow] | None, list[WalkedRow]]:
    """Return the rows of a part that are drawn; None if one is not known stitch by stitch."""
    rows: list[ChartRow] = []
    worked: list[WalkedRow] = []
    # Rows that are worked alike share their steps; they are looked at once.
    known: dict[tuple[int, bool, str], tuple[Cell, ...]] = {}
    several = len({step.colour for row in walked for step in row.steps or () if step.colour}) > 1
    yarn = ""
    below: DrawnRow | None = None
    for row, number in zip(walked, _numbers(walked), strict=True):
        if row.steps is None:
            return None, []
        if all(step.bound_off for step in row.steps):
            continue
        back = row.place.side is Side.WRONG
        key = id(row.steps), back, yarn
        if key not in known:
            known[key] = _cells(row.steps, yarn if several else None, wrong_side=back)
        drawn = row_of(row.place, below, row.needle)
        cells = _as_they_face(known[key], drawn, below)
        rows.append(ChartRow(number, not back, cells, row=row.place.row))
        below = drawn
        worked.append(row)
        yarn = next((step.colour for step in reversed(row.steps) if step.colour), yarn)
    return rows, worked


def _as_they_face(
    cells: tuple[Cell, ...], drawn: DrawnRow, below: DrawnRow | None
) -> tuple[Cell, ...]:
    """Write stitches that are worked as they face as what they are: the row below tells."""
    if below is None or not any(cell.mark.stitch == _FACING for cell in cells):
        return cells
    written: list[Cell] = []
    at = 0
    for cell in cells:
        seen = drawn.stitches[at].seen if at < len(drawn.stitches) else Seen.PLAIN
        at += cell.width
        if cell.mark.stitch == _FACING and seen in {Seen.KNIT, Seen.PURL}:
            smooth = (seen is Seen.KNIT) is not cell.mark.wrong_side
            mark = replace(cell.mark, stitch="k" if smooth else "p")
            written.append(replace(cell, mark=mark))
        else:
            written.append(cell)
    return tuple(written)


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
    chart = _across(Chart((title,), tuple(rows), in_the_round), worked)
    repeats = chart.frame is not None or chart.parts > 1
    if chart.columns > MOST_COLUMNS or (not repeats and _patterned(rows) < _SPARSE):
        return None
    return chart


def _patterned(rows: Sequence[ChartRow]) -> float:
    """Return the share of squares that are not plain knitting, which needs no chart."""
    marks = [cell.mark for row in rows for cell in row.cells]
    plain = sum(mark in {Mark("k"), Mark("p", wrong_side=True)} for mark in marks)
    return 1 - plain / max(len(marks), 1)


def _cells(steps: Sequence[Worked], yarn: str | None, *, wrong_side: bool) -> tuple[Cell, ...]:
    """Return the squares of a row from left to right; `yarn` None: the chart knows only one."""
    cells: list[Cell | None] = []
    for step in steps:
        if yarn is not None:
            yarn = step.colour or yarn
        cells.append(_cell(step, yarn or "", wrong_side=wrong_side))
    order = [cell for cell in cells if cell is not None]
    return tuple(order if wrong_side else reversed(order))


def _numbers(rows: Sequence[WalkedRow]) -> Iterator[int]:
    """
    Yield the designer's own number of every row, 0 before the first that has one.

    Where a part has no numbers at all its rows are counted.
    """
    if not any(_own_numbers(row.place.label) for row in rows):
        yield from (row.place.row_in_section for row in rows)
        return
    last = 0
    highest = [max(_own_numbers(row.place.label), default=0) for row in rows]
    for at, row in enumerate(rows):
        own = _own_numbers(row.place.label)
        if not own and max(highest[at:]) <= last:
            yield 0  # after the last row with a number
            continue
        # What is worked "as row 2", or a second time, goes on counting: no number comes twice.
        later = [number for number in own if number > last]
        last = later[0] if later else last + bool(last)
        yield last


def _own_numbers(label: str) -> list[int]:
    """Return the numbers that a heading gives: "Rows 1, 3 and 5", "Rnds 13-44"."""
    if not _NUMBERED.match(label):
        return []
    label = label.split("(", maxsplit=1)[0]
    ranges = _RANGE.findall(label)
    if ranges:
        return [number for first, last in ranges for number in range(int(first), int(last) + 1)]
    return [int(number) for number in re.findall(r"\d+", label)]


def _cell(step: Worked, yarn: str, *, wrong_side: bool) -> Cell | None:
    if step.bound_off:
        return Cell(Mark(_BOUND_OFF, yarn=yarn))
    if step.idle:
        return Cell(Mark(NO_STITCH)) if step.leaves else None
    width = len(step.leaves)
    if not width:
        return None
    if step.name:
        return Cell(Mark(step.name, wrong_side, yarn), width)
    return Cell(Mark("co" if step.takes == 0 else f"make {width}", yarn=yarn), width)


def _rows_again(rows: Sequence[ChartRow]) -> tuple[int, int]:
    """Return the first row that comes again and the one after the last of its group (or 0, 0)."""
    keys = [(row.leftwards, row.cells) for row in rows]
    for group in range(1, len(rows) // 2 + 1):
        for first in range(min(len(rows) - 2 * group, 8) + 1):
            if all(keys[at] == keys[at + group] for at in range(first, len(keys) - group)):
                return first, first + group
    return 0, 0


def _across(chart: Chart, worked: Sequence[WalkedRow]) -> Chart:
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


def _between_edges(rows: Sequence[ChartRow]) -> tuple[int, int, int] | None:
    """Return left edge, right edge and number of equal parts between them, or None.

    The narrowest edges that leave at least two parts in every row.
    """
    narrowest = min(len(row.cells) for row in rows)
    for edges in range(1, min(2 * _WIDEST_EDGE, narrowest - 2) + 1):
        for right in range(max(0, edges - _WIDEST_EDGE), min(edges, _WIDEST_EDGE) + 1):
            left = edges - right
            inner = [replace(row, cells=row.cells[left : len(row.cells) - right]) for row in rows]
            parts = _equal_parts(inner)
            if parts > 1:
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


def _cut(row: ChartRow, width: int) -> tuple[Cell, ...]:
    """Return so many stitches from the right end."""
    taken: list[Cell] = []
    for cell in reversed(row.cells):
        if width <= 0:
            break
        taken.append(cell)
        width -= cell.width
    return tuple(reversed(taken))


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
        (at for at, cell in enumerate(row.cells) if cell.mark.stitch != _BOUND_OFF), len(row.cells)
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
