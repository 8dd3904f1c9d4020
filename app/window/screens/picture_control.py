"""A control with a picture above its words: a place to go to, a card to choose."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.graphics import Color, RoundedRectangle
from kivy.properties import BooleanProperty, NumericProperty

from app.window.screens.control import Control
from app.window.views.emblem_view import EmblemView

if TYPE_CHECKING:
    from kivy.uix.widget import Widget

    from app.window.look import Look

_INKS = {"plain": "control_ink", "strong": "strong_ink", "chosen": "mark_ink", "bare": "ink"}


class PictureControl(Control):
    """A control whose picture fills the room above its words."""

    rim = NumericProperty(1.5)
    """Distance of the picture from the edges, in mm."""
    aside = BooleanProperty(False)
    """Whether the picture stands before the words and not above them."""
    words_tall = NumericProperty(0.0)
    """Height of the words below the picture, in mm; 0: a line of them at the reader's size."""

    def __init__(self, look: Look, picture: Widget, **properties: Any) -> None:
        """Lay `picture` above the words."""
        self.picture = picture
        super().__init__(look=look, **properties)
        picture.size_hint = (None, None)
        with picture.canvas.before:
            self._paper = Color(0, 0, 0, 0)
            self._sheet = RoundedRectangle(pos=picture.pos, size=picture.size)
        picture.bind(pos=self._lay_sheet, size=self._lay_sheet)
        self.add_widget(picture, canvas="after")  # the words are drawn anew on the other one
        for name in ("pos", "size", "look", "rim", "words_tall", "rank", "aside"):
            self.fbind(name, self._lay)
        self._lay()

    def _lay_sheet(self, *_: object) -> None:
        """Lay paper under a picture that is drawn in wool, whatever the colour of the control."""
        self._sheet.pos, self._sheet.size = self.picture.pos, self.picture.size
        drawn = not isinstance(self.picture, EmblemView)
        self._paper.rgba = tuple(self.look.page) if drawn and self.look else (0, 0, 0, 0)

    def look_changed(self) -> None:
        """Lay it out in the new look."""
        super().look_changed()
        self._lay()
        self._lay_sheet()

    def _lay(self, *_: object) -> None:
        look = self.look
        if look is None or not hasattr(self, "picture"):
            return
        rim = look.mm(self.rim)
        if isinstance(self.picture, EmblemView):
            self.picture.ink = _INKS.get(self.rank, "control_ink")
        if self.aside:
            side = max(min(self.height, self.width * 0.4) - 2 * rim, 1)
            self.head, self.lead = 0.0, (side + rim) / look.px_per_mm
            self.picture.opacity = 1
            self.picture.size = (side, max(self.height - 2 * rim, 1))
            self.picture.pos = (self.x + rim, self.y + rim)
            return
        self.lead = 0.0
        line = self.words_tall or look.letters(self.capital) * 1.3 / look.px_per_mm + 1.0
        tall = self.height / look.px_per_mm - line - self.rim
        self.head = max(tall, 0.0)
        shown = tall > 2 * self.rim
        self.picture.opacity = 1 if shown else 0
        self.picture.size = (max(self.width - 2 * rim, 1), max(look.mm(tall) - rim * 0.5, 1))
        self.picture.pos = (self.x + rim, self.top - rim - self.picture.height)


def emblem_control(look: Look, name: str, title: str, **properties: Any) -> PictureControl:
    """Return a control with the small picture of that name."""
    return PictureControl(look, EmblemView(look=look, name=name), title=title, **properties)
