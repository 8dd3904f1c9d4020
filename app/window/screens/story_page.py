"""The story of the piece: how it grew, what the hand felt, what was noted, the newest first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.display.board_view import tape_of
from app.display.flow import TextSpan
from app.display.story_lines import story_lines
from app.display.story_signs import (
    Signs,
    hand_signs,
    lengths_told,
    story_signs,
    yarn_signs,
)
from app.drawings.story import hand_curve, hours_curve, story_of, yarn_curve
from app.window.screens.pages import Page
from app.window.screens.panels import Panel
from app.window.views.story_view import HandView, HoursView, StoryView, YarnView
from engine.answering import hand_answer
from engine.answering.hours_answer import how_long
from engine.answering.yarn_answer import yarn_left
from engine.forecast.pace import pace

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.session.situation import Situation
    from app.window.screens.kit import Kit
    from app.window.views.story_view import Drawn
    from engine.replies import Reply

_CHART = 58.0  # mm
_SMALL_CHART = 40.0
_HOUR = 3600
_AT_A_TIME = 60
"""Lines of the story that are written at once; a touch brings earlier ones."""


class StoryPage(Page):
    """The chart of lengths, and below it everything that happened."""

    def __init__(self, kit: Kit, close: Callable[[], None], **properties: Any) -> None:
        """Build an empty page; `show` fills it."""
        self.kit = kit
        super().__init__(kit.look, close, title=kit.words("screens", "story"), **properties)
        self.lines: tuple[tuple[int, str], ...] = ()
        self.written = 0
        self.words = kit.words
        """The words of the story; in rounds where the piece is."""

    def show(self, situation: Situation) -> None:
        """Show the story of a piece."""
        self.clear()
        words, sizes, state = self.kit.words, self.look.theme.sizes, situation.state
        if situation.course.in_the_round:
            words = words.in_rounds()
        self.words = words
        self.add_text([TextSpan(state.name, bold=True)], sizes.far_words)
        self.add_panels([self._length(situation)])
        self.add_panels([self._hand(situation), self._yarn(situation), self._pace(situation)])
        self.add_text([TextSpan(words("story", "notes"), bold=True)], sizes.far_words)
        self.lines = story_lines(state, words, self.kit.length_unit)
        self.written = 0
        if not self.lines:
            self.add_text([TextSpan(words("story", "no_notes"), "soft")], sizes.words)
        self._more()

    # --- the panels ---------------------------------------------------------------------------

    def _length(self, situation: Situation) -> Panel:
        words, state = self.words, situation.state
        story = story_of(state, situation.course, self.kit.length_unit)
        tape = tape_of(state, situation.course, words, self.kit.length_unit)
        said = [TextSpan(f"{tape.words}. ")] if tape is not None else []
        said.append(TextSpan(lengths_told(story, words, last=tape is None)))
        if not story.points:
            said = [TextSpan(words("story", "none"), "soft")]
        drawing = StoryView(look=self.look, wool=self.look.theme.wool_for(state.piece), story=story)
        drawing.signs = story_signs(story, words)
        return Panel(self.look, words("story", "length"), said, drawing, _CHART)

    def _hand(self, situation: Situation) -> Panel:
        state, course = situation.state, situation.course
        curve = hand_curve(state, course)
        drawing = None
        if curve is not None:
            wool = self.look.theme.wool_for(state.piece)
            names = (self.kit.words("story", "looser"), self.kit.words("story", "tighter"))
            drawing = HandView(look=self.look, wool=wool, names=names, curve=curve)
            drawing.signs = hand_signs(curve, self.words)
        return self._told("hand", hand_answer.asked(state, course), drawing)

    def _yarn(self, situation: Situation) -> Panel:
        state, course = situation.state, situation.course
        curve = yarn_curve(state, course, situation.scale_g)
        drawing = None
        if curve is not None:
            wool = self.look.theme.wool_for(state.piece)
            drawing = YarnView(look=self.look, wool=wool, curve=curve)
            drawing.signs = yarn_signs(curve, self.words)
        return self._told("yarn", yarn_left(state, course, situation.scale_g), drawing)

    def _pace(self, situation: Situation) -> Panel:
        words, state = self.words, situation.state
        said = self._said(how_long(situation.state, situation.course, situation.stamps))
        speed = pace(situation.stamps)
        if speed is not None:
            said = [TextSpan(words("story", "a_row", time=_time(speed.seconds_per_row))), *said]
        drawing = None
        found = hours_curve(situation.stamps, state.done)
        if found is not None:
            curve, unit = found
            row, spent = curve.points[-1]
            time = _time(spent * (3600 if unit == "h" else 60))
            said = [TextSpan(words("story", "spent", time=time, row=row)), *said]
            wool = self.look.theme.wool_for(state.piece)
            drawing = HoursView(look=self.look, wool=wool, curve=curve, unit=unit)
            drawing.signs = Signs(done=words("story", "done", row=state.done))
        return Panel(self.look, words("story", "pace"), said, drawing, _SMALL_CHART)

    def _told(self, what: str, replies: Sequence[Reply], drawing: Drawn | None) -> Panel:
        heading = self.kit.words("story", what)
        return Panel(self.look, heading, self._said(replies), drawing, _SMALL_CHART)

    def _said(self, replies: Sequence[Reply]) -> list[TextSpan]:
        return [TextSpan(f"{self.kit.words.reply(one)} ") for one in replies]

    # --- what happened ------------------------------------------------------------------------

    def _more(self) -> None:
        """Write the next lines of the story, and a control for those before them."""
        words, sizes = self.words, self.look.theme.sizes
        if self.shelves:
            self.column.remove_widget(self.shelves.pop())
        upto = self.written + _AT_A_TIME
        for row, text in self.lines[self.written : upto]:
            self.add_text([TextSpan(words("story", "note", row=row, text=text))], sizes.words)
        self.written = min(upto, len(self.lines))
        if self.written < len(self.lines):
            self.control_on(self.add_shelf(), words("story", "earlier"), self._more)
        self.lay()


def _time(seconds: float) -> str:
    """Write a time: to ten seconds (nobody knits more evenly), from an hour on to minutes."""
    if seconds >= _HOUR:
        hours, minutes = divmod(round(seconds / 60), 60)
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    minutes, rest = divmod(round(seconds / 10) * 10, 60)
    if not minutes:
        return f"{max(rest, 10)} s"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"
