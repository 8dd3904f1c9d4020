"""A control: a target for a thumb that shows its name and the exact words that do the same."""

from __future__ import annotations

from typing import Any, Final

from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior

from app.display.flow import TextSpan
from app.window.screens.kv import load
from app.window.screens.text import Text

load("control")

_LOOKS: Final = {
    "plain": ("control", "control_ink", "control_soft_ink"),
    "strong": ("strong", "strong_ink", "strong_ink"),
    "ask": ("ask", "ask_ink", "ask_ink"),
    "bare": ("page", "ink", "soft"),
    "chosen": ("mark", "mark_ink", "mark_ink"),
}
"""Per rank the roles of ground, name and words to say."""


class Control(ButtonBehavior, Text):
    """A named control; under its name stand the words to say, if there are any."""

    title = StringProperty("")
    phrase = StringProperty("")
    remark = StringProperty("")
    """A line under the name that is not to be said."""
    spoken = BooleanProperty(True)
    """Whether the phrase can be said; otherwise it is to be typed."""
    rank = OptionProperty("plain", options=tuple(_LOOKS))
    phrase_scale = NumericProperty(0.815)
    ground = ColorProperty()
    edge = ColorProperty()
    radius = NumericProperty(0.0)
    """Roundness of the corners, in pixels."""

    def __init__(self, **properties: Any) -> None:
        """Compose the words and colours, and again whenever something changes."""
        look = properties.get("look")
        if look is not None:
            properties.setdefault("capital", look.theme.sizes.words)
        super().__init__(**properties)
        self.min_state_time = 0
        for name in ("title", "phrase", "remark", "spoken", "rank", "state", "look"):
            self.fbind(name, self._compose)
        self._compose()

    def look_changed(self) -> None:
        """Take up the new look."""
        self._compose()
        super().look_changed()

    def _compose(self, *_: object) -> None:
        look = self.look
        if look is None:
            return
        ground, name_ink, phrase_ink = _LOOKS[self.rank]
        pressed = self.state == "down"
        self.ground = getattr(look, name_ink if pressed else ground)
        self.edge = look.line if self.rank in {"plain", "bare"} else self.ground
        self.radius = look.mm(2.2)
        if pressed:
            name_ink = phrase_ink = ground
        spans = [TextSpan(self.title, name_ink, bold=True)]
        if self.phrase:
            words = f"\N{LEFT DOUBLE QUOTATION MARK}{self.phrase}\N{RIGHT DOUBLE QUOTATION MARK}"
            said = words if self.spoken else f"type {words}"
            spans += [TextSpan("\n"), TextSpan(said, phrase_ink, scale=self.phrase_scale)]
        if self.remark:
            spans += [TextSpan("\n"), TextSpan(self.remark, phrase_ink, scale=self.phrase_scale)]
        self.spans = spans
