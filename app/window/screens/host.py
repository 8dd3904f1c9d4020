"""The window, as far as the screens that lie over its board need it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from app.session.controls import Answer, Control
    from app.session.situation import Situation
    from app.window.look import Look
    from app.window.screens.kit import Kit
    from app.window.screens.pad import Asked
    from engine.commands import Source


class Host(Protocol):
    """The window, as far as its screens need it."""

    kit: Kit
    look: Look
    situation: Situation | None
    begun: Mapping[str, Any]
    kept: dict[str, str]
    pages: Mapping[str, Any]

    def units_changed(self) -> None:
        """Show the board with the units that are chosen now."""

    def open(self, overlay: Any) -> None:
        """Lay something over the board."""

    def open_page(self, name: str, build: Callable[[], Any], *, over: bool = False) -> Any:
        """Show a page, perhaps `over` others, and return it; it is built once."""

    def close(self) -> None:
        """Take away what lies on top."""

    def shows(self, page: Any) -> bool:
        """Whether a page lies over the board."""

    def close_page(self, name: str) -> None:
        """Take a page away, if it lies on top."""

    def close_all(self) -> None:
        """Show the board alone."""

    def ask_number(
        self, asked: Asked, answered: Callable[[Answer], None], phrase: str = ""
    ) -> None:
        """Lay a number pad over what is there."""

    def ask_text(self, title: str, before: str, answered: Callable[[str], None]) -> None:
        """Lay a line to type into over what is there."""

    def remember(
        self, typed: Mapping[str, str] | None = None, begun: Mapping[str, Any] | None = None
    ) -> None:
        """Keep what is not sent yet."""

    def act(self, control: Control, source: Source) -> None:
        """Do what a control says."""
