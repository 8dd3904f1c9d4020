"""Worked rows as rows of squares, each seen from the right side and with its own number."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import Seen
from app.drawings.piece import row_of
from app.printing.squares import BOUND_OFF, WAITING, Cell, ChartRow, Mark
from engine.limits import spend
from engine.pattern.headings import Side

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.drawings.fabric import DrawnRow
    from app.printing.walked import WalkedRow
    from engine.pattern.drawn_steps import Worked

_FACING: Final = "work as they face"
_DECREASE: Final = "dec"
_INCREASE: Final = "inc"
_NUMBERED: Final = re.compile(r"\s*(?:row|rnd|round)s?\b", re.IGNORECASE)
_ORDINAL: Final = re.compile(
    r"\s*\d+(?:st|nd|rd|th)(?:(?:,| and| to| &) ?\d+(?:st|nd|rd|th))*"
    r"(?: and (?:every|all)\b[\w ]*)? (?:row|rnd|round)s?\b",
    re.IGNORECASE,
)
_EVERY: Final = re.compile(r"\b(?:every|all|alt|alternate|each)\b", re.IGNORECASE)
_RANGE: Final = re.compile(r"(\d+)\s*(?:-|\u2013|\u2014|to)\s*(\d+)")


def chart_rows(
    walked: Sequence[WalkedRow],
) -> Iterator[tuple[list[ChartRow], list[WalkedRow]]]:
    """Yield the rows of a part that are drawn, between those not known stitch by stitch."""
    rows: list[ChartRow] = []
    worked: list[WalkedRow] = []
    # Rows that are worked alike share their steps; they are looked at once.
    known: dict[tuple[int, bool, str], tuple[Cell, ...]] = {}
    several = len({step.colour for row in walked for step in row.steps or () if step.colour}) > 1
    yarn = ""
    # How a row looks is asked only where one is worked "as they face".
    faces = any(step.name == _FACING for row in walked for step in row.steps or ())
    drawn: DrawnRow | None = None
    below: DrawnRow | None = None
    for row, number in zip(walked, _numbers(walked), strict=True):
        drawn = row_of(row.place, below, row.needle) if faces else None
        if row.steps is None or _spread(row.steps):
            if rows:
                yield rows, worked
            rows, worked = [], []
        elif not all(step.bound_off for step in row.steps):
            back = row.place.side is Side.WRONG
            key = id(row.steps), back, yarn
            if key not in known:
                known[key] = _cells(row.steps, yarn if several else None, wrong_side=back)
            cells = _as_they_face(known[key], drawn, below)
            rows.append(ChartRow(number, not back, cells, row=row.place.row))
            worked.append(row)
        below = drawn
        yarn = next((step.colour for step in reversed(row.steps or ()) if step.colour), yarn)
    if rows:
        yield rows, worked


def _spread(steps: Sequence[Worked]) -> bool:
    """Whether a row says only how many stitches are made or taken away, not where or how.

    "Dec 8 sts evenly" has no square of its own; neither has a "dec 1" that names no stitch.
    """
    names = [step.name for step in steps]
    if _DECREASE in names:
        return True
    return set(names) != {_INCREASE} and (_INCREASE, _INCREASE) in pairwise(names)


def _as_they_face(
    cells: tuple[Cell, ...], drawn: DrawnRow | None, below: DrawnRow | None
) -> tuple[Cell, ...]:
    """Write stitches that are worked as they face as what they are: the row below tells."""
    if below is None or drawn is None or not any(cell.mark.stitch == _FACING for cell in cells):
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


def _cells(steps: Sequence[Worked], yarn: str | None, *, wrong_side: bool) -> tuple[Cell, ...]:
    """Return the squares of a row from left to right; `yarn` None: the chart knows only one."""
    cells: list[Cell | None] = []
    spend(len(steps))
    for step in steps:
        if yarn is not None:
            yarn = step.colour or yarn
        cells.append(_cell(step, yarn or "", wrong_side=wrong_side))
    order = [cell for cell in cells if cell is not None]
    return tuple(order if wrong_side else reversed(order))


def _cell(step: Worked, yarn: str, *, wrong_side: bool) -> Cell | None:
    if step.bound_off:
        return Cell(Mark(BOUND_OFF, yarn=yarn))
    if step.idle:
        return Cell(Mark(WAITING)) if step.leaves else None
    width = len(step.leaves)
    if not width:
        return None
    if step.name:
        return Cell(Mark(step.name, wrong_side, yarn), width)
    return Cell(Mark("co" if step.takes == 0 else f"make {width}", yarn=yarn), width)


def _numbers(rows: Sequence[WalkedRow]) -> Iterator[int]:
    """
    Yield the designer's own number of every row, 0 before the first that has one.

    Where a part has no numbers at all its rows are counted, as long as their number is known.
    """
    if not any(own_numbers(row.place.label) for row in rows):
        counted = True
        for below, row in zip((None, *rows), rows, strict=False):
            # How many rows an open part takes is only estimated: nobody can count after it.
            if below is not None and below.place.open_loop not in {None, row.place.open_loop}:
                counted = False
            yield row.place.row_in_section if counted else 0
        return
    last = 0
    highest = [max(own_numbers(row.place.label), default=0) for row in rows]
    for at, row in enumerate(rows):
        own = own_numbers(row.place.label)
        if not own and max(highest[at:]) <= last:
            yield 0  # after the last row with a number
            continue
        # What is worked "as row 2", or a second time, goes on counting: no number comes twice.
        later = [number for number in own if number > last]
        last = later[0] if later else last + bool(last)
        yield last


def own_numbers(label: str) -> list[int]:
    """Return the numbers that a heading gives: "Rows 1, 3 and 5", "Rnds 13-44", "2nd row".

    Of "Row 2 and all WS rows" and "Rnd 11 and every other rnd to rnd 21" only the first one.
    """
    label = label.split("(", maxsplit=1)[0]
    ordinal = _ORDINAL.match(label)
    if ordinal is None and not _NUMBERED.match(label):
        return []
    ranges = _RANGE.findall(label)
    numbers = [int(number) for number in re.findall(r"\d+", label)]
    if _EVERY.search(label):
        return numbers[:1]
    if ranges:
        return [number for first, last in ranges for number in range(int(first), int(last) + 1)]
    return numbers
