"""Charts that several sizes share: the same squares, or the upper part of a larger size's chart.

A crown that begins with more stitches in a larger size and ends like the others is drawn once, in
the largest size; each row has its number for every size, as the words of the rows give it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.printing.instructions import numbers_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.printing.squares import Chart


@dataclass(frozen=True, slots=True)
class SharedChart:
    """A chart, for which sizes (counted from 0) it is, and each size's own one, in their order.

    `staggered`: the sizes begin at different rows of it.
    """

    drawn: Chart
    sizes: tuple[int, ...]
    own: tuple[Chart, ...]
    staggered: bool = False


def shared(charts: Sequence[Sequence[Chart]]) -> tuple[SharedChart, ...]:
    """Return the charts of all sizes (one list a size), each drawn once."""
    alike: dict[object, dict[int, Chart]] = {}
    for size, of_size in enumerate(charts):
        for chart in of_size:
            alike.setdefault(chart.drawn, {}).setdefault(size, chart)
    groups = list(alike.values())
    found: list[list[dict[int, Chart]]] = []
    for group in groups:
        home = next((one for one in found if _belongs(group, one)), None)
        if home is None:
            found.append([group])
        else:
            home.append(group)
    return tuple(_shared(one) for one in found)


def _belongs(group: dict[int, Chart], others: list[dict[int, Chart]]) -> bool:
    """Whether a size's chart is the upper part of each of the others, or each of them of it."""
    if any(group.keys() & other.keys() for other in others):
        return False
    one = _any(group)
    return all(_is_top_of(one, _any(other)) or _is_top_of(_any(other), one) for other in others)


def _any(group: dict[int, Chart]) -> Chart:
    return next(iter(group.values()))


def _is_top_of(small: Chart, large: Chart) -> bool:
    """Whether the rows of a chart are the last rows of a larger one, square for square."""
    below = len(large.rows) - len(small.rows)
    plain = not any((small.frame, large.frame, small.again, large.again))
    if not plain or below <= 0 or small.titles != large.titles or small.parts != large.parts:
        return False
    pairs = list(zip(small.rows, large.rows[below:], strict=True))
    shifted = {there.indent - here.indent for here, there in pairs}
    return len(shifted) == 1 and all(
        (here.cells, here.leftwards, bool(here.number))
        == (there.cells, there.leftwards, bool(there.number))
        for here, there in pairs
    )


def _shared(groups: list[dict[int, Chart]]) -> SharedChart:
    own = dict(sorted((size, chart) for group in groups for size, chart in group.items()))
    if len(groups) == 1:
        return SharedChart(_any(groups[0]), tuple(own), tuple(own.values()))
    largest = max(own.values(), key=lambda chart: len(chart.rows))
    rows = []
    for at, row in enumerate(largest.rows):
        numbers = []
        for chart in own.values():
            there = at - (len(largest.rows) - len(chart.rows))
            numbers.append(chart.rows[there].number if there >= 0 else None)
        rows.append(replace(row, said=numbers_text(numbers) if row.number else ""))
    drawn = replace(largest, rows=tuple(rows))
    return SharedChart(drawn, tuple(own), tuple(own.values()), staggered=True)
