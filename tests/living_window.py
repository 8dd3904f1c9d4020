"""The real window with the real assistant and a real journal behind it, where nobody sees it."""

from __future__ import annotations

import queue
from typing import TYPE_CHECKING, Any

from app.session.inbox import EndOfLesson, EndOfTrying, Held
from app.session.settings import Settings
from app.window.desk import Hands, Notice, furnish
from app.wiring import composition
from app.wording import reply_wording
from tests.window_driver import Driver

if TYPE_CHECKING:
    from pathlib import Path

    from app.pieces.values import NewPiece
    from app.session.situation import Situation


class LivingWindow(Driver):
    """A window whose touches are knitted: what it shows has come back from the journal."""

    def __init__(
        self, journal: Path, screen: str = "desktop", first: NewPiece | None = None
    ) -> None:
        """Open a journal and a window on it."""
        inbox: queue.SimpleQueue[Situation | Notice] = queue.SimpleQueue()
        self.assistant = composition.assistant(
            journal,
            None,
            inbox.put,
            composition.silence("").voice,
            settings=Settings(),
            front=composition.FrontEnd(keep=lambda _: None, can_hold=True, first=first),
        )
        helper = self.assistant
        hands = Hands(
            submit=helper.submit,
            typed=helper.typed,
            take_up=helper.take_up,
            cast_on=helper.cast_on,
            hold=lambda down: helper.tell(Held(down)),
            end_voice_check=lambda: helper.tell(EndOfTrying()),
            end_lesson=lambda: helper.tell(EndOfLesson()),
        )
        helper.start()
        helper.ready()
        super().__init__(furnish(hands, inbox, wording=reply_wording), screen)

    def settle(self, words: str = "which row now") -> Any:
        """Wait until all that was touched is answered and drawn; return the board's view."""
        self.assistant.typed_and_answered(words)
        self.frames(3)
        return self.board.view

    def close(self) -> None:
        """Close window and journal."""
        super().close()
        self.assistant.stop()
