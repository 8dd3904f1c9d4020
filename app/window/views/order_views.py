"""An order on the canvas: its stages as blocks, its day, and a piece's place in its tolerance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.graphics import Color, Ellipse, Line, Quad, Rectangle, RoundedRectangle
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from app.display.flow import TextSpan
from app.display.order_board import FARTHEST
from app.window.screens.text import Text, width_of
from app.window.views.fabric_view import FabricView
from app.window.views.story_view import Drawn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.display.order_board import DayLine, StageRow, TrackMark
    from app.display.theme import Colour
    from app.drawings.fabric import DrawnFabric
    from app.window.look import Look

_LINE: Final = 1.5
"""Height of a line of words by the size of its letters."""
_MOST_BLOCK: Final = 5.0  # mm
_GAP: Final = 0.16
"""Share of a block that is left free between two, where they are broad enough for it."""
_TRACK: Final = 3.4  # mm
_DASH: Final = 1.6


def line_mm(look: Look) -> float:
    """Return the height of a line of words in mm."""
    return float(look.letters(look.theme.sizes.words) * _LINE / look.px_per_mm)


def _words(look: Look, spans: list[TextSpan], align: str = "left") -> Text:
    sizes = look.theme.sizes
    return Text(
        look=look, spans=spans, capital=sizes.words, least=sizes.small, align=align,
        size_hint=(None, None),
    )  # fmt: skip


class StagesView(Widget):
    """A line for each stage: its name, how many are there, and a block of wool for each piece."""

    def __init__(self, look: Look, rows: Sequence[StageRow]) -> None:
        """Show stages from the first to the last."""
        super().__init__(size_hint=(None, None))
        self.look = look
        most = max((row.count for row in rows), default=1)
        self.names = [_words(look, [TextSpan(row.name, bold=bool(row.count))]) for row in rows]
        self.counts = [
            _words(look, [TextSpan(str(row.count), bold=True)] if row.count else [], "right")
            for row in rows
        ]
        self.blocks = [BlocksView(look, row, most) for row in rows]
        for part in (*self.names, *self.counts, *self.blocks):
            self.add_widget(part)
        self.bind(pos=self._lay, size=self._lay)

    @staticmethod
    def tall(look: Look, rows: Sequence[StageRow]) -> float:
        """Return the height that so many stages take, in mm."""
        return line_mm(look) * len(rows) + look.theme.sizes.gap

    def _lay(self, *_: object) -> None:
        look, each = self.look, self.height / max(len(self.names), 1)
        letters = look.letters(look.theme.sizes.words)
        name = max(
            (width_of(one.all_spans[0].words, letters, True) for one in self.names), default=0.0
        )
        name = min(name + look.mm(1), self.width * 0.5)
        count = width_of("0000", letters, True)
        for at, (words, many, blocks) in enumerate(
            zip(self.names, self.counts, self.blocks, strict=True)
        ):
            y = self.top - (at + 1) * each
            words.pos, words.size = (self.x, y), (name, each)
            many.pos, many.size = (self.x + name, y), (count, each)
            left = self.x + name + count + look.mm(2)
            blocks.pos = (left, y + each * 0.14)
            blocks.size = (max(self.right - left, 1), each * 0.72)


class BlocksView(Drawn):
    """A block for each piece of a stage, in the wool of its line; `most` fill the width."""

    def __init__(self, look: Look, row: StageRow, most: int) -> None:
        """Show a stage."""
        self.row, self.most = row, most
        super().__init__(look=look, wool=look.theme.wool_for(row.name), size_hint=(None, None))

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the blocks; the canvas is open."""
        del wool
        each = min(self.width / max(self.most, 1), look.mm(_MOST_BLOCK))
        gap = each * _GAP if each > look.mm(1) else 0.0
        x = self.x
        for title, colour, count in self.row.parts:
            tint = look.tinted(look.theme.wool_called(colour, title))
            for _ in range(count):
                Color(*tint)
                Rectangle(pos=(x, self.y), size=(each - gap, self.height))
                if gap:
                    Color(*look.line)
                    Line(rectangle=(x, self.y, each - gap, self.height), width=1)
                x += each


