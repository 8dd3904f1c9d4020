"""The page on which a piece is begun, laid over the board with what it asks and what it calls."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.session.controls import Asks
from engine.commands import Source

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.controls import Answer
    from app.session.draft import Draft, Field
    from app.window.desk import Hands
    from app.window.screens.host import Host


def beginning(
    host: Host,
    hands: Hands,
    count_every: Callable[[], int],
    take_in: Callable[[], None],
    *,
    planning: bool,
) -> Any:
    """Return the page, shown with the patterns at hand; `count_every` is asked at the cast-on."""
    from app.pieces.library import patterns  # noqa: PLC0415
    from app.session.draft import new_piece_of  # noqa: PLC0415 (brings the planner)
    from app.session.kept_drafts import begun_of, draft_of  # noqa: PLC0415
    from app.window.screens.begin_page import BeginPage  # noqa: PLC0415

    def cast_on(draft: Draft) -> None:
        host.close_all()
        new = new_piece_of(
            draft,
            plain_name=host.kit.words("begin", "without_name"),
            taken=[one.name for one in host.situation.pieces] if host.situation else [],
            count_every=count_every(),
        )
        hands.cast_on(new, Source.TOUCH)

    def ask(field: Field, before: str, answered: Callable[[Answer], None]) -> None:
        if field.asks is Asks.TEXT:
            host.ask_text(field.name, before, answered)
        else:
            host.ask_number(field, answered)

    def changed(draft: Draft) -> None:
        host.remember(begun=begun_of(draft))

    page = host.open_page(
        "begin", lambda: BeginPage(host.kit, ask, cast_on, host.close, changed, take_in)
    )
    library = patterns()
    page.show(library, draft_of(host.begun, library), planning=planning)
    return page
