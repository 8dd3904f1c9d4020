"""The window's part of the wall: what goes wrong in a screen closes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kivy.base import ExceptionHandler, ExceptionManager

from app.wall import sentence_of

if TYPE_CHECKING:
    from collections.abc import Callable

_MOST_TOLD = 100
"""So many faults are told and written down; what fails in every frame fills no disk."""


class Unbroken(ExceptionHandler):
    """Tells a fault on the window's thread in a sentence, and goes on."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        """Keep who shows the sentence."""
        super().__init__()
        self._tell = tell
        self._faults = 0

    def handle_exception(self, inst: BaseException) -> int:
        """Return Kivy's word for going on, or for raising what is no fault of ours."""
        if not isinstance(inst, Exception):
            return int(ExceptionManager.RAISE)
        self._faults += 1
        if self._faults <= _MOST_TOLD:
            sentence = sentence_of(inst, "This screen cannot be shown")
            try:
                self._tell(sentence)
            except Exception as worse:  # noqa: BLE001 (the page about the fault may be what fails)
                sentence_of(worse, "The page about a fault cannot be shown")
        return int(ExceptionManager.PASS)
