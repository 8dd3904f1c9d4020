"""The schematic: a piece's outline to scale, with its measurements for all sizes beside it."""

from __future__ import annotations

from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from app.printing.both_units import graded
from app.printing.measured import computed
from app.printing.shapes import (
    SOFT,
    Anchor,
    Area,
    Drawing,
    LineShape,
    Shape,
    Words,
)
from engine.plan.rounding import printed_number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from app.printing.outline import Outline
    from engine.quantities import Length

_ALL: Final = 168.0
"""How wide the drawing may be, words included."""
_HIGH: Final = 88.0
TYPE: Final = 3.2
LARGE_TYPE: Final = 4.6
"""Height of the words, and in large print."""
_LINE: Final = 1.3
"""Distance of two lines of words by their height."""
_LETTER: Final = 0.56
"""Width of a letter by its height, on the average."""
_TICK: Final = 1.2


def draw_schematic(
    outlines: Sequence[Outline],
    around: str,
    describes: str,
    *,
    type_size: float = TYPE,
    mirrored: bool = False,
) -> Drawing:
    """Draw the outline of the first size, with the measurements of all of them.

    In the round the piece lies flat: it is drawn half as wide as it is around. `type_size` is the
    height of its words.
    """
    first = outlines[0]
    top = first.levels[-1].width
    differs = abs(top - first.levels[0].width) >= 1 and top > first.widest / 8
    above = differs and not first.divided
    height = _label(outlines, lambda one: one.height)
    stages: list[tuple[str, str]] = []
    if len(first.stages) > 1 and len({len(one.stages) for one in outlines}) == 1:
        numbers = range(len(first.stages))
        stages = [_label(outlines, partial(_stage_height, index)) for index in numbers]
    sides = (
        max(map(_length, height)) * type_size + 8,
        max([_length(f"{given} ({other})") for given, other in stages], default=0) * type_size + 8,
    )
    sheet = _Sheet(first, sides, type_size, above=above, mirrored=mirrored)
    shapes: list[Shape] = [*sheet.body(), *sheet.stages()]
    shapes += sheet.across(_label(outlines, lambda one: one.width(one.levels[0].width)), 0, around)
    if above:
        text = _label(outlines, lambda one: one.width(one.levels[-1].width))
        shapes += sheet.above(text, around)
    if first.widest - max(first.levels[0].width, top) >= 1:
        text = _label(outlines, lambda one: one.width(one.widest))
        shapes += sheet.widest(text, around)
    shapes += sheet.height(height)
    for index, label in enumerate(stages):
        shapes += sheet.stage_height(index, label)
    return Drawing(sheet.full_width, sheet.full_height, tuple(shapes), describes)


def _stage_height(index: int, outline: Outline) -> Length:
    return outline.stage_height(index)


def _length(text: str) -> float:
    """Return about how long words are, by the height of their type."""
    return len(text) * _LETTER


def _label(outlines: Sequence[Outline], what: Callable[[Outline], Length]) -> tuple[str, str]:
    """Return a measurement of all sizes in both systems."""
    values = [computed(what(outline)) for outline in outlines]
    given = graded([printed_number(one.given.value, one.given.unit) for one in values])
    other = graded([printed_number(one.other.value, one.other.unit) for one in values])
    return f"{given} {values[0].given.unit}", f"{other} {values[0].other.unit}"


