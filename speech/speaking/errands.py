"""A thread that does one errand after the other, for devices that want one thread only."""

from __future__ import annotations

import logging
import queue
import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

_log = logging.getLogger(__name__)


class Errands:
    """Does what it is handed, in order, on one thread of its own; nobody waits for it."""

    def __init__(self, name: str, at_end: Callable[[], None] | None = None) -> None:
        """Start the thread; `at_end` is the last thing that it does."""
        self._at_end = at_end
        self._errands: queue.SimpleQueue[Callable[[], None] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name=name, daemon=True)
        self._thread.start()

    def do(self, errand: Callable[[], None]) -> None:
        """Have `errand` done after those that wait; after `end` it is not done any more."""
        self._errands.put(errand)

    def end(self, timeout_s: float = 0.0) -> None:
        """Let the thread end after what waits, and wait for that up to `timeout_s`."""
        self._errands.put(None)
        if timeout_s:
            self._thread.join(timeout_s)

    def _work(self) -> None:
        while (errand := self._errands.get()) is not None:
            self._attempt(errand)
        if self._at_end is not None:
            self._attempt(self._at_end)

    def _attempt(self, errand: Callable[[], None]) -> None:
        try:
            errand()
        except Exception:  # noqa: BLE001 (what fails once may work the next time)
            _log.exception("A device for answers failed.")
