"""What can lie over the board: a page with a bar on top (close, title, one thing to do)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.gridlayout import GridLayout
from kivy.uix.relativelayout import RelativeLayout

from app.screens import control as control_widgets
from app.screens import text as text_widgets
from app.screens.flow import Span
from app.screens.kv import load

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.look import Look
    from app.screens.control import Control

_USED_BY_THE_KV_FILE = (control_widgets, text_widgets)
load("overlay")

_TITLE: Final = 20.0  # mm of width that a title needs beside the controls


class Overlay(RelativeLayout):
    """A page over the board; `close` takes it away again."""

    look: Look = ObjectProperty(None)
    title = StringProperty("")
    subtitle = StringProperty("")
    close_words = StringProperty("Close")
    done_words = StringProperty("")
    """What the control at the right of the bar is called; "" for none."""
    bar = NumericProperty(0)
    """Height of the bar with the title, in pixels."""
    target = NumericProperty(40)
    """Height of the controls in the bar, in pixels."""
    narrow = BooleanProperty(False)
    """Whether the title stands below the controls, because beside them it has no room."""

    def __init__(self, look: Look, close: Callable[[], None], **properties: Any) -> None:
        """Build the page."""
        self._close = close
        super().__init__(look=look, **properties)
        look.follow(self)
        self.bind(size=self._measure, title=self._measure)
        self._measure()

    def look_changed(self) -> None:
        """Take up the new look."""
        self._measure()

    def _measure(self, *_: object) -> None:
        look, sizes = self.look, self.look.theme.sizes
        self.target = max(look.mm(sizes.target), look.letters(sizes.words) * 2.9)
        controls = 2 if self.done_words else 1
        beside = self.width - controls * (self.target + look.mm(2))
        self.narrow = beside < look.mm(_TITLE * look.text_scale)
        words = look.letters(sizes.far_words) * (3.0 if self.done_words else 1.6)
        self.bar = self.target + (words if self.narrow else 0)

    @staticmethod
    def heading(title: str, subtitle: str) -> list[Span]:
        """Return the words in the middle of the bar."""
        spans = [Span(title, "ink", bold=True)]
        if subtitle:
            spans += [Span("\n"), Span(subtitle, "soft", scale=0.72)]
        return spans

    def close(self) -> None:
        """Take the page away."""
        self._close()

    def done(self) -> None:
        """Do what the control at the right of the bar says."""


class Shelf(GridLayout):
    """Controls side by side, as many in a row as have room; each at least a target wide."""

    look: Look = ObjectProperty(None)
    least = NumericProperty(20.0)
    """Least width of a column, in mm."""
    tall = NumericProperty(20.0)
    """Height of a row, in mm."""
    page = ColorProperty()

    def __init__(self, look: Look, **properties: Any) -> None:
        """Build an empty shelf."""
        super().__init__(look=look, size_hint_y=None, **properties)
        self.bind(minimum_height=self.setter("height"), width=self._measure)
        self.bind(least=self._measure, tall=self._measure)
        look.follow(self)
        self._measure()

    def look_changed(self) -> None:
        """Take up the new look."""
        self._measure()

    def _measure(self, *_: object) -> None:
        look = self.look
        gap = look.mm(look.theme.sizes.gap / 2)
        self.spacing = gap
        self.cols = max(1, int((self.width + gap) / (look.mm(self.least) + gap)))
        self.row_default_height = look.mm(self.tall)
        self.row_force_default = True

    def put(self, control: Control) -> None:
        """Add a control at the end."""
        control.size_hint_x = 1
        self.add_widget(control)