class _Sheet:
    """Where everything lies: the outline in the middle, measurements below and on both sides.

    `sides` is the room for words left and right of the outline.
    """

    def __init__(
        self,
        outline: Outline,
        sides: tuple[float, float],
        type_size: float,
        *,
        above: bool,
        mirrored: bool,
    ) -> None:
        self.outline = outline
        self.type = type_size
        self.line = type_size * _LINE
        self.left = sides[0]
        self.mirrored = mirrored
        half = 2 if outline.in_the_round else 1
        per_stitch = 1 / float(outline.stitches_per_cm) / half
        self.lowest = min(level.left for level in outline.levels)
        self.highest = max(level.right for level in outline.levels)
        wide = (self.highest - self.lowest) * per_stitch
        high = float(outline.levels[-1].rows / outline.rows_per_cm)
        widest = max(_ALL - sides[0] - sides[1], 60.0)
        scale = min(widest / max(wide, 0.1), _HIGH / max(high, 0.1), 20.0)
        self.mm_per_stitch = per_stitch * scale
        self.mm_per_cm = scale
        self.mm_per_row = scale / float(outline.rows_per_cm)
        self.wide, self.high = wide * scale, high * scale
        self.top = 3 * self.line + 2 if above else 1.5
        self.base = self.top + self.high
        self.full_width = self.left + self.wide + sides[1]
        self.full_height = self.base + 3 * self.line + 3

    def x(self, stitches: float) -> float:
        """Return where a column lies; a left-hander's piece is the other way round."""
        from_left = (stitches - self.lowest) * self.mm_per_stitch
        return self.left + (self.wide - from_left if self.mirrored else from_left)

    def y(self, rows: float) -> float:
        """Return where the top of so many rows lies."""
        return self.base - rows * self.mm_per_row

    def body(self) -> Iterator[Shape]:
        levels = self.outline.levels
        up = [(self.x(level.right), self.y(level.rows)) for level in levels]
        down = [(self.x(level.left), self.y(level.rows)) for level in reversed(levels)]
        yield Area((*up, *down), "#f6f6f6", "", 0)
        edges = [*up, *down] if not self.outline.divided else [*up]
        for one, other in pairwise(edges):
            yield LineShape(*one, *other, 0.5)
        yield LineShape(*down[-1], *up[0], 0.5)
        if self.outline.divided:
            yield LineShape(*up[-1], *down[0], 0.5, SOFT, 2.0)
            for one, other in pairwise(down):
                yield LineShape(*one, *other, 0.5)

    def stages(self) -> Iterator[Shape]:
        """Part the outline where its parts meet, and name them where there is room."""
        stages = self.outline.stages
        for index, stage in enumerate(stages):
            bottom, top = self._stage_rows(index)
            if index + 1 < len(stages):
                left, right = self._edges(top)
                yield LineShape(left, self.y(top), right, self.y(top), 0.25, SOFT, 1.0)
            left, right = self._edges((bottom + top) / 2)
            room = (top - bottom) * self.mm_per_row
            if (
                room >= self.type * 1.3
                and abs(right - left) > len(stage.title) * self.type * _LETTER
            ):
                middle = self.y((bottom + top) / 2) + self.type * 0.36
                yield Words((left + right) / 2, middle, stage.title, self.type)

    def _stage_rows(self, index: int) -> tuple[float, float]:
        """Return the rows between which a part lies, as they are drawn."""
        per_cm = float(self.outline.rows_per_cm)
        last = self.outline.levels[-1].rows
        stages = self.outline.stages
        bottom = min(float(stages[index].bottom) * per_cm, last)
        top = last if index + 1 == len(stages) else min(float(stages[index].top) * per_cm, last)
        return bottom, top

    def _edges(self, rows: float) -> tuple[float, float]:
        levels = self.outline.levels
        for below, above in pairwise(levels):
            if below.rows <= rows <= above.rows and above.rows > below.rows:
                share = (rows - below.rows) / (above.rows - below.rows)
                left = below.left + (above.left - below.left) * share
                right = below.right + (above.right - below.right) * share
                return self.x(left), self.x(right)
        return self.x(levels[0].left), self.x(levels[0].right)

    def across(self, label: tuple[str, str], rows: float, around: str) -> Iterator[Shape]:
        """Measure a width below the piece."""
        left, right = sorted(self._edges(rows))
        yield from self._measure_across(left, right, self.base + 3.5, label, around, below=True)

    def above(self, label: tuple[str, str], around: str) -> Iterator[Shape]:
        """Measure the width of the upper edge."""
        level = self.outline.levels[-1]
        left, right = sorted((self.x(level.left), self.x(level.right)))
        yield from self._measure_across(left, right, self.top - 3.5, label, around, below=False)

    def widest(self, label: tuple[str, str], around: str) -> Iterator[Shape]:
        """Measure the greatest width inside the outline."""
        level = max(self.outline.levels, key=lambda one: one.width)
        y = self.y(level.rows)
        left, right = sorted((self.x(level.left), self.x(level.right)))
        yield LineShape(left, y, right, y, 0.25, SOFT, 1.0)
        yield from self._words((left + right) / 2, y - self.line - 1.2, label, around)

    def _measure_across(
        self,
        left: float,
        right: float,
        y: float,
        label: tuple[str, str],
        around: str,
        *,
        below: bool,
    ) -> Iterator[Shape]:
        yield LineShape(left, y, right, y)
        yield LineShape(left, y - _TICK, left, y + _TICK)
        yield LineShape(right, y - _TICK, right, y + _TICK)
        first = y + self.line if below else y - self.line - 1.2
        yield from self._words((left + right) / 2, first, label, around)

    def _words(self, x: float, y: float, label: tuple[str, str], around: str) -> Iterator[Shape]:
        more = f" {around}" if self.outline.in_the_round else ""
        yield Words(x, y, label[0] + more, self.type, bold=True)
        yield Words(x, y + self.line, label[1] + more, self.type)

    def height(self, label: tuple[str, str]) -> Iterator[Shape]:
        """Measure the whole height, left of the piece."""
        x = self.left - 5
        yield from self._measure_up(x, self.base, self.y(self.outline.levels[-1].rows))
        middle = (self.base + self.y(self.outline.levels[-1].rows)) / 2
        yield Words(x - 2, middle - 0.5, label[0], self.type, Anchor.END, bold=True)
        yield Words(x - 2, middle - 0.5 + self.line, label[1], self.type, Anchor.END)

    def stage_height(self, index: int, label: tuple[str, str]) -> Iterator[Shape]:
        """Measure the height of one part, right of the piece."""
        x = self.left + self.wide + 5
        bottom, top = self._stage_rows(index)
        yield from self._measure_up(x, self.y(bottom), self.y(top))
        middle = (self.y(bottom) + self.y(top)) / 2
        if (top - bottom) * self.mm_per_row > 2.2 * self.line:
            yield Words(x + 2, middle - 0.5, label[0], self.type, Anchor.START, bold=True)
            yield Words(x + 2, middle - 0.5 + self.line, label[1], self.type, Anchor.START)
        else:
            both = f"{label[0]} ({label[1]})"
            yield Words(x + 2, middle + self.type * 0.36, both, self.type, Anchor.START)

    @staticmethod
    def _measure_up(x: float, bottom: float, top: float) -> Iterator[Shape]:
        yield LineShape(x, bottom, x, top)
        yield LineShape(x - _TICK, bottom, x + _TICK, bottom)
        yield LineShape(x - _TICK, top, x + _TICK, top)
