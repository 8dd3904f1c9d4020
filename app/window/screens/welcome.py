"""The first start: one row to knit, one thing to say or touch."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.drawings.piece import fabric_of
from app.session.controls import phrase_of
from app.window.screens.control import Control
from app.window.screens.overlay import Overlay
from app.window.screens.text import Text
from app.window.views.fabric_view import FabricView
from engine.replies import Say

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.situation import Situation
    from app.window.screens.kit import Kit


_LOW = 95.0  # mm of height below which a wide screen has no room for words above controls
_ROOM_TO_DRAW = 70.0
_WORDS = 34.0  # mm of height that the words need before anything else has room


class Welcome(Overlay):
    """The needle with the first stitches, the step in words, and what to say when it is done."""

    welcomes = True

    def __init__(
        self,
        kit: Kit,
        situation: Situation,
        row_done: Callable[[], None],
        other: Callable[[], None],
        try_voice: Callable[[], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build the page for the piece that was cast on."""
        look, words, state = kit.look, kit.words, situation.state
        super().__init__(look, close, title=words("welcome", "title"), **properties)
        place = situation.course.where(state.loops_ended, state.working)
        wool = look.theme.wool_for(state.piece)
        self.picture = FabricView(look=look, wool=wool, fabric=fabric_of(state, situation.course))
        count = state.cast_on or place.before or 0
        begins = "piece" if count else "plain"
        warned = [one for one in situation.replies if one.say is Say.CAUTION]
        cautions = [
            span
            for one in warned
            for span in (TextSpan("\n"), TextSpan(words.reply(one), "alert", scale=0.4))
        ]
        self.step = Text(
            look=look,
            spans=[
                TextSpan(words("welcome", begins, name=state.name, count=count), "soft", scale=0.6),
                *cautions,
                TextSpan("\n"),
                TextSpan(words.instruction(place.instruction), "mark_ink", ground="mark"),
                TextSpan("\n"),
                TextSpan(words("welcome", "say"), "soft", scale=0.6),
            ],
            capital=look.theme.sizes.instruction,
            least=look.theme.sizes.small,
            align="center",
        )
        spec = kit.controls.by_key["row_done"]
        self.button = Control(
            look=look,
            title=words("welcome", "quoted", words=phrase_of(spec, kit.book)),
            rank="strong",
            capital=look.theme.sizes.instruction,
            least=look.theme.sizes.words,
        )
        self.button.remark = words("welcome", "or_touch")
        self.button.bind(on_release=lambda *_: row_done())
        self.later = Control(look=look, title=words("welcome", "later"))
        self.later.bind(on_release=lambda *_: other())
        self.voice = Control(look=look, title=words("voice", "title"))
        self.voice.bind(on_release=lambda *_: try_voice())
        for widget in (self.picture, self.step, self.button, self.later, self.voice):
            widget.size_hint = (None, None)
            self.add_widget(widget)
        self.bind(size=self.lay, bar=self.lay)
        self.lay()

    def look_changed(self) -> None:
        """Lay the page out in the new look."""
        super().look_changed()
        self.lay()

    def lay(self, *_: object) -> None:
        """Share the room between the drawing, the words and the two controls."""
        if not hasattr(self, "voice"):
            return
        look = self.look
        edge = look.mm(2)
        target = look.mm(look.theme.sizes.target)
        room = max(self.height - self.bar - 4 * edge, 1)
        wide = max(self.width - 2 * edge, 1)
        if self.width > self.height and room < look.mm(_LOW):
            self._lay_side_by_side(edge, room, wide, target)
            return
        tall = max(target, room * 0.24)
        below = target + edge if room - tall - target > look.mm(_WORDS) * look.text_scale else 0.0
        rest = max(room - tall - below, 1)
        drawn = rest * 0.4 if rest > look.mm(_ROOM_TO_DRAW) * look.text_scale else 0.0
        self._show(picture=drawn > 0, later=below > 0)
        self._put_pair(edge, wide if below else 0, target)
        self.button.size = (wide, tall)
        self.button.pos = (edge, edge + below)
        self.step.size = (wide, rest - drawn)
        self.step.pos = (edge, self.button.top + edge)
        self.picture.size = (wide, drawn)
        self.picture.pos = (edge, self.step.top)

    def _lay_side_by_side(self, edge: float, room: float, wide: float, target: float) -> None:
        """On a low screen the words stand beside the controls, without the drawing."""
        both = room >= 2 * target + edge
        self._show(picture=False, later=both)
        half = max(wide * 0.4, target)
        self.step.size = (wide - half - edge, room)
        self.step.pos = (edge, edge)
        x = self.step.right + edge
        self._put_pair(x, half if both else 0, target)
        below = target + edge if both else 0
        self.button.size = (half, room - below)
        self.button.pos = (x, edge + below)

    def _put_pair(self, x: float, wide: float, target: float) -> None:
        """Put the two smaller controls side by side at the bottom, or (`wide` 0) nowhere."""
        look, gap = self.look, self.look.mm(2)
        each = min((wide - gap) / 2, look.mm(60) * look.text_scale) if wide else 0
        for at, control in enumerate((self.later, self.voice)):
            control.size = (each, target if wide else 0)
            control.pos = (x + at * (each + gap), gap)

    def _show(self, *, picture: bool, later: bool) -> None:
        self.picture.opacity = 1 if picture else 0
        for control in (self.later, self.voice):
            control.opacity, control.disabled = (1, False) if later else (0, True)
