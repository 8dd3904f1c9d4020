"""The voice check: ten sentences, how loud they are above the room, and one piece of advice.

There are numbers in them, and a pause. What is learned of the voice is kept as numbers (how high
it is, how far its softest sentence lies below the others), never as sound. Pure: whoever runs it
hands over what was heard and refused, and shows `phrase` and `advice`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from speech.hearing.events import Clipping, Heard, HearingEvent, Reason, RefusedSpeech, Span

PAUSE: Final = " \N{HORIZONTAL ELLIPSIS}"
"""Where a pause is made in a sentence."""
PHRASES: Final = (
    "how far left",
    "row done",
    "measure eleven centimetres",
    "three rows done",
    "i count fifty stitches",
    f"really on row one hundred and twenty{PAUSE} seven",
    "what comes next",
    "ripped back sixteen rows",
    "measure four and three eighths inches",
    "take that back",
)
"""What is said: short and long sentences, with numbers that are easily misheard, and a pause."""
_LEAST_MARGIN_DB = 15.0
"""Below this hardly anything is understood (measured: 17 dB in white noise gave 0 of 3)."""
_EASY_MARGIN_DB = 25.0
"""From this on a room is not loud for the hearing (see `judging.JudgingSettings.loud_room`)."""
_LEAST_LEVEL_DB = -50.0
"""Below this the microphone itself is heard."""
_LEFT_OVER_S = 2.0
"""What is refused so soon behind a sentence that was not understood is the rest of it."""
_LEAST_LEARNED = 5
"""Nothing is learned of a voice of which fewer sentences were understood."""
_SOFTER_DB = 6.0
"""She may be so much softer one day than in the softest sentence of the check."""
_LEAST_BELOW_DB, _MOST_BELOW_DB = 14.0, 20.0


class VoiceAdvice(StrEnum):
    """What would help most."""

    ALL_WELL = "all_well"
    TOO_LOUD = "too_loud"
    TOO_QUIET = "too_quiet"
    LOUD_ROOM = "loud_room"
    NOT_UNDERSTOOD = "not_understood"


@dataclass(frozen=True, slots=True)
class HerNumbers:
    """What a voice check has learned, to be kept: as numbers, never as sound."""

    pitch_hz: float | None
    """How high her voice is; None if that could not be told."""
    below_db: float
    """What is so much quieter than her commands is not hers."""


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
        if isinstance(event, Heard | RefusedSpeech) and event.mends and self.tried:
            before = replace(self, tried=self.tried[:-1], right=self.right[:-1])
            return _attempted(before, event)
        if self.phrase is None:
            return self
        match event:
            case RefusedSpeech(reason=Reason.TOO_SHORT):
                return self  # a click is no attempt
            case RefusedSpeech(span=span) if self._is_rest(span):
                return self
            case Heard() | RefusedSpeech():
                return _attempted(self, event)
            case Clipping():
                return replace(self, clipped=True)
            case _:
                return self

    def _is_rest(self, span: Span) -> bool:
        """Whether a sentence that was not understood goes on behind too long a pause."""
        if not self.tried or self.right[-1] or PAUSE not in PHRASES[len(self.tried) - 1]:
            return False
        return 0 <= span.start_s - self.tried[-1].end_s < _LEFT_OVER_S

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
    def learned(self) -> HerNumbers | None:
        """What is known of the voice now; None while the check goes on, or if it was hardly heard.

        Only what was understood is learned from.
        """
        known = [one for one, right in zip(self.tried, self.right, strict=True) if right]
        if self.phrase is not None or len(known) < _LEAST_LEARNED:
            return None
        pitches = sorted(one.pitch_hz for one in known if one.pitch_hz is not None)
        levels = sorted(one.level_db for one in known)
        softest = levels[len(levels) // 2] - levels[0]
        below = min(max(softest + _SOFTER_DB, _LEAST_BELOW_DB), _MOST_BELOW_DB)
        return HerNumbers(pitches[len(pitches) // 2] if pitches else None, below)

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
        if not all_heard:  # nine of ten is not well: the tenth would have been a lost row
            return VoiceAdvice.NOT_UNDERSTOOD
        return VoiceAdvice.ALL_WELL


def _attempted(check: VoiceCheck, event: Heard | RefusedSpeech) -> VoiceCheck:
    """Return the check after an attempt at the sentence that is to be said."""
    wanted = (check.phrase or "").replace(PAUSE, "")
    right = isinstance(event, Heard) and event.words == wanted
    return replace(check, tried=(*check.tried, event.span), right=(*check.right, right))
