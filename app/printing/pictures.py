"""The pictures of one piece: its schematic, its charts, its fabric, each with words beside it."""

from __future__ import annotations

from collections import Counter
from itertools import groupby, takewhile
from typing import TYPE_CHECKING, Final

from app.printing.chart import charts_of
from app.printing.chart_drawing import chart_in_letters, draw_chart, draw_sign
from app.printing.chart_rows import own_numbers
from app.printing.fabric_drawing import cut_out, draw_fabric
from app.printing.measured import computed, graded_measure
from app.printing.outline import outline_of
from app.printing.schematic import LARGE_TYPE, TYPE, draw_schematic
from app.printing.shared_charts import shared
from app.printing.sheet import ChartSheet, Illustration, KeyEntry
from app.printing.squares import UNWORKED

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.printing.data import PrintData
    from app.printing.shared_charts import SharedChart
    from app.printing.squares import Chart, ChartRow
    from app.printing.walked import Walked
    from engine.facts.stated_gauge import StatedGauge
    from engine.pattern.stitches import Stitch
    from engine.quantities import LengthUnit

_MOST_ROWS: Final = 80
_MOST_STITCHES: Final = 72
_CUT_STITCHES: Final = 60
_MOST_VARIANTS: Final = 4


class Pictures:
    """Draws one piece, walked for each of `sizes` (names; one empty name if there are none).

    `own` are the stitches that the designer has defined.
    """

    def __init__(
        self,
        title: str,
        walked: Sequence[Walked],
        sizes: Sequence[str],
        data: PrintData,
        own: Sequence[Stitch],
        *,
        left_handed: bool,
        large: bool,
    ) -> None:
        """Keep what is drawn."""
        self._title = title
        self._walked = walked
        self._sizes = sizes
        self._data = data
        yarns = dict.fromkeys(
            step.colour for row in walked[0].rows for step in row.steps or () if step.colour
        )
        self._signs = data.signs.with_own(own, tuple(yarns))
        self._say = data.wording.say
        self._left_handed = left_handed
        self._large = large
        self._charts = [charts_of(one) for one in walked]

    @property
    def _round(self) -> bool:
        return self._walked[0].course.in_the_round

    def _kind(self, *, many: bool = True, chart: Chart | None = None) -> str:
        """Return "rounds" or "rows": a heel of a sock in the round is turned, row by row."""
        turned = chart is not None and not all(row.leftwards for row in chart.rows)
        in_rounds = self._round and not turned
        word = ("rounds" if many else "round") if in_rounds else ("rows" if many else "row")
        return self._data.wording.sentences[word]

    # --- schematic ------------------------------------------------------------------------------

    def schematic(self, gauge: StatedGauge | None, unit: LengthUnit) -> Illustration | None:
        """Return the outline to scale, if gauge and rows of all sizes are known."""
        outlines = [found for one in self._walked if (found := outline_of(one, gauge, unit))]
        if len(outlines) != len(self._walked):
            return None
        width = graded_measure([computed(one.width(one.levels[0].width)) for one in outlines])
        height = graded_measure([computed(one.height) for one in outlines])
        around = self._say("around")
        describes = self._say(
            "alt_schematic",
            title=self._title,
            width=f"{width} {around if self._round else self._say('wide')}",
            height=height,
        )
        type_size = LARGE_TYPE if self._large else TYPE
        drawing = draw_schematic(
            outlines, around, describes, type_size=type_size, mirrored=self._left_handed
        )
        captions = [self._say("schematic_round" if self._round else "schematic_note")]
        if len(self._sizes) > 1:
            captions.append(self._say("schematic_size", size=self._sizes[0]))
        if outlines[0].divided:
            captions.append(self._say("schematic_open"))
        return Illustration(drawing, tuple(captions), (describes,))

    # --- charts ---------------------------------------------------------------------------------

    def charts(self) -> tuple[ChartSheet, ...]:
        """Return the charts; where sizes differ too much, one for each of them."""
        found = shared(self._charts)
        variants = Counter(one.drawn.titles for one in found)
        shown: Counter[tuple[str, ...]] = Counter()
        sheets = []
        for one in found:
            shown[one.drawn.titles] += 1
            # Where every size has its own, the first one shows the principle.
            if variants[one.drawn.titles] <= _MOST_VARIANTS or shown[one.drawn.titles] == 1:
                sheets.append(self._chart(one))
        return tuple(sheets)

    def counted(self) -> dict[str, tuple[int, ...]]:
        """
        Return the sections whose rows have numbers only in their charts, with their rows a size.

        Print gives the same numbers to their words.
        """
        charted = {
            title
            for charts in self._charts
            for chart in charts
            if any(row.number for row in chart.rows)
            for title in chart.titles
        }
        found = {}
        for title in charted:
            rows = [[r for r in one.rows if r.place.section_title == title] for one in self._walked]
            if not any(own_numbers(row.place.label) for of_size in rows for row in of_size):
                found[title] = tuple(map(len, rows))
        return found

    def reading(self) -> str:
        """Return how the charts of the piece are read."""
        hand = "_left" if self._left_handed else ""
        reading = self._say(f"chart_{'round' if self._round else 'flat'}{hand}")
        rows = (row for charts in self._charts for chart in charts for row in chart.rows)
        if self._round and not all(row.leftwards for row in rows):
            reading = f"{reading} {self._say(f'chart_turned{hand}')}"
        return reading

    def _chart(self, shared_chart: SharedChart) -> ChartSheet:
        """Return what is drawn alike for some sizes: one of the charts, with all their numbers."""
        chart, charts = shared_chart.drawn, list(shared_chart.own)
        sizes = [self._sizes[size] for size in shared_chart.sizes]
        title = ", ".join(title for title in chart.titles if title) or self._title
        if self._parted(chart):
            numbers = [row.number for row in chart.rows if row.number]
            first, last = numbers[0], numbers[-1]
            sentence = ("chart_of_row", "chart_of_two_rows", "chart_of_rows")[min(last - first, 2)]
            kind = self._kind(many=first != last, chart=chart).lower()
            title = self._say(sentence, title=title, kind=kind, first=first, last=last)
        if len(sizes) < len(self._sizes):
            title = self._say("chart_of_size", title=title, size=", ".join(sizes))
        words = "; ".join(
            self._say(
                "alt_chart_row" if row.number else "alt_chart_row_without_number",
                kind=self._kind(many=False, chart=chart).capitalize(),
                number=row.label,
                stitches=stitches_in_words(row),
            )
            for row in chart.rows
        )
        describes = self._say("alt_chart", title=title, rows=words)
        seen = chart.mirrored() if self._left_handed else chart
        drawing = draw_chart(seen, self._signs, describes, mirrored=self._left_handed)
        captions = []
        if shared_chart.staggered:
            captions.append(
                self._say("chart_of_sizes", kind=self._kind(many=False, chart=chart).lower())
            )
        if chart.frame is not None:
            captions.append(self._say("chart_repeat", times=_graded([one.times for one in charts])))
        if chart.parts > 1:
            captions.append(self._say("chart_wedge", parts=_graded([one.parts for one in charts])))
        if chart.again is not None:
            first, last = chart.again
            sentence = ("chart_row_repeats", "chart_two_rows_repeat", "chart_rows_repeat")[
                min(last - first, 2)
            ]
            kind = self._kind(many=first != last, chart=chart).capitalize()
            captions.append(self._say(sentence, kind=kind, first=first, last=last))
        letters = chart_in_letters(seen, self._signs)
        return ChartSheet(title, Illustration(drawing, tuple(captions), letters))

    def _parted(self, chart: Chart) -> bool:
        """Whether other rows of the same part have a chart of their own."""
        alike = max(sum(one.titles == chart.titles for one in charts) for charts in self._charts)
        return alike > 1 and any(row.number for row in chart.rows)

    def key(self) -> tuple[KeyEntry, ...]:
        """Return the signs of all the charts, each once."""
        marks = dict.fromkeys(
            (cell.mark, cell.width)
            for charts in self._charts
            for chart in charts
            for row in chart.rows
            for cell in row.cells
        )
        return tuple(
            KeyEntry(
                draw_sign(
                    line.sign,
                    line.width,
                    self._say("alt_sign", words=line.words),
                    mirrored=self._left_handed,
                ),
                line.sign.text * (line.width if line.sign.crossing is not None else 1),
                line.words,
            )
            for line in self._signs.key(marks, self._data.wording.crossing_words)
        )

    # --- fabric ---------------------------------------------------------------------------------

    def fabric(self, wools: Callable[[tuple[str, ...]], tuple[str, ...]]) -> Illustration | None:
        """
        Return the fabric stitch by stitch, or as much of it as can be seen on paper.

        `wools` gives the colour of each yarn, by its letter ("" where the pattern has only one).
        """
        walked = self._walked[0]
        together = walked.rows_together
        most = min(together, _MOST_ROWS)
        rows = tuple(takewhile(lambda row: row.stitches, walked.drawn(most)))
        if not rows or not walked.course.cast_on or not any(row.steps for row in walked.rows):
            return None
        captions = [
            self._say("fabric_size", size=self._sizes[0])
            if len(self._sizes) > 1
            else self._say("fabric_note")
        ]
        edge = 1 if rows[0].number == 0 else 0
        if together < min(len(walked.rows), _MOST_ROWS):
            captions.append(self._say("fabric_divided"))
        if len(walked.rows) > _MOST_ROWS and most == _MOST_ROWS:
            captions.append(self._say("fabric_rows", rows=_MOST_ROWS, kind=self._kind()))
        count = walked.course.cast_on
        kept = count // 2 if self._round else count if count <= _MOST_STITCHES else _CUT_STITCHES
        kept = min(kept, _MOST_STITCHES)
        if kept < count:
            rows = tuple(takewhile(lambda row: row.stitches, cut_out(rows, kept)))
            half = self._round and kept == count // 2
            sentence = "fabric_half" if half else "fabric_width"
            captions.append(self._say(sentence, stitches=kept, all=count))
        describes = self._say(
            "alt_fabric", title=self._title, stitches=kept, rows=len(rows) - edge, kind=self._kind()
        )
        return Illustration(
            draw_fabric(rows, describes, wools, left_handed=self._left_handed), tuple(captions)
        )


def stitches_in_words(row: ChartRow) -> str:
    """Write the stitches of a chart's row in the order of work: "k2, p2, k2"."""
    cells = [cell for cell in row.cells if cell.mark.stitch not in UNWORKED]
    if row.leftwards:
        cells.reverse()
    words = []
    for mark, group in groupby(cell.mark for cell in cells):
        count = len(list(group))
        if mark.stitch in {"k", "p", "sl"}:
            words.append(f"{mark.stitch}{count}")
        else:
            words.append(mark.stitch if count == 1 else f"{mark.stitch} {count} times")
    return ", ".join(words)


def _graded(times: list[int]) -> str:
    if len(set(times)) == 1:
        return f"{times[0]}"
    return f"{times[0]} ({', '.join(map(str, times[1:]))})"
