"""Settings: looks, hands, units, answers, reminders; and teaching a pedal or key what to do."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from app.screens.flow import Span
from app.screens.pages import Page
from app.settings import Settings, choices

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.controls import Control as Spec
    from app.keys import KeyMap
    from app.screens.control import Control
    from app.screens.kit import Kit


class SettingsPage(Page):
    """One line of choices for each setting; a touch takes effect at once."""

    def __init__(
        self,
        kit: Kit,
        chosen: Callable[[Settings], None],
        teach: Callable[[Spec], None],
        forget: Callable[[], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `show` fills it."""
        self.kit, self._chosen, self._teach, self._forget = kit, chosen, teach, forget
        super().__init__(kit.look, close, title=kit.words("screens", "settings"), **properties)
        self.choices: dict[tuple[str, Any], Control] = {}
        self.teachable: dict[str, Control] = {}
        self.settings = Settings()

    def show(
        self, settings: Settings, keys: KeyMap, taught: frozenset[int], said: str = ""
    ) -> None:
        """Show what is chosen, and which keys were taught; `said` is a sentence about the last."""
        words, sizes = self.kit.words, self.look.theme.sizes
        kept = self.scroll.scroll_y
        self.settings = settings
        self.clear()
        self.choices, self.teachable = {}, {}
        for field in fields(Settings):
            self.add_text([Span(words("settings", field.name), bold=True)], sizes.words)
            shelf = self.add_shelf()
            for value in choices(field.name):
                now = getattr(settings, field.name) == value
                self.choices[field.name, value] = self.control_on(
                    shelf,
                    self._name(field.name, value),
                    partial(self._choose, field.name, value),
                    rank="chosen" if now else "plain",
                )
        self.add_text([Span(words("settings", "keys"), bold=True)], sizes.far_words)
        if said:
            self.add_text([Span(said, "good", bold=True)], sizes.words)
        if taught:
            named = ", ".join(
                f"{keys.key_name(code)}: {getattr(keys.bindings[code].bound, 'name', '')}"
                for code in sorted(taught)
                if code in keys.bindings
            )
            self.add_text([Span(words("settings", "taught", keys=named), "soft")], sizes.words)
            self.control_on(self.add_shelf(), words("settings", "forget"), self._forget)
        self.add_text([Span(words("settings", "learn"))], sizes.words)
        shelf = self.add_shelf()
        for spec in self.kit.controls.everyday:
            self.teachable[spec.key] = self.control_on(shelf, spec.name, partial(self._teach, spec))
        self.lay()
        self.scroll.scroll_y = kept

    def _name(self, name: str, value: Any) -> str:
        words = self.kit.words
        match name:
            case "text_scale":
                return words("settings", "percent", percent=round(value * 100))
            case "rate":
                return str(value)
            case "count_every":
                if not value:
                    return words("settings", "shaping_only")
                return words("settings", "rows", rows=value)
            case "rest_every":
                if not value:
                    return words("settings", "no_rest")
                return words("settings", "minutes", minutes=value)
            case _:
                key = str(value).lower()
                return words("settings", f"{name}_{key}")

    def _choose(self, name: str, value: Any) -> None:
        self._chosen(replace(self.settings, **{name: value}))
