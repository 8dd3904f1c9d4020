"""The page that takes patterns in, and the sheet to type one on, laid over the board."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.window.screens.host import Host

_KEPT: Final = "take"
"""Under this name what was typed and not taken in is kept, also when the window is killed."""


def taking(host: Host, kept: Callable[[Path], None]) -> Any:
    """Return the page, shown; `kept` is told where a pattern was kept."""
    from app.window.screens.take_page import Calls, TakePage  # noqa: PLC0415 (only when wanted)
    from app.window.screens.writing import MOST_TYPED, Writing, pasted  # noqa: PLC0415

    def changed(text: str) -> None:
        host.remember(typed={**host.kept, _KEPT: text})

    def write() -> None:
        def sent(text: str) -> None:
            host.close()
            page.take(text)

        sheet = Writing(host.kit, sent, changed, host.close, (_KEPT, host.kept.get(_KEPT, "")))
        host.open(sheet)
        sheet.focus()

    def taken(text: str) -> None:
        if len(text) <= MOST_TYPED:
            host.kept[_KEPT] = text
            host.remember()

    def now_kept(path: Path) -> None:
        host.kept.pop(_KEPT, None)
        host.remember()
        kept(path)

    calls = Calls(write, pasted, host.ask_text, taken, now_kept)
    page = host.open_page("take", lambda: TakePage(host.kit, calls, host.close))
    return page
