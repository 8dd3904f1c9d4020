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

from app.display.arrange import BROAD
from app.display.flow import TextSpan
from app.window.screens import control as control_widgets
from app.window.screens import text as text_widgets
from app.window.screens.kv import load
from app.window.views import selvedge as selvedge_widgets

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kivy.uix.widget import Widget

    from app.window.look import Look
    from app.window.screens.control import Control

_USED_BY_THE_KV_FILE = (control_widgets, selvedge_widgets, text_widgets)
load("overlay")

_ROOMY: Final = 180.0  # mm of width from which a page has margins like a book
_WIDE_MARGIN: Final = 7.0
_NARROW_MARGIN: Final = 1.5
_WIDEST: Final = 62.0  # mm of width beyond which a control grows no more, however few there are
_WAY: Final = 23.0  # mm of width of a way to another place
_WIDE_WAY: Final = 30.0
_TITLE: Final = 20.0  # mm of width that a title needs beside the controls


class Overlay(RelativeLayout):
    """A page over the board; `close` takes it away again."""

    covers = True
    """Whether nothing of the board is seen behind it."""
    look: Look = ObjectProperty(None)
    title = StringProperty("")
    subtitle = StringProperty("")
    close_words = StringProperty("Close")
    close_phrase = StringProperty("")
    """What to say instead of touching "Close"; "" for nothing."""
    done_words = StringProperty("")
    """What the control at the right of the bar is called; "" for none."""
    bar = NumericProperty(0)
    """Height of the bar with the title, in pixels."""
    target = NumericProperty(40)
    """Height of the controls in the bar, in pixels."""
    margin = NumericProperty(4)
    """Distance of everything from the sides, in pixels."""
    ways_wide = NumericProperty(0)
    """Width that the ways to other places take in the bar, in pixels."""
    narrow = BooleanProperty(False)
    """Whether the title stands below the controls, because beside them it has no room."""

    def __init__(self, look: Look, close: Callable[[], None], **properties: Any) -> None:
        """Build the page."""
        self._close = close
        self.leads: tuple[Control, ...] = ()
        """What leads to other places."""
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
        roomy = self.width > look.mm(_ROOMY)
        self.margin = look.mm(_WIDE_MARGIN if roomy else _NARROW_MARGIN)
        beside = self.width - controls * (self.target + look.mm(2))
        self.narrow = beside < look.mm(_TITLE * look.text_scale)
        words = look.letters(sizes.far_words) * (3.0 if self.done_words else 1.6)
        self.bar = self.target + (words if self.narrow else 0)
        self._lay_ways()

    def show_ways(self, ways: Sequence[Control]) -> None:
        """Put ways to other places into the bar, where there is room for all of them."""
        self.leads = tuple(ways)
        for way in self.leads:
            self.add_widget(way)
        self._measure()

    def _lay_ways(self) -> None:
        if not self.leads:
            return
        look, gap = self.look, self.look.mm(1)
        way = _WIDE_WAY if self.width >= look.mm(BROAD) else _WAY
        wide = max(self.target, look.mm(way) * min(look.text_scale, 1.3))
        taken = len(self.leads) * (wide + gap)
        done = self.target + look.mm(4) if self.done_words else 0.0
        left = self.width - self.target - done - taken - 2 * self.margin
        fits = not self.narrow and left > look.mm(_TITLE * 2 * look.text_scale)
        self.ways_wide = taken + gap if fits else 0
        x = self.width - self.margin - done - taken + gap
        for at, way in enumerate(self.leads):
            way.opacity, way.disabled = (1, False) if fits else (0, True)
            way.size = (wide, self.target) if fits else (0, 0)
            way.pos = (x + at * (wide + gap), self.height - self.target - look.mm(1.5))

    @staticmethod
    def heading(title: str, subtitle: str) -> list[TextSpan]:
        """Return the words in the middle of the bar."""
        spans = [TextSpan(title, "ink", bold=True)]
        if subtitle:
            spans += [TextSpan("\n"), TextSpan(subtitle, "soft", scale=0.72)]
        return spans

    def turn(self, code: int) -> bool:
        """Scroll by a key; False where the key does nothing of that kind here."""
        del code
        return False

    def to_top(self) -> None:
        """Show its beginning."""

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
    more = NumericProperty(0.0)
    """How much higher a row is than one of words alone, in mm: for drawings above them."""
    broad = NumericProperty(0.0)
    """Least width of a column that needs more than a target, in mm."""
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
        shown = max(1, min(self.cols, len(self.children)))
        room = (self.width - gap * (shown - 1)) / shown
        widest = look.mm(max(_WIDEST, self.least) * max(1.0, look.text_scale))
        self.col_default_width = min(room, max(widest, look.mm(self.least)))
        self.col_force_default = True
        self.row_default_height = look.mm(self.tall)
        self.row_force_default = True

    def put(self, control: Widget) -> None:
        """Add a control at the end, or one with its drawing."""
        control.size_hint_x = 1
        self.add_widget(control)
        self._measure()