class DayView(Widget):
    """The days to come: from today on, where the order is ready nine times in ten, and its day."""

    def __init__(self, look: Look, day: DayLine, today: str) -> None:
        """Show a day with its interval."""
        super().__init__(size_hint=(None, None))
        self.look, self.day = look, day
        self.today = _words(look, [TextSpan(today)])
        self.due = _words(look, [TextSpan(day.due_words, bold=True)] if day.due else [], "right")
        self.axis = DayAxis(look, day)
        for part in (self.axis, self.today, self.due):
            self.add_widget(part)
        self.bind(pos=self._lay, size=self._lay)

    @staticmethod
    def tall(look: Look) -> float:
        """Return the height that it takes, in mm."""
        return 2 * line_mm(look) + 12.0 + look.theme.sizes.gap

    def _lay(self, *_: object) -> None:
        line = self.look.mm(line_mm(self.look))
        self.due.pos, self.due.size = self.pos, (self.width, line)
        self.today.pos, self.today.size = (self.x, self.y + line), (self.width, line)
        self.axis.pos = (self.x, self.y + 2 * line)
        self.axis.size = (self.width, max(self.height - 2 * line, 1))
        due = self.axis.x_of(self.day.due) if self.day.due is not None else self.right
        words = width_of(self.day.due_words, self.look.letters(self.look.theme.sizes.words), True)
        self.due.width = min(max(due + words / 2, self.x + words + 2) - self.x, self.width)


class DayAxis(Drawn):
    """The line of the days alone."""

    def __init__(self, look: Look, day: DayLine) -> None:
        """Show a day with its interval."""
        self.day = day
        super().__init__(look=look, wool=look.theme.wool_for(""), size_hint=(None, None))

    def x_of(self, days: float) -> float:
        """Return where so many days from now lie."""
        last = max(self.day.high, self.day.due or 0.0, 1.0) * 1.06
        return float(self.x + self.width * min(max(days / last, 0.0), 1.0))

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw line, interval, middle and flag; the canvas is open."""
        del wool
        thick, middle = look.mm(0.6), self.y + look.mm(4)
        Color(*look.line)
        Line(points=[self.x, middle, self.right, middle], width=thick / 2)
        for week in range(int(max(self.day.high, self.day.due or 0.0) / 7) + 1):
            x = self.x_of(7 * week)
            Line(points=[x, middle - look.mm(0.9), x, middle + look.mm(0.9)], width=thick / 3)
        low, high = self.x_of(self.day.low), self.x_of(self.day.high)
        Color(*look.band)
        tall = look.mm(3.6)
        RoundedRectangle(
            pos=(low, middle - tall / 2), size=(max(high - low, tall), tall), radius=[tall / 2]
        )
        Color(*look.ink)
        best = self.x_of(self.day.best)
        Line(points=[best, middle - tall * 0.8, best, middle + tall * 0.8], width=thick * 0.7)
        Ellipse(pos=(self.x - thick, middle - thick), size=(2 * thick, 2 * thick))
        if self.day.due is not None:
            x, top = self.x_of(self.day.due), middle + look.mm(8)
            Line(points=[x, middle - look.mm(2), x, top], width=thick * 0.6)
            flag = look.mm(4) * (-1 if x + look.mm(4) > self.right else 1)
            Quad(points=[x, top, x + flag, top - look.mm(1.5), x, top - look.mm(3), x, top])


class TracksView(Drawn):
    """A line for each trait: the band is the tolerance, the dot the piece; a diamond is outside."""

    marks = ListProperty()

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever other marks are shown."""
        super().__init__(**properties)
        self.fbind("marks", self.redraw)

    @staticmethod
    def tall(look: Look, count: int) -> float:
        """Return the height that so many lines take, in pixels."""
        return look.mm(_TRACK) * count

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the lines; the canvas is open."""
        del wool
        each, half = self.height / max(len(self.marks), 1), self.width * 0.45
        for at, mark in enumerate(self.marks):
            self._track(look, mark, self.top - (at + 0.5) * each, half, each)

    def _track(self, look: Look, mark: TrackMark, y: float, half: float, each: float) -> None:
        middle, reach = self.center_x, half / FARTHEST
        Color(*look.line)
        Line(points=[middle - half, y, middle + half, y], width=max(look.mm(0.15), 1))
        Color(*look.mark)
        RoundedRectangle(
            pos=(middle - reach, y - each * 0.36), size=(2 * reach, each * 0.72), radius=[each / 4]
        )
        Color(*look.line)
        Line(
            rounded_rectangle=(middle - reach, y - each * 0.36, 2 * reach, each * 0.72, each / 4),
            width=1,
        )
        x, size = middle + mark.off * reach, each * 0.28
        if mark.within:
            Color(*look.mark_ink)
            Ellipse(pos=(x - size, y - size), size=(2 * size, 2 * size))
        else:
            Color(*look.alert)
            size = each * 0.48
            Quad(points=[x, y + size, x + size, y, x, y - size, x - size, y])


class SlotView(Drawn):
    """A piece that nothing is known of but its stage: its place, filled once it is knitted."""

    filled = BooleanProperty(False)

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the place; the canvas is open."""
        inset = look.mm(1.5)
        box = (
            self.x + inset, self.y + inset,
            max(self.width - 2 * inset, 1), max(self.height - 2 * inset, 1),
        )  # fmt: skip
        if self.filled:
            Color(*look.tinted(wool))
            RoundedRectangle(pos=box[:2], size=box[2:], radius=[inset])
        Color(*look.line)
        if self.filled:
            Line(rounded_rectangle=(*box, inset), width=1.2)
            return
        x, y, wide, tall = box
        dash = look.mm(_DASH)
        Line(
            points=[x, y, x + wide, y, x + wide, y + tall, x, y + tall, x, y],
            dash_length=dash, dash_offset=dash,
        )  # fmt: skip


