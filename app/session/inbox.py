"""What can be put into the assistant's inbox, one thing after the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from speech.hearing import events as hearing

if TYPE_CHECKING:
    import threading

    from app.pieces.values import NewPiece
    from app.session.manner import Manner
    from app.session.order_look import OrderLook
    from engine.commands import Command, Source
    from engine.forecast.breaks import BreakSettings
    from engine.talk import Talk


@dataclass(frozen=True, slots=True)
class Said:
    """A command or talk that came by key, pedal or touch."""

    candidates: tuple[Command | Talk, ...]
    source: Source


@dataclass(frozen=True, slots=True)
class Typed:
    """Words that were typed."""

    words: str


@dataclass(frozen=True, slots=True)
class Awaited:
    """Something that waits, as a knitter would, until it is answered."""

    message: Typed | hearing.HearingEvent
    done: threading.Event


@dataclass(frozen=True, slots=True)
class Merged:
    """Other records of the piece have come into the journal."""


@dataclass(frozen=True, slots=True)
class TakeUpPiece:
    """Another piece of the journal is to be worked on."""

    piece: str


@dataclass(frozen=True, slots=True)
class CastOnPiece:
    """A new piece is to be begun."""

    new: NewPiece
    source: Source


@dataclass(frozen=True, slots=True)
class OwnVoice:
    """Walesong's own voice has begun or ended, so the microphone is closed or open."""

    on: bool


@dataclass(frozen=True, slots=True)
class Reminders:
    """Rests are to be offered in another way, or not at all."""

    settings: BreakSettings


@dataclass(frozen=True, slots=True)
class ScaleSet:
    """Her scale shows weights in such steps, in grams; None: they are learnt."""

    step_g: float | None


@dataclass(frozen=True, slots=True)
class Behave:
    """She wants to be listened to and answered in another way, as the settings say."""

    manner: Manner


@dataclass(frozen=True, slots=True)
class Held:
    """What is held to talk was pressed (`down`) or let go."""

    down: bool


@dataclass(frozen=True, slots=True)
class EndOfTrying:
    """The voice check is put away."""


@dataclass(frozen=True, slots=True)
class EndOfLesson:
    """The lesson is put away; it can be gone on with."""


@dataclass(frozen=True, slots=True)
class OrderSeen:
    """The order was looked at."""

    look: OrderLook


@dataclass(frozen=True, slots=True)
class PutAway:
    """The work is put away."""


Message = (
    Said
    | Typed
    | Merged
    | Awaited
    | TakeUpPiece
    | CastOnPiece
    | OwnVoice
    | Reminders
    | ScaleSet
    | Behave
    | Held
    | EndOfTrying
    | EndOfLesson
    | OrderSeen
    | PutAway
    | hearing.HearingEvent
)
