"""The pattern: its rows in this size, how the fabric looks, and whether every row adds up."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.drawings.piece import fabric_of
from app.resources import said_path
from app.window.screens.pages import Page
from app.window.screens.panels import Panel
from app.window.views.chart_view import ChartView
from app.window.views.fabric_view import FabricView
from engine.quantities import Length

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.printing.squares import Chart
    from app.session.situation import Situation
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.text import Text
    from engine.pattern import PatternDocument, Place, Problem, SizeVerdict
    from engine.state import PieceState

_MOST_ROWS = 400
"""Rows of a part that are written out; an open part is written out as far as it repeats itself."""
_PICTURE = 46.0  # mm
_CHART_LEAST = 26.0
_TALLEST = 150.0
"""A chart is given so many mm at most; a taller one is drawn smaller."""


class PatternPage(Page):
    """The rows of the piece on the needle; problems lead to their rows."""

    def __init__(
        self,
        kit: Kit,
        open_file: Callable[[Path], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `show` fills it. `open_file` shows a file that was written."""
        self.kit = kit
        super().__init__(kit.look, close, title=kit.words("screens", "pattern"), **properties)
        self.rows: dict[int, Text] = {}
        self.problems: list[Control] = []
        self.print_out: Control | None = None
        self._open_file = open_file
        self.words = kit.words
        """The words of the page; in rounds where the piece is."""
        self._charts: tuple[str, tuple[Chart, ...]] = "", ()
        self._printed = ""

    def follow(self, situation: Situation) -> None:
        """Show the row that is worked now: it changed while the page lies open."""
        self._printed = ""
        self.show(situation)

    def show(self, situation: Situation) -> None:
        """Show the pattern of a piece."""
        from app.pieces.pattern_cache import document_to_knit  # noqa: PLC0415 (the reader of patterns)
        from engine.pattern import PatternDocument  # noqa: PLC0415

        self.clear()
        self.rows, self.problems = {}, []
        words, sizes, state = self.kit.words, self.look.theme.sizes, situation.state
        pattern = state.pattern
        if pattern is None or pattern.sha256 not in dict(state.texts):
            self.add_text([TextSpan(words("pattern", "none"))], sizes.words)
            self.lay()
            return
        document = document_to_knit(state.text_of(pattern.sha256))
        if not isinstance(document, PatternDocument):
            for problem in document:
                self.add_text([TextSpan(str(problem), "alert")], sizes.words)
            self.lay()
            return
        if situation.course.in_the_round:
            words = words.in_rounds()
        self.words = words
        self._now(situation)
        self._pictures(situation, document)
        self._print_control(document, pattern.size)
        self.add_text([TextSpan(words("pattern", "all_rows"), bold=True)], sizes.far_words)
        self._write_rows(situation)
        self._head(document, pattern.size)
        self._verdict(document, pattern.size)
        self.lay()

    def _now(self, situation: Situation) -> None:
        """Write the row that is worked large, and the one after it."""
        words, sizes, state = self.words, self.look.theme.sizes, situation.state
        place = situation.course.where(state.loops_ended, state.working)
        if place.finished:
            return
        side = words("board", str(place.side))
        sided = "working_round" if situation.course.in_the_round else "working"
        head = words("pattern", sided, row=place.row, side=side)
        self.add_text([TextSpan(head, "mark_ink", bold=True, ground="mark")], sizes.instruction)
        said = words.instruction(place.instruction)
        self.add_text([TextSpan(f"{said[:1].upper()}{said[1:]}")], sizes.instruction)
        if place.after is not None and place.after != place.before:
            count = words("pattern", "stitches", count=place.after)
            self.add_text([TextSpan(count, "good", bold=True)], sizes.far_words)
        coming = situation.course.where(state.loops_ended, place.row + 1)
        if not coming.finished:
            text = words.instruction(coming.instruction)
            then = words("pattern", "then", row=coming.row, text=text)
            self.add_text([TextSpan(then, "soft")], sizes.far_words)

    def _pictures(self, situation: Situation, document: PatternDocument) -> None:
        """Show the chart of the part with the row in it, and the fabric as it is."""
        from app.printing.chart_now import chart_now, charts_for  # noqa: PLC0415 (brings printing)
        from app.printing.data import print_data  # noqa: PLC0415
        from engine.facts.stated_gauge import read_stated_gauge  # noqa: PLC0415

        words, state, course = self.words, situation.state, situation.course
        wool = self.look.theme.wool_for(state.piece)
        picture = FabricView(look=self.look, wool=wool, fabric=fabric_of(state, course))
        panels = [Panel(self.look, words("pattern", "picture"), [], picture, _PICTURE)]
        key = f"{document.text_hash} {course.size} {course.title}"
        if self._charts[0] != key:
            self._charts = key, charts_for(course, read_stated_gauge(document.gauge))
        place = course.where(state.loops_ended, state.working)
        left = self.look.left_handed
        found = chart_now(self._charts[1], place, print_data().signs, left_handed=left)
        if found is not None:
            chart = ChartView(look=self.look, chart=found)
            tall = min(max(found.drawing.height * 1.9, _CHART_LEAST), _TALLEST)
            panels.insert(0, Panel(self.look, words("pattern", "chart"), [], chart, tall))
        self.add_panels(panels)

    def _print_control(self, document: PatternDocument, size: str | None) -> None:
        words, sizes = self.words, self.look.theme.sizes
        printing = partial(self._print, document, size)
        self.print_out = self.control_on(self.add_shelf(), words("pattern", "print"), printing)
        self.told = self.add_text([TextSpan(self._printed, "good", bold=True)], sizes.words)

    def _print(self, document: PatternDocument, size: str | None) -> None:
        """Write the printed pattern and show it with what the device shows pages with."""
        from app.printing.written_out import write_out  # noqa: PLC0415 (only when it is wanted)

        try:
            path = write_out(document, size, left_handed=self.look.left_handed)
        except OSError as error:
            why = error.strerror or str(error)
            self._printed = self.words("pattern", "not_printed", why=why)
        else:
            self._printed = self.words("pattern", "printed", path=said_path(path))
            self._open_file(path)
        self.told.spans = [TextSpan(self._printed, "good", bold=True)]
        self.lay()

    def _head(self, document: PatternDocument, size: str | None) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        title = document.title
        if size:
            title = f"{title}, {words('pattern', 'size', size=size)}"
        self.add_text([TextSpan(title, bold=True)], sizes.far_words)
        for text in (document.gauge, document.needle, document.yarn):
            if text:
                self.add_text([TextSpan(text, "soft")], sizes.words)

    def _verdict(self, document: PatternDocument, size: str | None) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        verdict = _of_size(document.check(), size)
        if verdict is None:
            return
        if verdict.ok:
            mark = f"\N{CHECK MARK} {words('pattern', 'right')}"
            self.add_text([TextSpan(mark, "good", bold=True)], sizes.words)
        else:
            count = len(verdict.problems)
            key = "wrong_one" if count == 1 else "wrong"
            self.add_text(
                [TextSpan(words("pattern", key, count=count), "alert", bold=True)], sizes.words
            )
            shelf = self.add_shelf()
            for problem in verdict.problems:
                title = " ".join(filter(None, (problem.section, problem.row, problem.message)))
                self.problems.append(self.control_on(shelf, title, partial(self._go_to, problem)))
        trusted = sum(not count.checked for count in verdict.counts)
        if trusted:
            note = words("pattern", "unchecked", count=trusted)
            self.add_text([TextSpan(note, "soft")], sizes.words)

    def _go_to(self, problem: Problem) -> None:
        """Bring the row that a problem is about into view."""
        row = problem.row_number
        if row in self.rows:
            self.bring_into_view(self.rows[row])

    def _write_rows(self, situation: Situation) -> None:
        sizes, state = self.look.theme.sizes, situation.state
        section, seen, row = "", set[str](), 1
        while row <= _MOST_ROWS:
            place = situation.course.where(state.loops_ended, row)
            if place.finished:
                break
            if place.section != section:
                section, seen = place.section, set()
                self.add_text([TextSpan(place.section_title, bold=True)], sizes.far_words)
                if place.open_loop is not None:
                    self.add_text([TextSpan(_until(self.kit, place), "soft")], sizes.words)
            now = row == state.working
            said = str(place.instruction)
            if now or place.open_loop is None or said not in seen:
                self.rows[row] = self.add_text(self._row(place, state, now=now), sizes.far_words)
            seen.add(said)
            if place.open_loop is not None and row > state.working and row > 2 * len(seen) + 2:
                break  # an open part goes on as it began
            row += 1

    def _row(self, place: Place, state: PieceState, *, now: bool) -> list[TextSpan]:
        words = self.words
        side = words("board", str(place.side))
        ink = "soft" if place.row <= state.done else "ink"
        said = words("pattern", "row", row=place.row, side=side, text=str(place.instruction))
        spans = [TextSpan(said, "mark_ink" if now else ink, ground="mark" if now else "")]
        if place.after is not None and place.after != place.before:
            spans.append(TextSpan(words("pattern", "count", count=place.after), ink))
        if now:
            spans += [TextSpan(" "), TextSpan(words("pattern", "now"), "good", bold=True)]
        return spans


def _until(kit: Kit, place: Place) -> str:
    loop = place.open_loop
    if loop is not None and isinstance(loop.target, Length):
        return kit.words("pattern", "open", length=loop.target)
    return kit.words("pattern", "open_on")


def _of_size(verdicts: tuple[SizeVerdict, ...], size: str | None) -> SizeVerdict | None:
    for verdict in verdicts:
        if verdict.size == size or size is None:
            return verdict
    return None
