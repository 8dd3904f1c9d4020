"""A piece on the needle for tests of what is shown: real patterns, a real conversation."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.situation import Ear, HeardLine, Situation
from engine.commands import Source
from engine.journal.memory import MemoryJournal
from speech.words.understand import understand

if TYPE_CHECKING:
    from engine.commands import Command
    from engine.replies import Reply
    from engine.talk import Talk


class Needle:
    """One piece that is knitted by typed words, without a thread or a window."""

    def __init__(self, pattern: str = "bottle-sleeve", size: str | None = None) -> None:
        """Cast on a pattern that comes with Walesong, or a pattern given as text."""
        text = pattern if "\n" in pattern else resources.text(f"shared/patterns/{pattern}.toml")
        new = new_piece(text, size)
        assert isinstance(new, NewPiece), new
        self.talk = Conversation.begin(MemoryJournal(), new, SetClock())
        self.replies: tuple[Reply, ...] = ()
        self.heard: HeardLine | None = None

    def say(self, *sentences: str) -> Needle:
        """Type sentences one after the other; each must be understood."""
        for words in sentences:
            meant = understand(words, phrase_book())
            assert meant, words
            self.hear(meant, words)
        return self

    def hear(self, meant: tuple[Command | Talk, ...], words: str = "") -> None:
        """Act on commands as the assistant does."""
        self.replies = self.talk.hear(meant, Source.TYPED).replies
        self.heard = HeardLine(words, accepted=True) if words else None

    def situation(self, **circumstances: Any) -> Situation:
        """Return what is to be shown now."""
        question = self.talk.question
        now = Situation(
            state=self.talk.state,
            course=self.talk.course,
            replies=self.replies,
            question=question.asks if question else None,
            heard=self.heard,
            ear=Ear.LISTENING,
        )
        return replace(now, **circumstances)
