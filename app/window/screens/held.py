"""What is held to talk: a key, a pedal or a place on the board, however many of them at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable


class HeldToTalk:
    """Tells when the first thing is pressed and when the last one is let go; nothing in between."""

    def __init__(self, tell: Callable[[bool], None]) -> None:
        """Begin with nothing held; `tell` gets True and False in turn."""
        self._tell = tell
        self._by: set[Hashable] = set()

    def press(self, by: Hashable) -> None:
        """Take note that something is down; the repeats of a held key change nothing."""
        first = not self._by
        self._by.add(by)
        if first:
            self._tell(True)

    def let_go(self, by: Hashable) -> None:
        """Take note that something is up again; what was not held changes nothing."""
        if by in self._by:
            self._by.remove(by)
            if not self._by:
                self._tell(False)

    def let_all_go(self) -> None:
        """Let everything go: the window has lost the keys and would not be told of their end."""
        for by in tuple(self._by):
            self.let_go(by)
