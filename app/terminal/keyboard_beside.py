"""
The keyboard beside the microphone: words that are typed while it listens, and Enter alone.

A terminal cannot tell when a key is let go, so Enter begins what would be held and Enter ends it;
after "stop listening" Enter listens again.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, TextIO

from app.session.inbox import Held
from app.session.manner import Listening
from app.session.situation import Ear
from engine.commands import Source
from engine.talk import StartListening

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.assistant import Assistant
    from app.session.situation import Situation

HINT = "Words can be typed, too. Enter alone listens again, or begins and ends what is held."


class KeyboardBeside:
    """Reads lines on a thread of its own until they end."""

    def __init__(
        self, helper: Assistant, now: Callable[[], Situation | None], lines: TextIO
    ) -> None:
        """Hand what `lines` say to `helper`; `now` is what is shown."""
        self._helper, self._now, self._lines = helper, now, lines
        self._held = False
        self._thread = threading.Thread(target=self._read, name="keyboard", daemon=True)

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def wait(self, timeout_s: float) -> None:
        """Wait for the end of the lines."""
        self._thread.join(timeout_s)

    def _read(self) -> None:
        for line in self._lines:
            if line.strip():
                self._helper.typed(line.strip())
            else:
                self._enter()

    def _enter(self) -> None:
        situation = self._now()
        if situation is None:
            return
        if situation.ear is Ear.PAUSED:
            self._helper.submit(StartListening(), Source.KEY)
        elif self._held or situation.manner.listening is Listening.HELD:
            self._held = not self._held
            self._helper.tell(Held(self._held))
