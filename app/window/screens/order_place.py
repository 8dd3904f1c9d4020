"""The order's page in the window: opening it, and following what becomes of the order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from engine.commands import Source

if TYPE_CHECKING:
    from app.session.situation import Situation
    from app.window.desk import Hands
    from app.window.screens.host import Host
    from engine.talk import PieceIs


class OrderPlace:
    """Opens the page when it is first wanted, and leads to the board where something is asked."""

    def __init__(self, host: Host, hands: Hands) -> None:
        """Belong to a window."""
        self._host, self._hands = host, hands
        self._page: Any = None

    def show(self) -> None:
        """Open the page."""
        from app.window.screens.order_page import OrderPage  # noqa: PLC0415 (when first wanted)

        def say(stage: PieceIs) -> None:
            self._hands.submit(stage, Source.TOUCH)

        page = self._page = self._host.open_page(
            "order", lambda: OrderPage(self._host.kit, say, self._take_up, self._host.close)
        )
        if self._host.situation is not None:
            page.show(self._host.situation)

    def _take_up(self, piece: str) -> None:
        self._host.close_all()
        self._hands.take_up(piece)

    def follow(self, situation: Situation, before: Situation | None) -> None:
        """Show what has become of the order, if it is seen; what is asked is asked on the board."""
        if not self._host.shows(self._page):
            return
        self._page.follow(situation, before)
        asked = before.question if before is not None else None
        if situation.question is not None and situation.question is not asked:
            self._host.close_all()
