"""The class on the canvas: the code that lets phones in, and the room with its raised hands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from kivy.graphics import Color, Ellipse, Line, Rectangle
from kivy.properties import ListProperty, ObjectProperty

from app.classroom.room import Answer
from app.window.screens.text import picture_of
from app.window.views.story_view import Drawn

if TYPE_CHECKING:
    from app.classroom.room import Seat
    from app.display.theme import Colour
    from app.window.look import Look

_QUIET: Final = 4
"""Empty dots around the code (ISO/IEC 18004)."""


class QrView(Drawn):
    """A QR code, black on white whatever the theme: it is read by cameras."""

    dots = ObjectProperty(())

    def __init__(self, **properties: object) -> None:
        """Draw anew whenever another code is shown."""
        super().__init__(**properties)
        self.fbind("dots", self.redraw)

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the dots; the canvas is open."""
        del look, wool
        count = len(self.dots)
        if not count:
            return
        step = max(int(min(self.size) / (count + 2 * _QUIET)), 1)
        side = step * (count + 2 * _QUIET)
        left, top = round(self.center_x - side / 2), round(self.center_y + side / 2)
        Color(1, 1, 1, 1)
        Rectangle(pos=(left, top - side), size=(side, side))
        Color(0, 0, 0, 1)
        for row, dots in enumerate(self.dots):
            for column, dark in enumerate(dots):
                if dark:
                    x = left + (column + _QUIET) * step
                    y = top - (row + _QUIET + 1) * step
                    Rectangle(pos=(x, y), size=(step, step))


class RoomView(Drawn):
    """
    The learners as they sit, by number: stuck with a raised hand, ready filled, knitting empty.

    The shape tells what the colour does.
    """

    seats = ListProperty()

    def __init__(self, **properties: object) -> None:
        """Draw anew whenever somebody answers."""
        super().__init__(**properties)
        self.fbind("seats", self.redraw)

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw every seat; the canvas is open."""
        del wool
        if not self.seats:
            return
        count = len(self.seats)
        each = self._side(count)
        across = max(int(self.width / each), 1)
        down = -(-count // across)
        top = self.center_y + down * each / 2
        for at, seat in enumerate(self.seats):
            x = self.x + (at % across + 0.5) * each
            y = top - (at // across + 0.5) * each
            _draw_seat(look, seat, (x, y), each)

    def _side(self, count: int) -> float:
        """Return the largest side of a seat with which all have room."""
        side = float(min(self.height, self.width))
        while side > 1 and int(self.width / side) * int(self.height / side) < count:
            side *= 0.96
        return max(side, 1.0)


def _draw_seat(look: Look, seat: Seat, at: tuple[float, float], each: float) -> None:
    x, y = at
    radius = each * 0.3
    low = y - each * 0.12
    ink = {Answer.STUCK: look.alert, Answer.READY: look.good}.get(seat.answer, look.soft)
    thick = max(each * 0.045, 1.2)
    Color(*ink)
    if seat.answer is Answer.STUCK:
        Line(points=[x + radius * 0.8, low, x + radius * 1.25, y + each * 0.44], width=thick * 1.4)
        palm = each * 0.09
        Ellipse(pos=(x + radius * 1.25 - palm, y + each * 0.44 - palm), size=(2 * palm, 2 * palm))
    if seat.answer is Answer.KNITTING:
        Line(circle=(x, low, radius), width=thick)
    else:
        Ellipse(pos=(x - radius, low - radius), size=(2 * radius, 2 * radius))
    size = max(round(radius * 1.05), 6)
    number = picture_of(str(seat.number), size, bold=True)
    Color(*(look.ink if seat.answer is Answer.KNITTING else look.page))
    Rectangle(
        texture=number,
        pos=(round(x - number.width / 2), round(low - number.height / 2)),
        size=number.size,
    )
