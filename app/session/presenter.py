"""
What front ends and voice are given: the newest situation, what came in, and the answers.

Used by the assistant, on its thread only.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app.session.hearing_status import told
from app.session.situation import HeardLine, Portrait, Shown, Situation
from app.session.trace import Happening
from engine.replies import about_rounds

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.session.attention import Attention
    from app.session.conversation import Conversation
    from app.session.order_look import OrderLook
    from app.session.outcome import Outcome
    from app.session.ports import Voice
    from app.session.rest_reminder import Rests
    from engine.commands import Source
    from engine.replies import Reply
    from engine.talk import PlanLong, PlanWide, Screen
    from speech.hearing import events as hearing

STAMPS = 80
"""More rows than the pace is told from, for those that were told together or after a pause."""


MOST_DRAWN = 60
"""So many other pieces are looked at to be drawn in their list."""


class Presenter:
    """Keeps the one situation that every front end shows, and makes a new one of what changes."""

    def __init__(
        self,
        show: Callable[[Situation], None],
        voice: Voice,
        attention: Attention,
        rests: Rests,
    ) -> None:
        """Show situations through `show` and answer through `voice`."""
        self.show = show
        self._voice = voice
        self._attention = attention
        self._rests = rests
        self.observers: list[Callable[[Happening], None]] = []
        self.situation: Situation | None = None
        """What is shown; None before the piece is open."""

    def refresh(
        self,
        talk: Conversation,
        *,
        heard: HeardLine | None = None,
        replies: tuple[Reply, ...] | None = None,
        trouble: str | None = None,
    ) -> None:
        """Show what has changed; what is None stays as it is."""
        known = self.situation
        if known is None:
            return
        question = talk.question
        self._attention.hearing.expect_row(talk.saying)
        if replies is None and question is None and known.question is not None:
            replies = tuple(one for one in known.replies if one is not known.question)
        if (question is None) is not (known.question is None):
            self._attention.expect_answer(asked=question is not None)
        self.situation = replace(
            known,
            state=talk.state,
            course=talk.course,
            stamps=talk.stamps()[-STAMPS:],
            question=question.asks if question else None,
            replies=known.replies if replies is None else replies,
            heard=known.heard if heard is None else heard,
            trouble=known.trouble if trouble is None else trouble,
            manner=talk.dialogue.manner,
            check=self._attention.check,
            lesson=self._attention.lesson,
            ear=self._attention.shown(talk.dialogue),
            rest=self._rests.minutes,
            scale_g=talk.dialogue.scale_g,
        )
        self.show(self.situation)

    def ear(self, talk: Conversation, event: hearing.HearingEvent) -> None:
        """Show what the listening does; nothing of this is knitting."""
        if self.situation is None:
            return
        found = told(event, self._attention.hears, self.situation)
        if found is not None:
            self._attention.hears, self.situation = found
            self.refresh(talk)

    def portray(self, talk: Conversation, piece: str, found: Portrait) -> None:
        """Show another piece as it stands."""
        self.keep_portrait(piece, found)
        self.refresh(talk)

    def keep_portrait(self, piece: str, found: Portrait) -> None:
        """Have another piece drawn as it stands, from the next situation on."""
        if self.situation is not None:
            portraits = {**dict(self.situation.portraits), piece: found}
            self.situation = replace(self.situation, portraits=tuple(portraits.items()))

    def show_order(self, talk: Conversation, look: OrderLook) -> None:
        """Show the order as it was looked at; till all is worked out, what was before stays."""
        if self.situation is None:
            return
        before = self.situation.order
        if before is not None and before.state is not None and look.state is not None:
            known = look.pieces or before.pieces
            compared = look.batches if look.batches is not None else before.batches
            look = replace(look, pieces=known, batches=compared)
        self.situation = replace(self.situation, order=look)
        self.refresh(talk)

    def unseen(self, here: str) -> list[str]:
        """Return the pieces that were not looked at yet, those on a needle first."""
        if self.situation is None:
            return []
        seen = {here, *dict(self.situation.portraits)}
        in_turn = sorted(self.situation.pieces, key=lambda one: one.finished)
        return [one.id for one in in_turn if one.id not in seen][:MOST_DRAWN]

    def forget_portraits(self) -> None:
        """Draw no other piece before it is looked at again: records of others have come."""
        if self.situation is not None:
            self.situation = replace(self.situation, portraits=())

    def point_to(self, screen: Screen, wish: PlanWide | PlanLong | None = None) -> None:
        """Have a screen shown with the next situation, with what is wished of the plan on it."""
        if self.situation is not None:
            turn = self.situation.shown.turn + 1
            self.situation = replace(self.situation, shown=Shown(screen, turn, wish))

    def tell(
        self,
        source: Source,
        line: HeardLine | None,
        outcome: Outcome | None,
        span: hearing.Span | None,
    ) -> None:
        """Tell every observer what came in and what became of it."""
        if self.situation is not None:
            happening = Happening(source, line, outcome, span, self.situation)
            for observer in self.observers:
                observer(happening)

    def sound(self, replies: Sequence[Reply], *, words: bool = True) -> None:
        """Sound the tone of the replies and, if `words`, say them."""
        if replies and self.situation is not None and self.situation.in_rounds:
            replies = about_rounds(replies)
        if replies:
            self._voice.answer(replies, words=words)
