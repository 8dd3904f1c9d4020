"""The story on the canvas: length against rows, with the forecast and the length to reach."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.graphics import Color, Ellipse, Line, Mesh, Rectangle
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from app.drawings.story import Story, round_step
from app.screens.text import picture_of, width_of

if TYPE_CHECKING:
    from app.look import Look
    from app.theme import Colour


class StoryView(Widget):
    """Draws a `Story`; the axes are numbered in rows and in the unit of the lengths."""

    story: Story | None = ObjectProperty(None, allownone=True)
    wool: Colour | None = ObjectProperty(None, allownone=True)
    look: Look | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("story", "wool", "look", "size", "pos"):
            self.fbind(name, self._redraw)
        if self.look is not None:
            self.look.follow(self)
        self._redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._redraw()

    def _redraw(self, *_: object) -> None:
        self.canvas.clear()
        look, story, wool = self.look, self.story, self.wool
        if look is None or story is None or wool is None or min(self.size) <= 1:
            return
        with self.canvas:
            _Chart(self, look, story, wool).draw()


class _Chart:
    """One drawing of a story: the measures of the chart and its parts."""

    def __init__(self, where: Widget, look: Look, story: Story, wool: Colour) -> None:
        self.look, self.story, self.wool = look, story, wool
        self.size = round(look.letters(look.theme.sizes.small))
        self.gap = look.mm(1.0)
        letters = look.theme.fonts.capital * self.size
        step = round_step(story.longest)
        widest = max(width_of(f"{step * at:g} {story.unit}", self.size, False) for at in (1, 5))
        self.left = where.x + widest + 2 * self.gap
        self.bottom = where.y + letters + 4 * self.gap
        self.right, self.top = where.right - self.gap, where.top - letters
        self.per_row = (self.right - self.left) / (story.last_row * 1.04)
        self.per_unit = (self.top - self.bottom) / (story.longest * 1.08)
        self.step = step

    def at(self, row: float, length: float) -> tuple[float, float]:
        """Return where a row and length lie."""
        return self.left + row * self.per_row, self.bottom + length * self.per_unit

    def words(self, text: str, x: float, y: float, *, ink: str, align: float = 0.0) -> None:
        """Write words on a line at y; `align` 0 begins at x, 0.5 is centred, 1 ends there."""
        picture = picture_of(text, self.size, False)
        fonts = self.look.theme.fonts
        Color(*getattr(self.look, ink))
        left = min(max(x - align * picture.width, 0), self.right - picture.width + self.gap)
        Rectangle(
            texture=picture,
            pos=(round(left), round(y - fonts.descent * self.size)),
            size=picture.size,
        )

    def draw(self) -> None:
        """Draw everything, what lies behind first."""
        self._axes()
        self._cone()
        self._target()
        self._readings()
        self._marks()

    def _axes(self) -> None:
        look, story = self.look, self.story
        thin = max(look.mm(0.15), 1)
        half = look.theme.fonts.capital * self.size / 2
        length = 0.0
        while length <= story.longest * 1.05:
            _, y = self.at(0, length)
            Color(*look.line[:3], 0.35)
            Line(points=[self.left, y, self.right, y], width=thin)
            if length:
                text = f"{length:g} {story.unit}"
                self.words(text, self.left - self.gap, y - half, ink="soft", align=1.0)
            length += self.step
        row, rows = 0.0, max(round_step(story.last_row, 6), 1)
        while row <= story.last_row:
            x, _ = self.at(row, 0)
            self.words(
                f"{row:.0f}", x, self.bottom - half * 2 - 2 * self.gap, ink="soft", align=0.5
            )
            row += rows
        Color(*look.ink)
        Line(
            points=[self.left, self.top, self.left, self.bottom, self.right, self.bottom],
            width=thin,
        )

    def _cone(self) -> None:
        """Draw between which rows the piece becomes long enough."""
        story = self.story
        if story.cone is None or story.target is None:
            return
        last = story.last
        start = self.at(last.row, last.length) if last is not None else self.at(0, 0)
        first, far = (self.at(row, story.target) for row in story.cone)
        Color(*self.look.band[:3], 0.45)
        Mesh(
            vertices=[*start, 0, 0, *first, 0, 0, *far, 0, 0],
            indices=[0, 1, 2],
            mode="triangles",
        )
        Color(*self.look.band)
        for end in (first, far):
            Line(points=[*start, *end], width=max(self.look.mm(0.2), 1))

    def _target(self) -> None:
        story = self.story
        if story.target is None:
            return
        _, y = self.at(0, story.target)
        Color(*self.look.alert)
        dash = self.look.mm(2)
        x = self.left
        while x < self.right:
            Line(points=[x, y, min(x + dash, self.right), y], width=max(self.look.mm(0.25), 1))
            x += 2 * dash

    def _readings(self) -> None:
        look, story = self.look, self.story
        holding = [(0, 0.0), *((one.row, one.length) for one in story.points if not one.aside)]
        Color(*look.tinted(self.wool))
        if len(holding) > 1:
            points = [value for one in holding for value in self.at(*one)]
            Line(points=points, width=max(look.mm(0.5), 1.5))
        side = look.mm(2.2)
        for point in story.points:
            x, y = self.at(point.row, point.length)
            Color(*(look.line if point.aside else look.ink))
            if point.aside:
                Line(circle=(x, y, side / 2), width=max(look.mm(0.2), 1))
            else:
                Ellipse(pos=(x - side / 2, y - side / 2), size=(side, side))

    def _marks(self) -> None:
        """Draw the row that is done, and what was felt and noted, along the foot."""
        look, story = self.look, self.story
        x, _ = self.at(story.done, 0)
        Color(*look.good)
        Line(points=[x, self.bottom, x, self.top], width=max(look.mm(0.2), 1))
        self.words(f"{story.done}", x, self.top + self.gap * 0.5, ink="good", align=0.5)
        side = look.mm(1.1)
        for row, feel in story.felt:
            at, _ = self.at(row, 0)
            y = self.bottom + self.gap * 2
            Color(*look.alert if feel else look.soft)
            tip = y + feel * side * 1.6
            if feel:
                Mesh(
                    vertices=[at - side, y, 0, 0, at + side, y, 0, 0, at, tip, 0, 0],
                    indices=[0, 1, 2],
                    mode="triangles",
                )
            else:
                Rectangle(pos=(at - side, y), size=(2 * side, max(look.mm(0.3), 1)))
        Color(*look.ink)
        for row in story.noted:
            at, _ = self.at(row, 0)
            Rectangle(pos=(at - side / 2, self.bottom), size=(side, side))
