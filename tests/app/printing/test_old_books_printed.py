"""Rows from knitting books of 1843 to 1918, printed: pages, and charts that unroll to their rows.

The rows are those of `tests/outside/old_books.toml`, which names author, book and year of each.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from app.pieces.pattern_cache import document_of
from app.printing.as_html import as_html
from app.printing.as_markdown import as_markdown
from app.printing.chart import charts_of
from app.printing.compose import compose
from app.printing.data import print_data
from app.printing.squares import UNWORKED, Cell, Chart, Mark
from app.printing.walked import Walked, walk
from engine.pattern import PatternDocument, Side

_FILE = Path(__file__).parents[2] / "outside" / "old_books.toml"
EXAMPLES = [
    one for one in tomllib.loads(_FILE.read_text(encoding="utf-8"))["example"] if one["adds_up"]
]


def read(example: dict[str, Any]) -> PatternDocument:
    """Return an example as a pattern."""
    rows = "\n".join(f"  '''{row}'''," for row in example["rows"])
    text = (
        f'title = "{example["id"]}"\ncast_on = {example["cast_on"]}\n'
        f"in_the_round = {str(example['kind'] == 'round').lower()}\nrows = [\n{rows}\n]\n"
    )
    found = document_of(text)
    assert isinstance(found, PatternDocument), found
    return found


def cells_of(walked: Walked, chart: Chart, index: int) -> list[Cell]:
    """Return the squares that a row of a chart has to have, from the steps of its hands."""
    row = walked.rows[chart.rows[index].row - 1]
    cells = []
    for step in row.steps or ():
        if step.idle:
            continue
        if step.bound_off:
            cells.append(Cell(Mark("bo")))
        elif step.leaves:
            back = row.place.side is Side.WRONG
            made = "co" if not step.takes else f"make {len(step.leaves)}"
            mark = Mark(step.name, back) if step.name else Mark(made)
            cells.append(Cell(mark, len(step.leaves)))
    return cells[::-1] if chart.rows[index].leftwards else cells


def unrolled(chart: Chart, index: int) -> list[Cell]:
    """Return a row of a chart with its repeats worked out, without squares that are no stitch."""
    cells = list(chart.rows[index].cells)
    if chart.frame is None:
        cells *= chart.parts
    else:
        first, last = chart.frame[0], sum(chart.frame)
        column = 0
        before: list[Cell] = []
        inside: list[Cell] = []
        after: list[Cell] = []
        for cell in cells:
            group = before if column < first else inside if column < last else after
            group.append(cell)
            column += cell.width
        cells = [*before, *inside * chart.times, *after]
    return [cell for cell in cells if cell.mark.stitch not in UNWORKED]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: one["id"])
def test_charts_of_old_patterns_unroll_to_their_rows(example: dict[str, Any]) -> None:
    """What a knitter works from the chart is what she works from the words, stitch by stitch."""
    walked = walk(read(example).course(), None)
    for chart in charts_of(walked):
        for index in range(len(chart.rows)):
            assert unrolled(chart, index) == cells_of(walked, chart, index)


def test_most_old_patterns_have_a_chart() -> None:
    """Lace and ribs do; plain shaping and pieces too large for paper do not."""
    charted = sum(bool(charts_of(walk(read(example).course(), None))) for example in EXAMPLES)
    assert charted > 0.6 * len(EXAMPLES)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: one["id"])
def test_old_patterns_are_printed(example: dict[str, Any]) -> None:
    """Every one becomes a page and a text with all its rows and its last count."""
    sheet = compose(read(example), print_data()).sheet
    assert not sheet.problems
    page, text = as_html(sheet, ""), as_markdown(sheet)
    printed = [row for part in sheet.pieces[0].parts for row in part.rows]
    assert len(printed) == len(example["rows"])
    for row in printed:
        assert row.text.replace("&", "&amp;") in page
        assert row.text.replace("*", r"\*").replace("[", r"\[").replace("]", r"\]") in text


MODERN = sorted((Path(__file__).parents[2] / "engine" / "pattern" / "patterns").glob("*.toml"))


@pytest.mark.parametrize("path", MODERN, ids=lambda path: path.stem)
def test_patterns_as_they_are_written_today_are_printed(path: Path) -> None:
    """Socks, cardigans, shawls: every line stands on the page, for all sizes and for the last."""
    whole = document_of(path.read_text(encoding="utf-8"))
    assert isinstance(whole, PatternDocument), whole
    for size in {None, *whole.sizes[-1:]}:
        sheet = compose(whole, print_data(), size=size).sheet
        assert not sheet.problems
        assert "<h1>" in as_html(sheet, "")
        printed = [row for one in sheet.pieces for part in one.parts for row in part.rows]
        lines = [line for one in whole.pieces for part in one.sections for line in part.lines]
        assert len(printed) == len(lines) or size is not None
        for piece, name in zip(whole.pieces, sheet.pieces, strict=True):
            walked = walk(whole.course(size, piece.title or None), None)
            for chart in charts_of(walked):
                assert all(cell.width > 0 for row in chart.rows for cell in row.cells)
            assert name.title == piece.title
