"""The first start: a sentence, a picture, and three ways to begin; the first counts at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from app.display.first_look import PICTURES, WAYS, picture
from app.display.flow import TextSpan
from app.session.controls import phrase_of
from app.window.screens.control import Control
from app.window.screens.overlay import Overlay
from app.window.screens.picture_control import PictureControl, emblem_control
from app.window.screens.text import Text
from app.window.views.fabric_view import FabricView
from engine.replies import Say

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kivy.uix.widget import Widget

    from app.session.situation import Situation
    from app.window.screens.kit import Kit


_ASIDE: Final = 30.0  # mm of height of a way below which its picture stands beside its words
_SENTENCE_LEAST: Final = 8.0  # mm of height without which the sentence is not shown
_CARD: Final = 44.0
"""mm of height of a way with its picture, where there is room."""
_DRAWN_LEAST: Final = 24.0
_WORDS: Final = 0.34
"""Share of the room that the sentence may take."""
_KEYS: Final = {49: "now", 50: "pattern", 51: "plan"}  # 1, 2, 3
_SPOKEN: Final = {"now": "row_done", "pattern": "show_begin", "plan": "show_plan"}


class Welcome(Overlay):
    """A piece in the making, what to say, and three ways: at once, by a pattern, by a swatch."""

    welcomes = True

    def __init__(
        self,
        kit: Kit,
        situation: Situation,
        ways: Mapping[str, Callable[[], None]],
        try_voice: Callable[[], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build the page; `ways` says what each way to begin does."""
        look, words = kit.look, kit.words
        super().__init__(look, close, title=words("welcome", "title"), **properties)
        self._ways = ways
        wool = look.theme.wool_for(situation.state.piece)
        self.picture = FabricView(
            look=look, wool=wool, fabric=picture(), numbered=False, whole=True
        )
        warned = [one for one in situation.replies if one.say is Say.CAUTION]
        cautions = [
            span
            for one in warned
            for span in (TextSpan("\n"), TextSpan(words.reply(one), "alert", scale=0.6))
        ]
        row_done = phrase_of(kit.controls.by_key["row_done"], kit.book)
        said = words("welcome", "quoted", words=row_done)
        before, _, after = words("welcome", "sentence", words="\0").partition("\0")
        self.step = Text(
            look=look,
            spans=[
                TextSpan(before),
                TextSpan(said, "mark_ink", ground="mark"),
                TextSpan(after),
                *cautions,
            ],
            capital=look.theme.sizes.instruction,
            least=look.theme.sizes.small,
            align="center",
        )
        self.ways: dict[str, PictureControl] = {}
        for number, way in enumerate(WAYS, 1):
            control = emblem_control(
                look, PICTURES[way], words("welcome", way), rank="plain" if number > 1 else "strong"
            )
            control.capital, control.least = look.theme.sizes.far_words, look.theme.sizes.small
            phrase = phrase_of(kit.controls.by_key[_SPOKEN[way]], kit.book)
            control.remark = words("welcome", "way", words=phrase, key=number)
            control.picture.wool = wool
            control.bind(on_release=lambda _, way=way: self._ways[way]())
            self.ways[way] = control
        self.voice = Control(look=look, title=words("voice", "title"))
        self.voice.bind(on_release=lambda *_: try_voice())
        widgets: tuple[Widget, ...] = (self.picture, self.step, *self.ways.values(), self.voice)
        for widget in widgets:
            widget.size_hint = (None, None)
            self.add_widget(widget)
        self.bind(size=self.lay, bar=self.lay)
        self.lay()

    @property
    def button(self) -> Control:
        """The way that counts at once."""
        return self.ways["now"]

    def look_changed(self) -> None:
        """Lay the page out in the new look."""
        super().look_changed()
        self.lay()

    def turn(self, code: int) -> bool:
        """Take a way by its number."""
        way = _KEYS.get(code)
        if way is not None:
            self._ways[way]()
        return way is not None

    # --- laying it out ------------------------------------------------------------------------

    def lay(self, *_: object) -> None:
        """Share the room between drawing, sentence and ways; a narrow page stacks the ways."""
        if not hasattr(self, "voice"):
            return
        look = self.look
        if self.narrow:  # every millimetre is for the ways
            self.ids.heading.opacity, self.bar = 0, self.target
        edge, target = look.mm(2), look.mm(look.theme.sizes.target)
        room = max(self.height - self.bar - 5 * edge, 1)
        wide = max(self.width - 2 * edge, 1)
        beside = self.width > self.height
        if beside:
            tall = min(max(look.mm(_CARD) * max(1.0, look.text_scale * 0.8), target), room * 0.5)
            self._lay_voice(wide, target)
            self._row(edge, wide, edge, max(tall, target))
            low = self.button.top + edge
            self._lay_sentence(edge, wide, low, self._upper - low, drawn=True)
            return
        self.ways_wide = 0
        tall = min(3 * look.mm(_CARD * 0.8) * max(1.0, look.text_scale * 0.8), room * 0.62)
        tall = max(tall, 3 * target + 2 * edge)
        self._stack(edge, wide, edge, tall, target)
        low = self.button.top + edge
        self._lay_sentence(edge, wide, low, self._upper - low, drawn=True)

    @property
    def _upper(self) -> float:
        return float(self.height - self.bar - self.look.mm(5))

    def _lay_voice(self, wide: float, target: float) -> None:
        """Put the voice check into the corner of the bar."""
        side = max(min(self.look.mm(40) * self.look.text_scale, wide * 0.3), target)
        self.ways_wide = side + self.look.mm(2)
        self.voice.size = (side, target)
        self.voice.pos = (self.width - side - self.margin, self.ids.close.y)
        self.voice.opacity, self.voice.disabled = 1, False

    def _row(self, x: float, wide: float, low: float, tall: float) -> None:
        gap = self.look.mm(2)
        each = (wide - 2 * gap) / 3
        for at, control in enumerate(self.ways.values()):
            control.aside = tall < self.look.mm(_ASIDE)
            control.words_tall = 12.0 * self.look.text_scale
            control.size = (each, tall)
            control.pos = (x + at * (each + gap), low)

    def _stack(self, x: float, wide: float, low: float, tall: float, target: float) -> None:
        """Stack the ways, and the voice check below them if there is room for all four."""
        gap = self.look.mm(2)
        four = tall >= 4 * target + 3 * gap
        self.voice.opacity, self.voice.disabled = (1, False) if four else (0, True)
        voice = target if four else 0.0
        self.voice.size, self.voice.pos = (wide if four else 0, voice), (x, low)
        left = tall - (voice + gap if four else 0)
        each = (left - 2 * gap) / 3
        for at, control in enumerate(reversed(self.ways.values())):
            control.aside = True
            control.size = (wide, each)
            control.pos = (x, low + (voice + gap if four else 0) + at * (each + gap))

    def _lay_sentence(self, x: float, wide: float, low: float, tall: float, *, drawn: bool) -> None:
        """Put the sentence above the ways, and the drawing above the sentence."""
        words = min(self.step.height_for(wide) + 2, max(tall * _WORDS, tall - self.look.mm(90)))
        picture = tall - words
        drawn = drawn and picture >= self.look.mm(_DRAWN_LEAST)
        self.picture.opacity = 1 if drawn else 0
        if not drawn:
            words = tall
        shown = words >= self.look.mm(_SENTENCE_LEAST)
        self.step.opacity = 1 if shown else 0
        self.step.size, self.step.pos = (wide, words if shown else 0), (x, low)
        self.picture.size = (wide, picture if drawn else 0)
        self.picture.pos = (x, low + words)
