"""The look of the screens while they run: colours and sizes as properties to bind to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Protocol
from weakref import WeakSet

from kivy.core.text import LabelBase
from kivy.event import EventDispatcher
from kivy.metrics import Metrics
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)

from app import resources
from app.display.arrange import LOW_SCREEN

if TYPE_CHECKING:
    from app.display.theme import Colour, Theme

MM_PER_INCH: Final = 25.4
FONT: Final = "Walesong"

MOST_SCALE: Final = 2.0
"""The screens are laid out for letters up to twice as large."""

ROLES: Final = (
    "page", "panel", "control", "control_ink", "control_soft_ink", "strong", "strong_ink", "ink",
    "soft", "good", "alert", "mark", "mark_ink", "ask", "ask_ink", "line", "band", "tape",
    "tape_ink", "needle",
)  # fmt: skip


class Follower(Protocol):
    """Whatever looks different when the look changes."""

    def look_changed(self) -> None:
        """Take up the new look."""


class Look(EventDispatcher):
    """Colours of the chosen theme, text scale and the size of a millimetre; bind to any of them."""

    page = ColorProperty()
    panel = ColorProperty()
    control = ColorProperty()
    control_ink = ColorProperty()
    control_soft_ink = ColorProperty()
    strong = ColorProperty()
    strong_ink = ColorProperty()
    ink = ColorProperty()
    soft = ColorProperty()
    good = ColorProperty()
    alert = ColorProperty()
    mark = ColorProperty()
    mark_ink = ColorProperty()
    ask = ColorProperty()
    ask_ink = ColorProperty()
    line = ColorProperty()
    band = ColorProperty()
    tape = ColorProperty()
    tape_ink = ColorProperty()
    needle = ColorProperty()
    shade = NumericProperty(0.0)
    name = StringProperty("")
    text_scale = NumericProperty(1.0)
    px_per_mm = NumericProperty(96 / MM_PER_INCH)
    moves = BooleanProperty(False)
    """Whether something may move for a moment where that tells something."""
    left_handed = BooleanProperty(False)
    yarn_hand = StringProperty("right")
    wool: Colour | None = ObjectProperty(None, allownone=True)
    """The wool of the piece on the needle."""

    def __init__(self, theme: Theme, name: str = "light", text_scale: float = 1.0) -> None:
        """Take up a theme by name and register its fonts."""
        super().__init__()
        self._in_hand, self._on_table = theme, theme.on_table
        self.theme = theme
        self._followers: WeakSet[Follower] = WeakSet()
        LabelBase.register(
            FONT,
            str(resources.path(theme.fonts.regular)),
            fn_bold=str(resources.path(theme.fonts.bold)),
        )
        self.px_per_mm = Metrics.dpi / MM_PER_INCH
        self._chosen = self.text_scale = text_scale
        self._of_device = 1.0
        self.use(name)
        self.bind(text_scale=self._count, px_per_mm=self._count, left_handed=self._count)
        self.bind(yarn_hand=self._count)

    def use(self, name: str) -> None:
        """Take the colours of the theme with that name; KeyError if there is none."""
        palette = self.theme.palettes[name]
        for role in ROLES:
            setattr(self, role, palette.colour(role).rgba)
        self.shade = palette.shade
        self.name = name
        self._count()

    def scale_text(self, chosen: float | None = None, of_device: float | None = None) -> None:
        """Take the size of letters that she chose, or that the device is set to: both count."""
        self._chosen = chosen or self._chosen
        self._of_device = of_device or self._of_device
        self.text_scale = min(self._chosen * self._of_device, max(self._chosen, MOST_SCALE))

    def stand(self, width: float, height: float) -> bool:
        """Take the sizes for a window of so many pixels; return whether they are others now."""
        large = min(width, height) / self.px_per_mm >= LOW_SCREEN
        before, self.theme = self.theme, self._on_table if large else self._in_hand
        return before is not self.theme

    @property
    def grown(self) -> float:
        """How much larger words are than on a screen in the hand, at the same text size."""
        return self.theme.sizes.words / self._in_hand.sizes.words

    def mm(self, length: float) -> float:
        """Return a length on the screen in pixels."""
        return float(length * self.px_per_mm)

    def letters(self, capital_mm: float, *, scaled: bool = True) -> float:
        """Return the size of letters in pixels whose capitals are so high, in mm."""
        scale = float(self.text_scale) if scaled else 1.0
        return self.mm(capital_mm) * scale / self.theme.fonts.capital

    def tinted(self, wool: Colour, strength: float = 1.0) -> tuple[float, float, float, float]:
        """Return wool as it is drawn in this theme, `strength` 0..1 of it."""
        red, green, blue, _ = wool.rgba
        keep = 1.0 - float(self.shade)
        return red * keep, green * keep, blue * keep, strength

    def follow(self, follower: Follower) -> None:
        """Have `follower.look_changed` called after every change, as long as it lives."""
        self._followers.add(follower)

    def _count(self, *_: object) -> None:
        for follower in list(self._followers):
            follower.look_changed()
