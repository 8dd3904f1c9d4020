"""What is shown when a screen fails: what happened, where the work is kept, and how to go on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.window.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from app.window.screens.kit import Kit


class FaultPage(Page):
    """Tells a fault; each of the ways is a control by its name."""

    def __init__(
        self,
        kit: Kit,
        ways: Mapping[str, Callable[[], None]],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `show` fills it."""
        self.kit, self._ways = kit, ways
        super().__init__(kit.look, close, title=kit.words("fault", "title"), **properties)

    def show(self, sentence: str, journal: Path | None) -> None:
        """Say what happened and where the work is kept."""
        words, sizes = self.kit.words, self.look.theme.sizes
        self.clear()
        self.add_text([TextSpan(sentence, "alert", bold=True)], sizes.far_words)
        if journal is not None:
            self.add_text([TextSpan(words("fault", "kept", path=journal))], sizes.words)
        self.add_text([TextSpan(words("fault", "on"))], sizes.words)
        shelf = self.add_shelf()
        for name, way in self._ways.items():
            self.control_on(shelf, name, way, rank="strong")
        self.lay()
