"""Settings by what one wants, each with a sample; and teaching a pedal or key what to do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from app.display.flow import TextSpan
from app.display.settings_groups import GROUPS, LISTENS, LOOKS, WORDS, sample
from app.drawings.shown import stitch_drawn
from app.session.keys import Doing
from app.session.settings import Settings, choices
from app.window.screens.pages import Page
from app.window.views.fabric_view import FabricView
from engine.commands import Technique
from engine.show_how import shown as shown_stitch

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.keys import Bound, KeyMap
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf
    from app.window.screens.text import Text


_DRAWN = 24.0  # mm


@dataclass(frozen=True, slots=True)
class Changes:
    """What the page calls: a choice, a key to be taught, all keys forgotten, the voice tried."""

    chosen: Callable[[Settings], None]
    teach: Callable[[Bound], None]
    forget: Callable[[], None]
    try_voice: Callable[[], None]


_NONE: Final = {
    "count_every": "shaping_only",
    "rest_every": "no_rest",
    "scale_step": "scale_learnt",
    "class_screen": "as_told",
}
"""What stands for none, by setting."""
_NUMBERS: Final = {
    "count_every": "rows",
    "rest_every": "minutes",
    "scale_step": "grams",
    "class_screen": "inches",
    "class_distance": "metres",
}
"""What is counted, by setting."""


class SettingsPage(Page):
    """One line of choices for each setting; a touch takes effect at once."""

    def __init__(
        self, kit: Kit, changes: Changes, close: Callable[[], None], **properties: Any
    ) -> None:
        """Build an empty page; `show` fills it."""
        self.kit, self._changes = kit, changes
        super().__init__(kit.look, close, title=kit.words("screens", "settings"), **properties)
        self.choices: dict[tuple[str, Any], Control] = {}
        self.teachable: dict[str, Control] = {}
        self.samples: dict[str, Text] = {}
        self.settings = Settings()

    def show(
        self,
        settings: Settings,
        keys: KeyMap,
        taught: frozenset[int],
        said: str = "",
        trouble: str = "",
    ) -> None:
        """
        Show what is chosen, and which keys were taught.

        `said` is a sentence about the last one, `trouble` one about what cannot be used.
        """
        words, sizes = self.kit.words, self.look.theme.sizes
        kept = self.scroll.scroll_y
        self.settings = settings
        self.clear()
        self.choices, self.teachable = {}, {}
        if trouble:
            self.add_text([TextSpan(trouble, "alert", bold=True)], sizes.words)
        for group, names in GROUPS:
            self.add_text([TextSpan(words("settings", group), bold=True)], sizes.far_words)
            self._sample(group, keys)
            for name in names:
                self._choices(name)
            if group == LISTENS:
                trying = words("voice", "title")
                self.control_on(self.add_shelf(), trying, self._changes.try_voice)
        self.add_text([TextSpan(words("settings", "keys"), bold=True)], sizes.words)
        if said:
            self.add_text([TextSpan(said, "good", bold=True)], sizes.words)
        if taught:
            named = ", ".join(
                f"{keys.key_name(code)}: {self._bound(keys.bindings[code].bound)}"
                for code in sorted(taught)
                if code in keys.bindings
            )
            self.add_text([TextSpan(words("settings", "taught", keys=named), "soft")], sizes.words)
            self.control_on(self.add_shelf(), words("settings", "forget"), self._changes.forget)
        self.add_text([TextSpan(words("settings", "learn"))], sizes.words)
        shelf = self.add_shelf()
        for spec in self.kit.controls.everyday:
            self._teachable(shelf, spec.key, spec)
        self._teachable(shelf, Doing.TALK.value, Doing.TALK)
        self.lay()
        self.scroll.scroll_y = kept

    def _sample(self, group: str, keys: KeyMap) -> None:
        """Show what the choices of a group make of something that every knitter knows."""
        words, sizes = self.kit.words, self.look.theme.sizes
        if group == LOOKS:
            shown = words("settings", "looks_sample")
            self.add_text([TextSpan(shown, "mark_ink", bold=True, ground="mark")], sizes.far_words)
            wool = self.look.wool or self.look.theme.wool_for("")
            fabric = stitch_drawn(shown_stitch(Technique.KNIT_TWO_TOGETHER).items[0], made=True)
            self.add_drawing(FabricView(look=self.look, wool=wool, fabric=fabric), _DRAWN)
        elif group == WORDS:
            done = self.kit.controls.by_key["row_done"]
            code = next(
                (code for code, binding in keys.bindings.items() if binding.bound == done), None
            )
            if code is not None:
                key = keys.key_name(code)
                text = words("settings", "words_sample", key=key, what=done.name)
                self.add_text([TextSpan(text, "soft")], sizes.far_words)
            self.add_text([TextSpan(words("settings", "own_words"), "soft")], sizes.words)
        else:
            told = sample(group, self.settings, words)
            self.samples[group] = self.add_text([TextSpan(told, "soft")], sizes.far_words)

    def _choices(self, name: str) -> None:
        """Put the choices of a setting side by side, under its name."""
        sizes = self.look.theme.sizes
        self.add_text([TextSpan(self.kit.words("settings", name), bold=True)], sizes.words)
        shelf = self.add_shelf()
        for value in choices(name):
            now = getattr(self.settings, name) == value
            choose = partial(self._choose, name, value)
            self.choices[name, value] = self.control_on(
                shelf, self._name(name, value), choose, rank="chosen" if now else "plain"
            )

    def _teachable(self, shelf: Shelf, key: str, bound: Bound) -> None:
        teach = partial(self._changes.teach, bound)
        self.teachable[key] = self.control_on(shelf, self._bound(bound), teach)

    def _bound(self, bound: Bound) -> str:
        return self.kit.words("doings", bound) if isinstance(bound, Doing) else bound.name

    def _name(self, name: str, value: Any) -> str:
        words = self.kit.words
        match name:
            case "text_scale":
                return words("settings", "percent", percent=round(value * 100))
            case "rate":
                return str(value)
            case "word":
                return str(value).capitalize()
            case _ if name in _NONE and not value:
                return words("settings", _NONE[name])
            case _ if name in _NUMBERS:
                return words("settings", _NUMBERS[name], **{_NUMBERS[name]: f"{value:g}"})
            case _:
                key = str(value).lower()
                return words("settings", f"{name}_{key}")

    def _choose(self, name: str, value: Any) -> None:
        self._changes.chosen(replace(self.settings, **{name: value}))
