"""The edge of the window lights up in place of a tone, where no sound is wanted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock
from kivy.graphics import Color, Rectangle

from app.session.manner import Answering

if TYPE_CHECKING:
    from kivy.uix.widget import Widget

    from app.display.board_values import Mood
    from app.session.situation import Situation
    from app.window.look import Look

LIT_S: Final = 0.7
"""
A light that is lit again while it shines shines on: it never flickers. Three flashes in a second
are the most that may be shown to anybody (WCAG 2.2, success criterion 2.3.1).
"""
_THICK_MM: Final = 4.0


class Edge:
    """A frame on top of everything, green for "heard" and red for "not heard"."""

    def __init__(self, around: Widget, look: Look) -> None:
        """Draw nothing yet."""
        self._around, self._look = around, look
        self._out: Any = None
        self.lit = ""
        """The role of the colour that is shown; "" while it is dark."""

    def light(self, mood: Mood) -> None:
        """Light the edge for a moment."""
        if self._out is not None:
            self._out.cancel()
        self.lit = "alert" if mood.value == "refused" else "good"
        self._draw()
        self._out = Clock.schedule_once(self.darken, LIT_S)

    def darken(self, *_: object) -> None:
        """Put the light out."""
        self.lit = ""
        self._draw()

    def _draw(self) -> None:
        canvas = self._around.canvas.after
        canvas.clear()
        if not self.lit:
            return
        wide, tall = self._around.size
        thick = min(self._look.mm(_THICK_MM), wide / 8, tall / 8)
        with canvas:
            Color(*getattr(self._look, self.lit))
            Rectangle(pos=(0, 0), size=(wide, thick))
            Rectangle(pos=(0, tall - thick), size=(wide, thick))
            Rectangle(pos=(0, 0), size=(thick, tall))
            Rectangle(pos=(wide - thick, 0), size=(thick, tall))


def lights(situation: Situation, before: Situation) -> bool:
    """Whether something was answered that is to be seen in place of a sound."""
    answered = situation.replies is not before.replies and bool(situation.replies)
    return answered and situation.manner.answering is Answering.SILENT
