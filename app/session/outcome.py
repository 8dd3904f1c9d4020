"""What became of one thing said, as a value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.pieces.values import NewPiece
    from engine.commands import Command
    from engine.records import Record
    from engine.replies import Reply
    from engine.talk import Screen, Talk


@dataclass(frozen=True, slots=True)
class Outcome:
    """
    What became of one thing said.

    `command` is what was acted on (None: refused or asked about); `written` are the records that
    are now on disk; `trouble` is a sentence when the journal could not be written. `screen` is
    what is to be shown, `going` the piece to go to: one of the journal, by its id, or a new one.
    """

    replies: tuple[Reply, ...]
    command: Command | Talk | None = None
    written: tuple[Record, ...] = ()
    trouble: str = ""
    screen: Screen | None = None
    going: str | NewPiece | None = None
