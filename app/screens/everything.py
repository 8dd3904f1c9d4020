"""Everything that can be done: all controls in groups, with the words to say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.controls import phrase_of, speakable
from app.screens.control import Control
from app.screens.flow import Span
from app.screens.overlay import Shelf
from app.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.controls import Control as Spec
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
        self._shelves: list[Shelf] = []
        shelf = self._shelf()
        for name, open_place in places:
            button = Control(look=look, title=name, rank="strong")
            button.bind(on_release=lambda *_, go=open_place: go())
            shelf.put(button)
            self.buttons[name] = button
        for title, group in kit.controls.groups:
            self.add_text([Span(title, "ink", bold=True)], look.theme.sizes.far_words)
            shelf = self._shelf()
            for spec in group:
                button = Control(
                    look=look,
                    title=spec.name,
                    phrase=phrase_of(spec, book),
                    spoken=speakable(spec, book),
                )
                button.bind(on_release=lambda *_, what=spec: act(what))
                shelf.put(button)
                self.buttons[spec.key] = button
        self.lay()

    def _shelf(self) -> Shelf:
        shelf = Shelf(self.look)
        self._shelves.append(shelf)
        self.column.add_widget(shelf)
        return shelf

    def lay(self, *_: object) -> None:
        """Give every part its place and height."""
        super().lay()
        sizes, letters = self.look.theme.sizes, self.look.text_scale
        for shelf in self._shelves:
            shelf.least = sizes.target * max(1.0, 1.25 * letters)
            shelf.tall = max(sizes.target, 5 + 13.0 * letters)
