"""What hearing tells the rest of the product: one closed set of immutable events.

Nobody outside this room sees a recogniser, a sample or a thread. Times are seconds of audio since
the source was opened, except `compute_s`, which is time spent computing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from engine.commands import Command
    from engine.talk import Talk


class Reason(StrEnum):
    """Why an utterance was not acted on, from the first stage of acceptance to the last."""

    TOO_SHORT = "too_short"
    """A click or a cough: shorter than any command."""
    TOO_LONG = "too_long"
    """Longer than any command: somebody is talking."""
    TOO_QUIET = "too_quiet"
    """Hardly above the room: far away, or not meant for us."""
    NO_WORDS = "no_words"
    """Sound, but none of the words that can be said."""
    NOT_A_COMMAND = "not_a_command"
    """Words, but the whole utterance is not one command."""
    UNSURE = "unsure"
    """Two different commands fit about equally well."""
    OTHER_WORDS = "other_words"
    """It sounds more like something that is not a command."""
    ONLY_AN_ANSWER = "only_an_answer"
    """"Yes" and "no" are too short to be heard when nothing was asked."""
    NOT_HERS = "not_hers"
    """A short answer, but not in the voice that was heard before, or among other talk."""
    NO_ATTENTION_WORD = "no_attention_word"
    """An attention word was chosen and did not come first."""


@dataclass(frozen=True, slots=True)
class Span:
    """When an utterance was said and decided, in seconds."""

    start_s: float
    end_s: float
    decided_s: float
    """How much audio had been listened to when it was decided."""
    compute_s: float
    """Computing from the end of the utterance's audio to the decision."""
    level_db: float = -120.0
    """How loud it was at its loudest, in dB below full scale."""
    room_db: float = -120.0
    """How loud the room was."""
    pitch_hz: float | None = None
    """How high the voice of a command was, if that could be told."""


@dataclass(frozen=True, slots=True)
class Heard:
    """An utterance that is a command: what it may mean, the likeliest first, never empty."""

    candidates: tuple[Command | Talk, ...]
    words: str
    span: Span
    mends: bool = False
    """Whether it replaces what was heard just before: she went on after a pause."""
    doubted: bool = False
    """Whether it may not be meant at all, and is to be asked about."""
    goes_on: bool = False
    """Whether she may be about to go on with it: an answer too soon would drown that."""


@dataclass(frozen=True, slots=True)
class RefusedSpeech:
    """An utterance that is not acted on, and why."""

    reason: Reason
    sentence: str
    """The reason as one plain sentence."""
    words: str
    """What the decoder made of it; may be empty."""
    near: str | None
    """The nearest sentence that would have been understood."""
    span: Span
    maybe: tuple[Command | Talk, ...] = ()
    """
    What it may have been, the likeliest first, where only a number or another value is in doubt.

    Who knows the piece can tell which of them is possible, or ask.
    """
    mends: bool = False
    """Whether what was heard just before was only its beginning."""
    doubted: bool = False
    """Whether no number is in doubt but that it was meant: it may be the end of something else."""


@dataclass(frozen=True, slots=True)
class Dictated:
    """One utterance written down freely, because a note was asked for."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class SpeechStarted:
    """Somebody near begins to speak."""

    at_s: float


@dataclass(frozen=True, slots=True)
class SoundLevel:
    """How loud it is, a few times a second: in dB below full scale (0 is the loudest)."""

    now_db: float
    room_db: float


@dataclass(frozen=True, slots=True)
class Clipping:
    """The voice overdrives the microphone: too close or set too loud."""

    at_s: float


@dataclass(frozen=True, slots=True)
class MicLost:
    """No sound comes any more; opening the source again is being tried."""

    sentence: str


@dataclass(frozen=True, slots=True)
class MicBack:
    """Sound comes again."""

    lost_for_s: float


@dataclass(frozen=True, slots=True)
class NothingHeard:
    """Nothing was said for long; told once until something is heard again."""

    for_s: float


@dataclass(frozen=True, slots=True)
class Ready:
    """The model is loaded and listening begins."""

    load_s: float


@dataclass(frozen=True, slots=True)
class Ended:
    """The recording is over; the last event of a source that ends."""

    at_s: float


@dataclass(frozen=True, slots=True)
class Failed:
    """Hearing cannot go on (no model, a broken one); the last event."""

    sentence: str


HearingEvent = (
    Heard
    | RefusedSpeech
    | Dictated
    | SpeechStarted
    | SoundLevel
    | Clipping
    | MicLost
    | MicBack
    | NothingHeard
    | Ready
    | Ended
    | Failed
)
