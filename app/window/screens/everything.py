"""Everything that can be done: all controls in groups, with the words to say."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.session.controls import phrase_of, speakable
from app.window.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.controls import Control as Spec
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf


class Everything(Page):
    """All commands by group; above them the ways to the other screens."""

    def __init__(
        self,
        kit: Kit,
        act: Callable[[Spec], None],
        type_words: Callable[[], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build the page; `type_words` opens a line to type into."""
        self.kit, look = kit, kit.look
        title = kit.words("screens", "everything_title")
        super().__init__(look, close, title=title, **properties)
        self.buttons: dict[str, Control] = {}
        shelf = self.add_shelf()
        typing = kit.words("screens", "type_title")
        self.buttons["type"] = self.control_on(shelf, typing, type_words, rank="strong")
        for spec in kit.controls.screens:
            self._put(shelf, spec, act, rank="strong")
        for title, group in kit.controls.groups:
            self.add_text([TextSpan(title, "ink", bold=True)], look.theme.sizes.far_words)
            shelf = self.add_shelf()
            for spec in group:
                if spec not in kit.controls.screens:
                    self._put(shelf, spec, act)
        self.lay()

    def _put(
        self, shelf: Shelf, spec: Spec, act: Callable[[Spec], None], *, rank: str = "plain"
    ) -> None:
        button = self.control_on(shelf, spec.name, partial(act, spec), rank=rank)
        button.phrase = phrase_of(spec, self.kit.book)
        button.spoken = speakable(spec, self.kit.book)
        self.buttons[spec.key] = button
