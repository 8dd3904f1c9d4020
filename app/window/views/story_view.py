"""The story on the canvas: length, hand and yarn against rows, with what is foreseen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Ellipse, Line
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from app.display.story_signs import Signs
from app.window.views.chart import Chart
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from collections.abc import Iterable

    from app.display.theme import Colour
    from app.drawings.story import Curve, Story
    from app.window.look import Look

_LEAST_PERCENT: Final = 8.0
"""So much looser and tighter is always shown: less would look like more than it is."""


class Drawn(Widget):
    """Something drawn on the canvas in the look of the screens, in the wool of the piece."""

    wool: Colour | None = ObjectProperty(None, allownone=True)
    look: Look | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("wool", "look", "size", "pos"):
            self.fbind(name, self.redraw)
        if self.look is not None:
            self.look.follow(self)
        self.redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self.redraw()

    def redraw(self, *_: object) -> None:
        """Draw everything, what lies behind first."""
        drawn_or_told(self, self.look, self._draw_anew)

    def _draw_anew(self) -> None:
        self.canvas.clear()
        if self.look is None or self.wool is None or min(self.size) <= 1:
            return
        with self.canvas:
            self.draw(self.look, self.wool)

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw; the canvas is open."""
        raise NotImplementedError


class StoryView(Drawn):
    """Length against rows; the axes are numbered in rows and in the unit of the lengths."""

    story: Story | None = ObjectProperty(None, allownone=True)
    signs: Signs = ObjectProperty(Signs())

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the axes, the forecast, the length to reach, and what was read."""
        story = self.story
        if story is None:
            return
        chart = Chart(self, look, story.last_row, (0.0, story.longest), story.unit.value)
        chart.axes()
        _cone(chart, story)
        if story.target is not None:
            _, y = chart.at(0, story.target)
            chart.dashes(y, "alert")
        holding = [(0, 0.0), *((one.row, one.length) for one in story.points if not one.aside)]
        _thread(chart, wool, holding)
        _dots(chart, ((one.row, one.length, one.aside) for one in story.points))
        chart.done_line(story.done, self.signs.done)
        last, right = story.last, look.mm(2.4)
        if last is not None:
            chart.keep_clear(*chart.at(last.row, last.length), right)
        if story.target is not None:  # words come after all lines, which would cross them
            _, y = chart.at(0, story.target)
            below = y - chart.told * look.theme.fonts.capital - chart.gap
            chart.says(self.signs.goal, chart.left + chart.gap, below, ink="alert")
        if last is not None:
            x, y = chart.at(last.row, last.length)
            chart.says(self.signs.last, x + right, y - right, ink="ink")
        for one in [point for point in story.points if point.aside][-1:]:
            x, y = chart.at(one.row, one.length)
            chart.says(self.signs.aside, x + right, y - right, ink="soft")
        if story.cone is not None and story.target is not None:
            x, y = chart.at(story.cone[1], story.target)
            below = y - 2.4 * chart.told * look.theme.fonts.capital - chart.gap
            chart.says(self.signs.cone, x, below, ink="ink", align=1.0)
        chart.noted(story.noted, self.signs.noted)


def _cone(chart: Chart, story: Story) -> None:
    """Draw between which rows the piece becomes long enough."""
    if story.cone is None or story.target is None:
        return
    last = story.last
    start = chart.at(last.row, last.length) if last is not None else chart.at(0, 0)
    first, far = (chart.at(row, story.target) for row in story.cone)
    chart.wedge(start, first, far)


class HandView(Drawn):
    """
    How much looser (up) or tighter (down) than the swatch the fabric is.

    `names` are the words for looser and for tighter.
    """

    curve: Curve | None = ObjectProperty(None, allownone=True)
    names = ObjectProperty(("", ""))
    signs: Signs = ObjectProperty(Signs())

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the band of an even hand, the smooth line, the looks and how rows felt."""
        curve = self.curve
        if curve is None:
            return
        most = max([_LEAST_PERCENT, *(abs(value) for _, value in curve.points)])
        chart = Chart(self, look, curve.last_row, (-most, most), "%")
        chart.ribbon(curve.band)
        chart.axes()
        _thread(chart, wool, curve.smooth)
        _dots(chart, ((row, value, False) for row, value in curve.points))
        chart.done_line(curve.done, self.signs.done)
        looser, tighter = self.names
        capital = chart.told * look.theme.fonts.capital
        chart.says(looser, chart.left + chart.gap, chart.top - capital, ink="soft")
        chart.says(tighter, chart.left + chart.gap, chart.bottom + chart.gap, ink="soft")
        names = (self.signs.tight, self.signs.loose)
        chart.felt(curve.felt, chart.bottom + capital + chart.gap * 4, names)
        chart.noted(curve.noted, self.signs.noted)


