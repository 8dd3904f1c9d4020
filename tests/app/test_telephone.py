"""A telephone call: nothing is said into it, whatever notices that it has begun."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from app.wiring import composition

if TYPE_CHECKING:
    from collections.abc import Callable

    import pytest


class Ears:
    """Ears that only remember whether they are open."""

    def __init__(self) -> None:
        """Begin open."""
        self.open = True

    def mute(self) -> None:
        """Close."""
        self.open = False

    def unmute(self) -> None:
        """Open."""
        self.open = True


def test_a_call_closes_the_ears_and_its_end_opens_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """What this machine notices of calls reaches the one who speaks and the ears."""
    told: list[Callable[[bool], None]] = []
    monkeypatch.setattr("speech.speaking.devices.watch_calls", told.append)
    ears = Ears()
    mouth = composition.voice_and_tones(ears, hears_room=True)
    assert mouth.speaking is not None
    try:
        (call,) = told
        for on_call in (True, False):
            call(on_call)
            deadline = time.monotonic() + 60
            while mouth.speaking.turn.on_call is not on_call or ears.open is on_call:
                assert time.monotonic() < deadline
                time.sleep(0.005)
    finally:
        mouth.speaking.close()
