"""The chart of the part that is on the needle, with the row that is worked: for the screens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.printing.chart import charts_of
from app.printing.chart_drawing import CELL, draw_chart
from app.printing.chart_rows import own_numbers
from app.printing.walked import walk

if TYPE_CHECKING:
    from app.printing.shapes import Drawing
    from app.printing.signs import Signs
    from app.printing.squares import Chart
    from engine.facts.stated_gauge import StatedGauge
    from engine.pattern import Course, Place


@dataclass(frozen=True, slots=True)
class ChartNow:
    """A chart as a drawing, and the band of the row that is worked: top and foot, in mm."""

    drawing: Drawing
    band: tuple[float, float] | None


def charts_for(course: Course, gauge: StatedGauge | None) -> tuple[Chart, ...]:
    """Return the charts of a piece; its open parts are as long as the stated gauge makes them."""
    return charts_of(walk(course, gauge.rows_per_10cm if gauge is not None else None))


def chart_now(
    charts: tuple[Chart, ...], place: Place, signs: Signs, *, left_handed: bool
) -> ChartNow | None:
    """Return the chart in which the row of a place is drawn, or of its part; None without one."""
    of_part = [chart for chart in charts if place.section_title in chart.titles]
    if not of_part or place.finished:
        return None
    found = [(chart, _row_in(chart, place)) for chart in of_part]
    chart, at = next((one for one in found if one[1] is not None), found[0])
    seen = chart.mirrored() if left_handed else chart
    drawing = draw_chart(seen, signs, place.section_title, mirrored=left_handed)
    if at is None:
        return ChartNow(drawing, None)
    top = (len(chart.rows) - at - 1) * CELL + 1
    return ChartNow(drawing, (top, top + CELL))


def _row_in(chart: Chart, place: Place) -> int | None:
    """
    Return which row of a chart is worked.

    It is the one with the row's own number, or with its number in the part if it has none. How many
    rows lie below is no help: an open part is as long as she made it, in a chart as long as the
    gauge makes it.
    """
    number = next(iter(own_numbers(place.label)), place.row_in_section)
    found = [at for at, row in enumerate(chart.rows) if row.number == number]
    return found[0] if len(found) == 1 else None
