"""What a front end that prints as it goes is told: what came in, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.session.outcome import Outcome
    from app.session.situation import HeardLine, Situation
    from engine.commands import Source
    from speech.hearing.events import Span


@dataclass(frozen=True, slots=True)
class Happening:
    """
    One thing that came in and what became of it, for a front end that prints as it goes.

    `outcome` is None when the words were not understood or not accepted; `line` is None when the
    command came by key, pedal or touch; `span` is None unless it was heard.
    """

    source: Source
    line: HeardLine | None
    outcome: Outcome | None
    span: Span | None
    situation: Situation
