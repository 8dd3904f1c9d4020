"""Text on the canvas, placed word by word by `app.display.flow`."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from kivy.clock import Clock
from kivy.core.text import Label as LabelCore
from kivy.graphics import Color, Rectangle, RoundedRectangle
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.widget import Widget

from app.display.flow import LEADING, Flowed, TextSpan, fit, shortened
from app.window.look import FONT

if TYPE_CHECKING:
    from kivy.graphics.texture import Texture

    from app.window.look import Look


@lru_cache(maxsize=4096)
def width_of(words: str, size: float, bold: bool) -> float:  # noqa: FBT001 (the signature of Measure)
    """Return the width of words in pixels."""
    label = LabelCore(font_name=FONT, font_size=max(round(size), 1), bold=bold)
    return float(label.get_extents(words)[0])


def picture_of(words: str, size: int, bold: bool) -> Texture:  # noqa: FBT001 (as the cache has it)
    """Return white words as a texture, to be tinted."""
    return _label(words, size, bold).texture


@lru_cache(maxsize=512)
def _label(words: str, size: int, bold: bool) -> LabelCore:  # noqa: FBT001 (a key of the cache)
    """Keep the label with its texture: it draws it anew when the graphics card has forgotten it."""
    label = LabelCore(text=words, font_name=FONT, font_size=size, bold=bold)
    label.refresh()
    return label


class Text(Widget):
    """Words in a box, as large as fits between `least` and `capital` (heights of capitals, mm).

    `fits` tells whether they fit even at the least size; the layout audit looks at it.
    """

    words = StringProperty("")
    ink = StringProperty("ink")
    bold = BooleanProperty(False)
    spans = ListProperty()
    """Runs of words in different looks; they take the place of `words`."""
    capital = NumericProperty(2.7)
    least = NumericProperty(0.0)
    """Smallest height of capitals, whatever the text size; 0: the text does not shrink."""
    scaled = BooleanProperty(True)
    """Whether the reader's text size makes it larger (what is large already need not grow)."""
    align = OptionProperty("left", options=("left", "center", "right"))
    valign = OptionProperty("middle", options=("top", "middle", "bottom"))
    leading = NumericProperty(LEADING)
    one_line = BooleanProperty(False)
    """Whether words that do not fit on one line are cut after a whole word, with an ellipsis."""
    inset = NumericProperty(0.0)
    """Distance of the words from the edges of the box, in mm."""
    head = NumericProperty(0.0)
    """Room above the words that is kept free for a picture, in mm."""
    lead = NumericProperty(0.0)
    """Room before the words that is kept free for a picture, in mm."""
    look: Look | None = ObjectProperty(None, allownone=True)
    fits = BooleanProperty(True)

    def __init__(self, **properties: Any) -> None:
        """Draw anew whenever anything changes."""
        super().__init__(**properties)
        self.flowed: Flowed | None = None
        # However much changes at once, it is drawn once, before the next frame.
        redraw = self.redraw_soon = Clock.create_trigger(self._redraw, -1)
        for name in (
            *("words", "ink", "bold", "spans", "capital", "least", "scaled", "align", "valign"),
            *("leading", "inset", "head", "lead", "one_line", "look", "size"),
        ):
            self.fbind(name, redraw)
        self.fbind("pos", self._place)
        self.fbind("look", self._followed)
        self._followed()
        redraw()

    @property
    def all_spans(self) -> list[TextSpan]:
        """The spans that are shown."""
        if self.spans:
            return list(self.spans)
        words = self.words
        if self.one_line and words and self.look is not None:
            most = self.look.letters(self.capital, scaled=self.scaled)
            least = self.look.letters(self.least, scaled=False) if self.least else most
            size = round(max(least, most * 0.75))
            words = shortened(words, self.width, size, width_of, bold=self.bold)
        return [TextSpan(words, self.ink, bold=self.bold)] if words else []

    def height_for(self, width: float) -> float:
        """Return the height that the text takes at its full size in a box of that width."""
        if self.look is None or not self.all_spans:
            return 0.0
        size = round(self.look.letters(self.capital, scaled=self.scaled))
        edge = 2 * self.look.mm(self.inset)
        wide = width - edge - self.look.mm(self.lead)
        whole = fit(self.all_spans, (wide, 1e9), (size, size), width_of, self.leading)
        return whole.height + edge + self.look.mm(self.head)

    def look_changed(self) -> None:
        """Take up the new look."""
        self.redraw_soon()

    def _followed(self, *_: object) -> None:
        if self.look is not None:
            self.look.follow(self)

    def _redraw(self, *_: object) -> None:
        look = self.look
        self.canvas.clear()
        if look is None or self.width <= 1 or self.height <= 1 or not self.all_spans:
            self.flowed, self.fits = None, True
            return
        most = look.letters(self.capital, scaled=self.scaled)
        least = look.letters(self.least, scaled=False) if self.least else most
        flowed = fit(
            self.all_spans,
            (
                self.width - look.mm(2 * self.inset + self.lead),
                self.height - look.mm(2 * self.inset + self.head),
            ),
            (round(min(least, most)), most),
            width_of,
            self.leading,
        )
        self.flowed, self.fits = flowed, flowed.fits
        self._draw(look, flowed)

    def _place(self, *_: object) -> None:
        if self.flowed is not None and self.look is not None:
            self.canvas.clear()
            self._draw(self.look, self.flowed)

    def _draw(self, look: Look, flowed: Flowed) -> None:
        fonts = look.theme.fonts
        match self.valign:
            case "top":
                top = self.top - look.mm(self.inset + self.head)
            case "bottom":
                top = self.y + look.mm(self.inset) + flowed.height
            case _:
                top = self.center_y - look.mm(self.head) / 2 + flowed.height / 2
        with self.canvas:
            for line in flowed.lines:
                pitch = self.leading * flowed.size * line.scale
                baseline = top - pitch + (pitch - fonts.capital * flowed.size * line.scale) / 2
                left = self._left(line.width, look.mm(self.inset))
                for run in line.runs:
                    size = max(round(flowed.size * run.span.scale), 1)
                    if run.span.ground:
                        pad = 0.16 * size
                        Color(*getattr(look, run.span.ground))
                        RoundedRectangle(
                            pos=(left + run.x - pad, baseline - 0.30 * size),
                            size=(run.width + 2 * pad, 1.24 * size),
                            radius=[0.22 * size],
                        )
                for run in line.runs:
                    size = max(round(flowed.size * run.span.scale), 1)
                    picture = picture_of(run.words, size, run.span.bold)
                    Color(*getattr(look, run.span.ink))
                    # whole pixels: letters stay sharp
                    Rectangle(
                        texture=picture,
                        pos=(
                            round(left + run.x),
                            round(baseline - fonts.descent * size),
                        ),
                        size=picture.size,
                    )
                top -= pitch

    def _left(self, width: float, inset: float) -> float:
        match self.align:
            case "center":
                lead = self.look.mm(self.lead) if self.look is not None else 0.0
                return float(self.center_x + lead / 2 - width / 2)
            case "right":
                return float(self.right - inset - width)
            case _:
                lead = self.look.mm(self.lead) if self.look is not None else 0.0
                return float(self.x + inset + lead)