class YarnView(Drawn):
    """The yarn that is left by weight, and between which rows it comes to its end."""

    curve: Curve | None = ObjectProperty(None, allownone=True)
    signs: Signs = ObjectProperty(Signs())

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the weighings, how far the yarn reaches, and the last row that needs it."""
        curve = self.curve
        if curve is None or not curve.points:
            return
        most = max(value for _, value in curve.points)
        chart = Chart(self, look, curve.last_row, (0.0, max(most, 1.0)), "g")
        chart.axes()
        if curve.reach is not None:
            chart.wedge(chart.at(*curve.points[-1]), *(chart.at(row, 0) for row in curve.reach))
        _thread(chart, wool, curve.points)
        _dots(chart, ((row, value, False) for row, value in curve.points))
        if curve.needed is not None:
            x, _ = chart.at(curve.needed, 0)
            Color(*look.alert)
            Line(points=[x, chart.bottom, x, chart.top], width=max(look.mm(0.3), 1))
            chart.says(self.signs.goal, x, chart.top + chart.gap * 0.6, ink="alert")
        row, grams = curve.points[-1]
        x, y = chart.at(row, grams)
        chart.says(self.signs.last, x + look.mm(2.4), y + look.mm(1.2), ink="ink")
        if curve.reach is not None:
            x, y = chart.at(curve.reach[1], 0)
            chart.says(self.signs.cone, x, y + chart.gap, ink="ink", align=1.0)
        if curve.needed != curve.done:
            chart.done_line(curve.done, self.signs.done, align=1.0)


class HoursView(Drawn):
    """The time that was knitted, against rows."""

    curve: Curve | None = ObjectProperty(None, allownone=True)
    unit = ObjectProperty("h")
    signs: Signs = ObjectProperty(Signs())

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the rising thread of hours and where it stands."""
        curve = self.curve
        if curve is None or not curve.points:
            return
        row, spent = curve.points[-1]
        chart = Chart(self, look, curve.last_row, (0.0, max(spent, 1.0)), self.unit)
        chart.axes()
        _thread(chart, wool, curve.points)
        _dots(chart, [(row, spent, False)])
        chart.done_line(curve.done, self.signs.done)


def _thread(chart: Chart, wool: Colour, points: Iterable[tuple[float, float]]) -> None:
    """Draw a line through points in the wool of the piece."""
    line = [value for row, height in points for value in chart.at(row, height)]
    if len(line) > 2:  # noqa: PLR2004 (a line has two ends)
        wide = max(chart.look.mm(0.6), 1.5)
        Color(*chart.look.line)  # an edge: pale wool is seen on pale paper too
        Line(points=line, width=wide + max(chart.look.mm(0.15), 0.6), joint="round", cap="round")
        Color(*chart.look.tinted(wool))
        Line(points=line, width=wide, joint="round", cap="round")


def _dots(chart: Chart, points: Iterable[tuple[float, float, bool]]) -> None:
    """Draw what was read; what was set aside is hollow."""
    look = chart.look
    side = look.mm(2.4)
    for row, value, aside in points:
        x, y = chart.at(row, value)
        Color(*(look.line if aside else look.ink))
        if aside:
            Line(circle=(x, y, side / 2), width=max(look.mm(0.2), 1))
        else:
            Ellipse(pos=(x - side / 2, y - side / 2), size=(side, side))