class OrderedView(Widget):
    """A piece of an order on its card: itself, as high as it is, and below it its place."""

    tracks_tall = NumericProperty(0.0)
    """Height kept for the lines, in pixels."""
    look: Look = ObjectProperty(None)

    def __init__(
        self, look: Look, wool: Colour, marks: Sequence[TrackMark], *, knitted: bool
    ) -> None:
        """Show the place of the piece until `draw` draws it."""
        super().__init__(look=look)
        self.wool = wool
        self.slot = SlotView(look=look, wool=wool, size_hint=(None, None))
        self.slot.filled = knitted
        self.slot.redraw()
        self.tracks = TracksView(look=look, wool=wool, size_hint=(None, None))
        self.tracks.marks = list(marks)
        self.fabric: FabricView | None = None
        self.add_widget(self.slot)
        self.add_widget(self.tracks)
        for name in ("pos", "size", "tracks_tall"):
            self.fbind(name, self._lay)

    def draw(self, fabric: DrawnFabric, rows: int) -> None:
        """Draw the piece itself in its place."""
        view = FabricView(look=self.look, wool=self.wool, whole=True, numbered=False, hangs=True)
        view.size_hint = (None, None)
        view.rows, view.fabric = rows, fabric
        self.remove_widget(self.slot)
        self.fabric = view
        self.add_widget(view)
        self._lay()

    def _lay(self, *_: object) -> None:
        kept = min(self.tracks_tall, self.height * 0.6)
        shown = kept * len(self.tracks.marks) / 3 if self.tracks.marks else 0.0
        inset = self.look.mm(1)
        self.tracks.size = (max(self.width - 2 * inset, 1), shown)
        self.tracks.pos = (self.x + inset, self.y + (kept - shown))
        body = self.fabric if self.fabric is not None else self.slot
        body.size = (max(self.width - 2 * inset, 1), max(self.height - kept - inset, 1))
        body.pos = (self.x + inset, self.y + kept)
