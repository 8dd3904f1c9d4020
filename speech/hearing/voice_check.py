"""The voice check: three sentences, how loud they are above the room, and one piece of advice.

Pure: whoever runs it hands over what was heard and refused, and shows `phrase` and `advice`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from speech.hearing.events import Clipping, Heard, HearingEvent, Reason, RefusedSpeech, Span

PHRASES = ("how far left", "measure eleven centimetres", "row done")
"""What is said: a short, a long and the shortest sentence."""
_LEAST_MARGIN_DB = 15.0
"""Below this hardly anything is understood (measured: 17 dB in white noise gave 0 of 3)."""
_EASY_MARGIN_DB = 25.0
"""From this on a room is not loud for the hearing (see `judging.JudgingSettings.loud_room`)."""
_LEAST_LEVEL_DB = -50.0
"""Below this the microphone itself is heard."""


class VoiceAdvice(StrEnum):
    """What would help most."""

    ALL_WELL = "all_well"
    TOO_LOUD = "too_loud"
    TOO_QUIET = "too_quiet"
    LOUD_ROOM = "loud_room"
    NOT_UNDERSTOOD = "not_understood"


@dataclass(frozen=True, slots=True)
class VoiceCheck:
    """How far the check is and what it has found; a new value after every event."""

    tried: tuple[Span, ...] = ()
    right: tuple[bool, ...] = ()
    """Of each that was said, whether it was understood as what it is."""
    clipped: bool = False

    @property
    def phrase(self) -> str | None:
        """The sentence to say now; None when the check is over."""
        return PHRASES[len(self.tried)] if len(self.tried) < len(PHRASES) else None

    def after(self, event: HearingEvent) -> VoiceCheck:
        """Return the check after something was heard; other events change nothing."""
        if self.phrase is None:
            return self
        match event:
            case Heard(words=words, span=span):
                right = (*self.right, words == self.phrase)
                return replace(self, tried=(*self.tried, span), right=right)
            case RefusedSpeech(reason=Reason.TOO_SHORT):
                return self  # a click is no attempt
            case RefusedSpeech(span=span):
                return replace(self, tried=(*self.tried, span), right=(*self.right, False))
            case Clipping():
                return replace(self, clipped=True)
            case _:
                return self

    @property
    def heard(self) -> int:
        """How many sentences were understood as what they are."""
        return sum(self.right)

    @property
    def level_db(self) -> float | None:
        """How loud the voice is, in dB below full scale; None before anything was said."""
        levels = sorted(span.level_db for span in self.tried)
        return levels[len(levels) // 2] if levels else None

    @property
    def margin_db(self) -> float | None:
        """How far the voice stands above the room, in dB; None before anything was said."""
        margins = sorted(span.level_db - span.room_db for span in self.tried)
        return margins[len(margins) // 2] if margins else None

    @property
    def advice(self) -> VoiceAdvice | None:
        """What would help most; None while the check goes on."""
        level, margin = self.level_db, self.margin_db
        if self.phrase is not None or level is None or margin is None:
            return None
        if self.clipped:
            return VoiceAdvice.TOO_LOUD
        if level < _LEAST_LEVEL_DB:
            return VoiceAdvice.TOO_QUIET
        all_heard = self.heard == len(PHRASES)
        if margin < (_LEAST_MARGIN_DB if all_heard else _EASY_MARGIN_DB):
            return VoiceAdvice.LOUD_ROOM
        if not all_heard:  # two of three is not well: the third would have been a lost row
            return VoiceAdvice.NOT_UNDERSTOOD
        return VoiceAdvice.ALL_WELL
