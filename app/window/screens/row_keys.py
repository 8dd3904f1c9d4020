"""The page of a row of keys, laid over the board; what was touched is kept for each piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from engine.commands import Source

if TYPE_CHECKING:
    from app.session.situation import Situation
    from app.window.desk import Hands
    from app.window.screens.host import Host

_PAGE: Final = "compose"


def row_keys(host: Host, hands: Hands) -> None:
    """Show the page with the row that was begun, also before the window was closed or killed."""
    from app.window.screens.row_page import RowCalls, RowPage  # noqa: PLC0415 (only when wanted)

    def keep(piece: str, keys: str) -> None:
        host.kept[f"{_PAGE} {piece}"] = keys
        host.remember()

    calls = RowCalls(
        lambda said: hands.submit(said, Source.TOUCH),
        lambda piece: host.kept.get(f"{_PAGE} {piece}", ""),
        keep,
    )
    page = host.open_page(_PAGE, lambda: RowPage(host.kit, calls, host.close))
    if host.situation is not None:
        page.show(host.situation)


def follow_row(host: Host, situation: Situation) -> None:
    """Show what became of a row that was handed over; the board shows one that was taken."""
    page = host.pages.get(_PAGE)
    if page is None:
        return
    if not host.shows(page):
        page.put_down(situation)
    elif page.follow(situation):
        host.close_page(_PAGE)
