"""What comes of a command: it makes sense, it is asked about first, or it is refused; as values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from engine.commands import Command
    from engine.events import Event
    from engine.replies import Reply
    from engine.talk import Talk


@dataclass(frozen=True, slots=True)
class Question:
    """
    What is asked, and what an answer means.

    `yes` is the command or talk that a yes stands for, `otherwise` the question or words that
    follow a no. A question that cannot be answered by yes (`yes` None) is answered by another
    command, "after twenty three stitches". A `guess` asks what was meant by words that are not
    known: its yes is judged as if it had just been said.
    """

    asks: Reply
    yes: Command | Talk | None
    otherwise: Question | Reply | None = None
    guess: bool = False


@dataclass(frozen=True, slots=True)
class Accepted:
    """It makes sense: write these events (none for a question), then answer."""

    command: Command
    events: tuple[Event, ...] = ()
    then: Question | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """It may be meant, or not: ask first."""

    question: Question


@dataclass(frozen=True, slots=True)
class Refused:
    """It makes no sense now; `reason` says why and what to do."""

    reason: Reply


Decision = Accepted | Doubt | Refused
