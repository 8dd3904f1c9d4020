"""The squares of a chart: what is drawn of it, and nothing of how it was found.

Columns count from the left, rows from the bottom.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Final

BOUND_OFF: Final = "bo"
NO_STITCH: Final = "none"
"""Fills up a row that has fewer stitches than others between the same edges."""
WAITING: Final = "waits"
"""A stitch that a short row does not reach, or that is laid aside."""
UNWORKED: Final = frozenset({NO_STITCH, WAITING})
"""Squares that nothing is worked in."""


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
    the row none; `row` is the row of the piece, counted from the cast-on; `said` its number for
    every size, where they differ: "1 (3, 5)".
    """

    number: int
    leftwards: bool
    cells: tuple[Cell, ...]
    indent: int = 0
    row: int = field(default=0, compare=False)
    said: str = field(default="", compare=False)

    @property
    def label(self) -> str:
        """Its number as it is written beside it."""
        return self.said or str(self.number) if self.number else ""

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
        return replace(self, times=1, parts=min(self.parts, 2))

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
