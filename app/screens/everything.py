"""Everything that can be done: all controls in groups, with the words to say."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from app.controls import phrase_of, speakable
from app.screens.flow import Span
from app.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.controls import Control as Spec
    from app.screens.control import Control
    from app.screens.kit import Kit


class Everything(Page):
    """All commands by group; above them the ways to the other screens."""

    def __init__(
        self,
        kit: Kit,
        act: Callable[[Spec], None],
        places: Sequence[tuple[str, Callable[[], None]]],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build the page; `places` are names of other screens and what opens them."""
        look, book = kit.look, kit.book
        title = kit.words("screens", "everything_title")
        super().__init__(look, close, title=title, **properties)
        self.buttons: dict[str, Control] = {}
        shelf = self.add_shelf()
        for name, open_place in places:
            self.buttons[name] = self.control_on(shelf, name, open_place, rank="strong")
        for title, group in kit.controls.groups:
            self.add_text([Span(title, "ink", bold=True)], look.theme.sizes.far_words)
            shelf = self.add_shelf()
            for spec in group:
                button = self.control_on(shelf, spec.name, partial(act, spec))
                button.phrase = phrase_of(spec, book)
                button.spoken = speakable(spec, book)
                self.buttons[spec.key] = button
        self.lay()
