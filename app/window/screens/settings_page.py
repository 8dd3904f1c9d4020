"""Settings: looks, hands, units, answers, reminders; and teaching a pedal or key what to do."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.session.keys import Doing
from app.session.settings import Settings, choices
from app.window.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.keys import Bound, KeyMap
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf


@dataclass(frozen=True, slots=True)
class Changes:
    """What the page calls: a choice, a key to be taught, all keys forgotten, the voice tried."""

    chosen: Callable[[Settings], None]
    teach: Callable[[Bound], None]
    forget: Callable[[], None]
    try_voice: Callable[[], None]


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
        self.control_on(self.add_shelf(), words("voice", "title"), self._changes.try_voice)
        for field in fields(Settings):
            self.add_text([TextSpan(words("settings", field.name), bold=True)], sizes.words)
            shelf = self.add_shelf()
            for value in choices(field.name):
                now = getattr(settings, field.name) == value
                self.choices[field.name, value] = self.control_on(
                    shelf,
                    self._name(field.name, value),
                    partial(self._choose, field.name, value),
                    rank="chosen" if now else "plain",
                )
        self.add_text([TextSpan(words("settings", "keys"), bold=True)], sizes.far_words)
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
            case "count_every":
                if not value:
                    return words("settings", "shaping_only")
                return words("settings", "rows", rows=value)
            case "rest_every":
                if not value:
                    return words("settings", "no_rest")
                return words("settings", "minutes", minutes=value)
            case "scale_step":
                if not value:
                    return words("settings", "scale_learnt")
                return words("settings", "grams", grams=f"{value:g}")
            case _:
                key = str(value).lower()
                return words("settings", f"{name}_{key}")

    def _choose(self, name: str, value: Any) -> None:
        self._changes.chosen(replace(self.settings, **{name: value}))
