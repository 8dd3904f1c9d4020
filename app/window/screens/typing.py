"""A line to type into: the same words that can be said, or the text of a note."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.clock import Clock
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.relativelayout import RelativeLayout

from app.display.flow import TextSpan
from app.window.screens import control, text  # noqa: F401 (used by the kv file)
from app.window.screens.kv import load

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.window.look import Look

load("typing")

_NARROW = 120.0  # mm of width that line and controls need side by side


class TypingLine(RelativeLayout):
    """A band with a line; what was typed but not sent is kept by whoever opened it."""

    look: Look = ObjectProperty(None)
    title = StringProperty("")
    done_words = StringProperty("")
    close_words = StringProperty("")
    said = ListProperty()
    """What was last heard and answered, in place of the title."""
    edge = NumericProperty(4)
    target = NumericProperty(40)
    narrow = BooleanProperty(False)

    def __init__(
        self,
        look: Look,
        sent: Callable[[str], None],
        close: Callable[[], None],
        *,
        kept: str = "",
        **properties: Any,
    ) -> None:
        """Build the band; `kept` is what was typed before and not sent."""
        self._sent, self._close = sent, close
        super().__init__(look=look, **properties)
        self.ids.line.text = kept
        look.follow(self)
        self.bind(width=self._measure)
        self._measure()

    def look_changed(self) -> None:
        """Take up the new look."""
        self._measure()

    def _measure(self, *_: object) -> None:
        look, sizes = self.look, self.look.theme.sizes
        self.edge = look.mm(1.5)
        wanted = look.mm(sizes.target) * max(1.0, look.text_scale * 0.75)
        self.target = max(look.mm(sizes.target), min(wanted, (self.width - 3 * self.edge) / 2))
        self.narrow = self.width / look.px_per_mm < _NARROW * look.text_scale
        head = look.letters(sizes.words) * 2.2
        rows = 2 if self.narrow else 1
        self.height = rows * (self.target + self.edge) + self.edge + head

    @staticmethod
    def heading_spans(title: str) -> list[TextSpan]:
        """Return the title as long as nothing was answered."""
        return [TextSpan(title, "soft")]

    @property
    def typed(self) -> str:
        """What stands in the line."""
        return str(self.ids.line.text)

    def focus(self) -> None:
        """Put the cursor into the line, once it is on the screen."""
        Clock.schedule_once(lambda *_: setattr(self.ids.line, "focus", True), 0)

    def send(self) -> None:
        """Hand over what was typed."""
        words = self.typed.strip()
        if words:
            self.ids.line.text = ""
            self._sent(words)

    def close(self) -> None:
        """Take the band away."""
        self.ids.line.focus = False
        self._close()
