"""Cautions and help: said once, in plain words, with what is not known and whom to ask."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from app import resources
from app.display.flow import TextSpan
from app.window.screens.pages import Page
from engine.plan.advice_tables import read_breaks

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.window.screens.kit import Kit

_PARTS: Final = ("tool", "sleeve", "child", "reader")


class HelpPage(Page):
    """How Walesong helps, what can hurt, and what it cannot do."""

    def __init__(self, kit: Kit, close: Callable[[], None], **properties: Any) -> None:
        """Build an empty page; `show` fills it."""
        self.kit = kit
        super().__init__(kit.look, close, title=kit.words("screens", "help"), **properties)

    def show(self, cautions: Sequence[str]) -> None:
        """Show the cautions of the pattern on the needle first, then what always holds."""
        self.clear()
        words = self.kit.words
        if cautions:
            self._part(words("help", "pattern_title"), *cautions)
        for part in _PARTS:
            self._part(words("help", f"{part}_title"), words("help", part))
        rests = read_breaks(resources.text("shared/tables/breaks.toml"))
        often = f"{rests.often[0].upper()}{rests.often[1:]}."
        self._part(words("help", "care_title"), often, rests.stop)
        self.lay()

    def _part(self, title: str, *sentences: str) -> None:
        sizes = self.look.theme.sizes
        self.add_text([TextSpan(title, bold=True)], sizes.far_words)
        for sentence in sentences:
            self.add_text([TextSpan(sentence)], sizes.words)
