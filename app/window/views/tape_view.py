"""The tape measure on the canvas: the piece in wool along it, the target, the length read last."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.graphics import Color, Line, Mesh, Rectangle, RoundedRectangle
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from app.drawings.tape import Tape, ticks
from app.window.screens.text import picture_of
from app.window.views.undrawn import drawn_or_told

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.display.theme import Colour
    from app.window.look import Look


class TapeView(Widget):
    """Draws a `Tape` across its whole width."""

    tape: Tape | None = ObjectProperty(None, allownone=True)
    wool: Colour | None = ObjectProperty(None, allownone=True)
    look: Look | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        for name in ("tape", "wool", "look", "size", "pos"):
            self.fbind(name, self._redraw)
        self.fbind("look", self._followed)
        self._followed()
        self._redraw()

    def look_changed(self) -> None:
        """Draw in the new look."""
        self._redraw()

    def _followed(self, *_: object) -> None:
        if self.look is not None:
            self.look.follow(self)

    def _redraw(self, *_: object) -> None:
        drawn_or_told(self, self.look, self._draw_anew)

    def _draw_anew(self) -> None:
        look = self.look
        self.canvas.clear()
        if look is None or self.tape is None or self.wool is None or min(self.size) <= 1:
            return
        with self.canvas:
            self._draw(look, self.tape, self.wool)

    def _draw(self, look: Look, tape: Tape, wool: Colour) -> None:
        mm = look.px_per_mm
        inset = 1.2 * mm
        per_unit = (self.width - 2 * inset) / tape.end
        start = self.x + inset
        tape_height = self.height * 0.60
        Color(*look.tape)
        RoundedRectangle(pos=self.pos, size=(self.width, tape_height), radius=[0.6 * mm])
        size = max(round(min(tape_height * 0.52, 4.0 * mm) / look.theme.fonts.capital), 8)
        Color(*look.tape_ink)
        for tick in ticks(tape):
            x = round(start + tick.at * per_unit)
            tall = tape_height * (0.42 if tick.number is not None else 0.24)
            Rectangle(pos=(x, self.y + tape_height - tall), size=(max(0.2 * mm, 1), tall))
            if tick.number:
                picture = picture_of(f"{tick.number}", size, False)
                left = min(x - picture.width / 2, self.right - picture.width)
                baseline = self.y + tape_height * 0.08
                Rectangle(
                    texture=picture,
                    pos=(round(left), round(baseline - look.theme.fonts.descent * size)),
                    size=picture.size,
                )
        self._piece(look, tape, wool, (start, self.y + tape_height), per_unit)
        if tape.target is not None:
            self._flag(look, start + tape.target * per_unit, self.y + tape_height)

    def _piece(
        self, look: Look, tape: Tape, wool: Colour, origin: tuple[float, float], per_unit: float
    ) -> None:
        """Lay the piece along the tape: sure as far as `low`, perhaps as far as `high`."""
        start, base = origin
        mm = look.px_per_mm
        tall = min(self.top - base, 2.6 * mm)
        sure = tape.low if tape.low is not None else (tape.measured or 0.0)
        perhaps = tape.high if tape.high is not None else sure
        if tape.guessed:
            self._hatch(look, (start, base), (sure * per_unit, tall), look.tinted(wool))
        else:
            Color(*look.tinted(wool))
            Rectangle(pos=(start, base), size=(sure * per_unit, tall))
        if perhaps > sure:
            more = ((perhaps - sure) * per_unit, tall)
            self._hatch(look, (start + sure * per_unit, base), more, look.band)
        if perhaps > 0:
            Color(*look.ink)
            Line(rectangle=(start, base, perhaps * per_unit, tall), width=max(0.1 * mm, 0.6))
        if tape.measured is not None:
            x = start + tape.measured * per_unit
            Color(*look.ink)
            side = 1.5 * mm
            Mesh(
                vertices=[
                    *(x, base, 0, 0), *(x - side, base + side * 1.6, 0, 0),
                    *(x + side, base + side * 1.6, 0, 0),
                ],
                indices=[0, 1, 2],
                mode="triangles",
            )  # fmt: skip

    @staticmethod
    def _hatch(
        look: Look,
        origin: tuple[float, float],
        size: tuple[float, float],
        colour: Sequence[float],
    ) -> None:
        """Lay what is only reckoned along the tape, hatched."""
        (start, base), (wide, tall), mm = origin, size, look.px_per_mm
        Color(*colour)
        Rectangle(pos=origin, size=size)
        Color(*look.page)
        step, x = max(1.1 * mm, 3), start
        while x < start + wide:
            end = min(x + tall * 0.6, start + wide)
            Line(points=[x, base, end, base + tall], width=max(0.12 * mm, 1))
            x += step

    def _flag(self, look: Look, x: float, upper: float) -> None:
        """Stand a flag where the piece is long enough; `upper` is the tape's upper edge."""
        mm = look.px_per_mm
        wide = max(0.5 * mm, 2)
        Color(*look.tape_ink)
        Rectangle(pos=(x - wide / 2, self.y), size=(wide, upper - self.y))
        Color(*look.alert)
        Rectangle(pos=(x - wide / 2, upper), size=(wide, self.top - upper))
        pennant = min(3.2 * mm, max(x - self.x - 2, 0))
        Mesh(
            vertices=[
                *(x, self.top, 0, 0), *(x, self.top - 2.4 * mm, 0, 0),
                *(x - pennant, self.top - 1.2 * mm, 0, 0),
            ],
            indices=[0, 1, 2],
            mode="triangles",
        )  # fmt: skip
