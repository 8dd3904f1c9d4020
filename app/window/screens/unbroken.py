"""The window's part of the wall: what goes wrong in a screen closes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kivy.base import ExceptionHandler, ExceptionManager

from app.wall import sentence_of

if TYPE_CHECKING:
    from collections.abc import Callable

_MOST = 100
"""After so many faults the window is closed: what is drawn anew for ever cannot be mended."""


class Unbroken(ExceptionHandler):
    """Tells a fault on the window's thread in a sentence, once for each place, and goes on."""

    def __init__(self, notify: Callable[[str], None]) -> None:
        """Keep who shows the sentence."""
        super().__init__()
        self._notify = notify
        self._faults = 0

    def handle_exception(self, inst: BaseException) -> int:
        """Return Kivy's word for going on, or for raising what cannot be helped."""
        self._faults += 1
        if not isinstance(inst, Exception) or self._faults > _MOST:
            return int(ExceptionManager.RAISE)
        self._notify(sentence_of(inst, "This screen cannot be shown"))
        return int(ExceptionManager.PASS)
