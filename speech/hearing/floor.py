"""How long nothing may sound, because the knitter may be going on with what she has just said.

An answer closes a microphone that hears it, and with it what she says meanwhile. So what was taken
is written and shown at once, but the answer waits until nothing can follow any more.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from speech.hearing.events import Heard, RefusedSpeech, SpeechStarted
from speech.hearing.joining import JoiningSettings

if TYPE_CHECKING:
    from speech.hearing.events import HearingEvent

_NOTICED_S: Final = 0.3
"""A voice has begun for so long before that is told (0.15 s measured, and the device's buffer)."""
_GOES_ON_S: Final = 3.0
"""So long she may take for the rest: "from the cast on" takes 1 s, and 0.6 s are waited then."""


class Floor:
    """Follows what one listening tells."""

    def __init__(self, rules: JoiningSettings | None = None) -> None:
        """Begin with nothing said."""
        self._within_s = (rules or JoiningSettings()).within_s
        self._open_until_s = -math.inf  # in seconds of the stream

    def leave(self) -> None:
        """Take note that she does something else: nothing is gone on with."""
        self._open_until_s = -math.inf

    def after(self, event: HearingEvent) -> float | None:
        """Return for how many seconds from now nothing may sound; None: as it was."""
        match event:
            case Heard(span=span, goes_on=goes_on):
                self._open_until_s = span.end_s + self._within_s if goes_on else -math.inf
                left_s = self._open_until_s + _NOTICED_S - span.decided_s
            case SpeechStarted(at_s) if at_s <= self._open_until_s:
                left_s = _GOES_ON_S
            case RefusedSpeech(span=span):
                left_s = self._open_until_s + _NOTICED_S - span.decided_s
            case _:
                return None
        return max(left_s, 0.0)
