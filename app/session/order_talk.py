"""
What is said of an order while knitting: "piece twelve is washed", "how is the order".

It is about the order that was taken last, goes to its own history and leaves the piece on the
needle alone. What is in doubt is asked, and "take that back" takes back what was said here last.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.pieces.order_view import order_view
from app.pieces.order_words import piece_title
from app.pieces.orders import orders
from app.session.order_history import OrderHistory
from engine.batch.progress import StageDoubt, drying, progress, stage_doubt
from engine.journal.errors import JournalError
from engine.judging.decision import Question
from engine.order_events import StageReached
from engine.replies import Reply, Say, Tone, reply
from engine.talk import PieceIs, StartNext

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.pieces.order_view import OrderView
    from app.session.clock import Clock
    from engine.commands import Source
    from engine.journal.journal import Journal
    from engine.talk import OfOrder

_ASKS: Final = {
    None: Say.ASK_ORDER_PIECE,
    StageDoubt.BACK: Say.ASK_ORDER_BACK,
    StageDoubt.NOT_KNITTED: Say.ASK_ORDER_UNBEGUN,
    StageDoubt.STILL_WET: Say.ASK_ORDER_WET,
}
_IN_WEEKS: Final = 21
"""From so many days on they are told as weeks."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """What is answered, and the question that stands then."""

    replies: tuple[Reply, ...]
    question: Question | None = None


class OrderTalk:
    """The talk about the order of a journal."""

    def __init__(self, journal: Journal, clock: Clock) -> None:
        """Belong to a journal; nothing is read before something is said."""
        self._journal = journal
        self._clock = clock
        self._history: OrderHistory | None = None
        self._source: Source | None = None
        self._reminded = False
        self.last = False
        """Whether what was recorded last was said of an order."""
        self.just = False
        """Whether it was what was said last of all."""

    def turn(self, source: Source) -> None:
        """Something else is said now, by this way."""
        self._source, self.just = source, False

    def hear(self, candidates: Sequence[OfOrder], *, confirmed: bool = False) -> Spoken:
        """Act on what was said; `candidates` are its possible meanings, the likeliest first."""
        try:
            return self._hear(candidates, confirmed=confirmed)
        except JournalError:
            return Spoken((reply(Say.NOT_WRITTEN, Tone.NOT_HEARD),))

    def lying_dry(self) -> tuple[Reply, ...]:
        """Remind, once, of what was washed a day ago or more and may be dry; () if nothing was."""
        if self._reminded:
            return ()
        self._reminded = True
        try:
            known = orders(self._journal)
        except JournalError:
            return ()  # what is knitted goes first; the order says so when it is asked
        now = self._clock.wall()
        dry = [(state, one) for state in known for one in drying(state, now) if one.ready]
        return tuple(
            reply(Say.ORDER_MAY_BE_DRY, title=piece_title(state, one.number))
            for state, one in dry[:1]
        )

    def in_short(self) -> tuple[Reply, ...]:
        """Say how far the order is, which is known at once; () if the journal cannot be read."""
        try:
            known = orders(self._journal)
        except JournalError:
            return ()  # the screen says so
        if not known:
            return (reply(Say.NO_ORDER),)
        lines = progress(known[0])
        done, packed = (sum(getattr(one, what) for one in lines) for what in ("knitted", "packed"))
        count = known[0].next_number - 1
        return (reply(Say.ORDER_IS, done=done, count=count, packed=packed),)

    def take_back(self) -> tuple[Reply, ...]:
        """Take back what was said of the order last; JournalError if it could not be written."""
        self.last = self.just = False
        if self._history is None or self._source is None or self._history.state.undoable is None:
            return (reply(Say.NOTHING_TO_TAKE_BACK, Tone.NOT_HEARD),)
        self._history.take_back(self._source)
        return (reply(Say.ORDER_TAKEN_BACK, Tone.HEARD),)

    def _hear(self, candidates: Sequence[OfOrder], *, confirmed: bool) -> Spoken:
        known = orders(self._journal)
        if not known:
            return Spoken((reply(Say.NO_ORDER, Tone.NOT_HEARD),))
        history = OrderHistory(self._journal, known[0].order, self._clock)
        first = candidates[0]
        if isinstance(first, PieceIs):
            said = [one for one in candidates if isinstance(one, PieceIs)]
            return self._piece_is(history, said, confirmed=confirmed)
        view = order_view(self._journal, history.state, self._clock.wall())
        return Spoken(_next(view) if isinstance(first, StartNext) else _how(view))

    def _piece_is(
        self, history: OrderHistory, said: Sequence[PieceIs], *, confirmed: bool
    ) -> Spoken:
        state, now = history.state, self._clock.wall()
        doubts = {one: stage_doubt(state, one.count, one.stage, now) for one in said}
        there = [one for one in said if doubts[one] is not StageDoubt.NO_SUCH_PIECE]
        if not there:
            last = state.next_number - 1
            no_such = reply(Say.ORDER_NO_PIECE, Tone.NOT_HEARD, count=said[0].count, last=last)
            return Spoken((no_such,))
        likely = [one for one in there if doubts[one] is None]
        meant = likely or there
        if not confirmed and (len(meant) > 1 or not likely):
            fresh = [one for one in meant if doubts[one] is not StageDoubt.SO_ALREADY]
            if fresh:
                return _asked(history, fresh, doubts)
        one = meant[0]
        title = piece_title(state, one.count)
        if doubts[one] is StageDoubt.SO_ALREADY:
            so = reply(Say.ORDER_SO_ALREADY, Tone.HEARD, title=title, stage=one.stage)
            return Spoken((so,))
        if self._source is None:
            raise RuntimeError("It is not known how that was said.")
        history.write((StageReached(one.count, one.stage),), self._source)
        self._history = history
        self.last = self.just = True
        return Spoken((reply(Say.ORDER_PIECE_IS, Tone.HEARD, title=title, stage=one.stage),))


def _asked(
    history: OrderHistory, meant: Sequence[PieceIs], doubts: dict[PieceIs, StageDoubt | None]
) -> Spoken:
    """Ask for one after the other, the likeliest first."""
    question: Question | None = None
    for one in reversed(meant):
        title = piece_title(history.state, one.count)
        asks = reply(_ASKS[doubts[one]], title=title, stage=one.stage)
        question = Question(asks, one, question)
    return Spoken((question.asks,) if question is not None else (), question)


def _next(view: OrderView) -> tuple[Reply, ...]:
    if view.next is None:
        return (reply(Say.ORDER_ALL_BEGUN, Tone.HEARD),)
    return (reply(Say.ORDER_NEXT, Tone.HEARD, title=piece_title(view.state, view.next.number)),)


def _how(view: OrderView) -> tuple[Reply, ...]:
    """Say how far it is, then the day or else the hours, then what may be dry."""
    count = view.state.count + view.spares
    how = [
        reply(Say.ORDER_IS, Tone.HEARD, done=view.knitted, count=count, packed=view.packed),
    ]
    days, hours = view.ready.days, view.ready.hours
    if view.packed < count and days is not None:
        if days.high < _IN_WEEKS:
            low, high = math.floor(days.low), math.ceil(days.high)
            how.append(reply(Say.ORDER_READY_DAYS, low=low, high=high))
        else:
            low, high = math.floor(days.low / 7), math.ceil(days.high / 7)
            how.append(reply(Say.ORDER_READY_WEEKS, low=low, high=high))
    elif view.packed < count and hours is not None:
        low, high = math.floor(hours.low), math.ceil(hours.high)
        how.append(reply(Say.ORDER_HOURS_LEFT, low=low, high=high))
    dry = next((one for one in view.drying if one.ready), None)
    if dry is not None:
        how.append(reply(Say.ORDER_MAY_BE_DRY, title=piece_title(view.state, dry.number)))
    return tuple(how)
