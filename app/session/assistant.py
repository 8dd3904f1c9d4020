"""
The assistant: one thread, one inbox, one piece at a time.

Everything that happens (a word heard, a key, a touch, a pedal, another device's records) is put
into the inbox; the thread takes one thing after the other, has the conversation decide, write and
answer it, and then shows the new situation and sounds the answer. The journal is opened and used
on this thread only, so neither the window nor the recogniser ever waits for a disk.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from dataclasses import replace
from typing import TYPE_CHECKING

from app.session.attention import Attention
from app.session.clock import SystemClock
from app.session.dialogue import doubting
from app.session.greeting import disagreement
from app.session.inbox import (
    Awaited,
    Behave,
    CastOnPiece,
    EndOfLesson,
    EndOfTrying,
    Held,
    Merged,
    Message,
    OrderSeen,
    OwnVoice,
    PutAway,
    Reminders,
    Said,
    ScaleSet,
    TakeUpPiece,
    Typed,
)
from app.session.not_understood import acting, guess, taken_for
from app.session.opening import gone_to
from app.session.outcome import Outcome
from app.session.presenter import STAMPS, Presenter
from app.session.rest_reminder import Rests
from app.session.situation import HeardLine, Portrait, Practice, Situation, piece_named
from app.wall import behind, sentence_of
from engine.commands import Source
from engine.journal.errors import JournalError
from engine.pattern import plain_course
from engine.talk import PlanLong, PlanWide, RemindLater, Screen
from speech.hearing import events as hearing
from speech.words.said_rows import understood

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.pieces.values import NewPiece
    from app.session.attention import Taken
    from app.session.clock import Clock
    from app.session.conversation import Conversation
    from app.session.not_understood import Act
    from app.session.order_look import OrderLooking
    from app.session.ports import Hearing, Voice
    from app.session.trace import Happening
    from engine.commands import Command
    from engine.forecast.breaks import BreakSettings
    from engine.journal.journal import KeptPiece
    from engine.replies import Reply
    from engine.talk import Talk
    from speech.words.phrases import PhraseBook


_LATE_S = 0.01
"""So much later than due a rest or the end of a question is looked for, and then it is there."""
_LOOK_EVERY_S = 2.0
"""So often it is looked whether another program wrote to the journal."""


class Assistant:
    """Runs a conversation on its own thread; its public methods may be called from any thread."""

    def __init__(
        self,
        open_conversation: Callable[[], Conversation],
        book: PhraseBook,
        show: Callable[[Situation], None],
        voice: Voice,
        clock: Clock | None = None,
    ) -> None:
        """
        Prepare; nothing runs before `start`.

        Args:
            open_conversation: opens journal and piece; called on the assistant's own thread.
            book: the phrases, for typed words.
            show: gets every new situation, on the assistant's thread; must not wait.
            voice: where the answers go.
            clock: the clock of the conversation, the device's own if not given.

        """
        self._open = open_conversation
        self._book = book
        self._clock = clock or SystemClock()
        self._rests = Rests()
        self.attention = Attention(voice)
        """How she is listened to; its wishes are set before `start`."""
        self._presenter = Presenter(show, voice, self.attention, self._rests)
        self._inbox: queue.SimpleQueue[Message] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="assistant", daemon=True)
        self._unlisted: list[KeptPiece] = []
        """Pieces that are to be looked at yet, whenever nothing else is to be done."""
        self._unseen: list[str] = []
        """Pieces that are to be drawn in the list of them, looked at as the unlisted are."""
        self.orders: OrderLooking | None = None  # what looks at them; set before `start`
        self._opened = threading.Event()
        self.practice = Practice.NONE
        """Whether the practice recording knits; set before `start`."""
        self.failed: str = ""

    def listen_with(self, ears: Hearing) -> None:
        """Name the hearing that may be paused, resumed and put to dictation; before `start`."""
        self.attention.hearing = ears

    def observe(self, observer: Callable[[Happening], None]) -> None:
        """Have `observer` told of everything, on the assistant's thread; before `start`."""
        self._presenter.observers.append(observer)

    def start(self) -> None:
        """Open the piece and begin to take things from the inbox."""
        self._thread.start()

    def ready(self) -> bool:
        """Wait until the piece is open; False if it could not be (`failed` says why)."""
        while not self._opened.wait(0.2) and self._thread.is_alive():
            pass
        return not self.failed and self._opened.is_set()

    def submit(self, said: Command | Talk, source: Source) -> None:
        """Put a command or talk that came by key, pedal or touch into the inbox."""
        self._inbox.put(Said((said,), source))

    def typed(self, words: str) -> None:
        """Put typed words into the inbox; they are understood as spoken ones are."""
        self._inbox.put(Typed(words))

    def heard(self, event: hearing.HearingEvent) -> None:
        """Put what the listening tells into the inbox: the callback of a listener."""
        self._inbox.put(event)

    def heard_and_answered(self, event: hearing.HearingEvent) -> None:
        """
        Put what a recording says into the inbox and wait until it is dealt with.

        A recording that plays faster than life would else say "yes" before it was asked.
        """
        self._wait_for(event)

    def typed_and_answered(self, words: str) -> None:
        """Put typed words into the inbox and wait until they are dealt with."""
        self._wait_for(Typed(words))

    def _wait_for(self, message: Typed | hearing.HearingEvent) -> None:
        if threading.current_thread() is self._thread:
            raise RuntimeError("The assistant cannot wait for itself.")
        awaited = Awaited(message, threading.Event())
        self._inbox.put(awaited)
        while not awaited.done.wait(0.2) and self._thread.is_alive():
            pass

    def take_up(self, piece: str) -> None:
        """Work on another piece of the journal, named by its id, where it was left."""
        self._inbox.put(TakeUpPiece(piece))

    def cast_on(self, new: NewPiece, source: Source) -> None:
        """Begin a new piece and work on it."""
        self._inbox.put(CastOnPiece(new, source))

    def speaking(self, *, on: bool) -> None:
        """Tell that Walesong's own voice closes the microphone (`on`), or that it is open again."""
        self._inbox.put(OwnVoice(on))

    def remind(self, settings: BreakSettings) -> None:
        """Offer a rest as these settings say from now on."""
        self._inbox.put(Reminders(settings))

    def scale(self, step_g: float | None) -> None:
        """Reckon the yarn by a scale of this step in grams from now on; None: it is learnt."""
        self._inbox.put(ScaleSet(step_g))

    def tell(self, message: Behave | Held | EndOfTrying | EndOfLesson | OrderSeen) -> None:
        """Put what is no command into the inbox: about the listening, or what was looked at."""
        self._inbox.put(message)

    def merged(self) -> None:
        """Tell that records of another device have come into the journal."""
        self._inbox.put(Merged())
        if self.orders is not None:
            self.orders.look_again()

    def stop(self, timeout: float = 5.0) -> None:
        """Finish what is in the inbox, close the journal and end the thread."""
        self._inbox.put(PutAway())
        if self._thread.is_alive():
            self._thread.join(timeout)

    # --- on the assistant's own thread --------------------------------------------------------

    def _run(self) -> None:
        try:
            talk = self._open()
        except JournalError as error:
            self.failed = str(error)
            self._opened.set()
            return
        except Exception as error:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            self.failed = sentence_of(error, "The work cannot be taken up")
            self._opened.set()
            return
        try:
            if talk.state.pattern is not None:  # reading it can take a while: first what is known
                plain = plain_course(talk.state.cast_on)
                manner = self.attention.wanted
                now = Situation(talk.state, plain, manner=manner, opening=True)
                self._presenter.show(replace(now, practice=self.practice))
            greeting = talk.greet()
            self._remember_reminders(talk)
            talk.dialogue = self.attention.begin(talk.dialogue)
            self._unlisted = talk.listing.unlisted()
            self._presenter.situation = Situation(
                talk.state,
                talk.course,
                greeting,
                trouble=talk.fault,
                manner=talk.dialogue.manner,
                pieces=() if self._unlisted else talk.pieces(),
                stamps=talk.stamps()[-STAMPS:],
                practice=self.practice,
            )
            self._presenter.show(self._presenter.situation)
            self._presenter.sound(greeting)
            self._opened.set()
            while not isinstance(message := self._next(talk), PutAway):
                talk = self._take_or_tell(talk, message)
        except Exception as error:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            self.failed = sentence_of(error, "The work cannot be taken up")
            self._opened.set()
        finally:
            talk.close()

    def _next(self, talk: Conversation) -> Message:
        """Return the next thing that comes in; before that, show what time brings or takes away."""
        while True:
            if self._unlisted and self._inbox.empty():
                self._list_one(talk)
                continue
            if self._unseen and self._inbox.empty():
                self._portray_one(talk)
                continue
            left = (self._rests.wait_s(self._now_s()), talk.question_left_s())
            known = [one for one in left if one is not None]
            due_s = self._now_s() + min(known) if known else None
            soon = min(known) + _LATE_S if known else _LOOK_EVERY_S
            try:
                return self._inbox.get(timeout=min(soon, _LOOK_EVERY_S))
            except queue.Empty:
                self._idle(talk, due=due_s is not None and self._now_s() >= due_s)

    def _idle(self, talk: Conversation, *, due: bool) -> None:
        """Show what time or another program has changed while nothing came in."""
        noticed = behind(talk.notice, lambda _: False, "The journal cannot be looked at")
        if due:
            self._rests.look(self._now_s())
        if noticed or due:
            self._presenter.refresh(
                talk, replies=disagreement(talk.state) or None if noticed else None
            )

    def _list_one(self, talk: Conversation) -> None:
        """Look at one more piece, and show the list once all are known."""
        with contextlib.suppress(JournalError):
            talk.listing.look_at(self._unlisted.pop(0))
            if not self._unlisted and self._presenter.situation is not None:
                self._presenter.situation = replace(self._presenter.situation, pieces=talk.pieces())
                self._presenter.refresh(talk)

    def _portray_one(self, talk: Conversation) -> None:
        """Look at one more piece, so that it can be drawn in the list."""
        piece = self._unseen.pop(0)
        with contextlib.suppress(JournalError):
            found = behind(
                lambda: talk.listing.portrait(piece), lambda _: None, "A piece cannot be drawn"
            )
            if found is not None:
                self._presenter.portray(talk, piece, found)

    def _now_s(self) -> float:
        return self._clock.monotonic_ms() / 1000

    def _remember_reminders(self, talk: Conversation) -> None:
        talk.dialogue = replace(talk.dialogue, reminders=self._rests.settings.on)

    def _take_or_tell(self, talk: Conversation, message: Message) -> Conversation:
        """
        Take one thing and return the talk that goes on: about this piece, or about another one.

        What goes wrong with it is told and ends nothing but itself.
        """
        try:
            return self._take(talk, message)
        except Exception as error:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            trouble = sentence_of(error, f"{self._named(talk)} cannot be answered about")
            talk.fault = ""
            with contextlib.suppress(JournalError):
                talk.reload()  # what is on disk is what holds
            self._presenter.refresh(talk, trouble=trouble)
            return talk

    def _named(self, talk: Conversation) -> str:
        """Return how the piece is called where something goes wrong with it: by its number."""
        pieces = self._presenter.situation.pieces if self._presenter.situation is not None else ()
        return piece_named(talk.piece, pieces)

    def _change_piece(self, talk: Conversation, wish: TakeUpPiece | CastOnPiece) -> Conversation:
        """Go to the piece that was touched; the same talk goes on if that fails."""
        if isinstance(wish, CastOnPiece):
            asked = doubting(talk.dialogue, wish.new, self._clock.monotonic_ms())
            if asked is not None:
                talk.dialogue = asked
                self._presenter.point_to(Screen.BOARD)
                self._finish(talk, Outcome(asked.last), wish.source, None)
                return talk
        where = wish.new if isinstance(wish, CastOnPiece) else wish.piece
        source = wish.source if isinstance(wish, CastOnPiece) else Source.TOUCH
        other, trouble = gone_to(talk, where, source)
        if trouble:
            self._presenter.refresh(talk, trouble=trouble)
            return talk
        self._arrive(other, other.greet(), left=talk)
        return other

    def _arrive(
        self,
        talk: Conversation,
        greeting: tuple[Reply, ...],
        heard: HeardLine | None = None,
        *,
        left: Conversation,
    ) -> None:
        """Show and sound the piece that was gone to; the board is what is to be seen of it."""
        self.attention.expect_answer(asked=False)
        if self._presenter.situation is not None:
            self._presenter.situation = replace(self._presenter.situation, pieces=talk.pieces())
            self._presenter.keep_portrait(left.piece, Portrait(left.state, left.course))
            self._presenter.point_to(Screen.BOARD)
        self._presenter.refresh(talk, heard=heard, replies=greeting, trouble="")
        self._presenter.sound(greeting, words=not talk.dialogue.tones_only)

    def _take(self, talk: Conversation, message: Message) -> Conversation:
        """Take one thing and return the talk that goes on."""
        trying = self.attention.check is not None
        message = taken_for(message, talk, self._book, trying=trying)
        taken = self.attention.take(message, talk.dialogue)
        if taken is not None:
            self._show_taken(talk, taken)
            return talk
        match message:
            case Said(candidates, source):
                return self._act(talk, candidates, source, None)
            case Typed(words):
                return self._act_on_words(talk, words)
            case TakeUpPiece() | CastOnPiece():
                return self._change_piece(talk, message)
            case Awaited(message=inner, done=done):
                try:
                    return self._take_or_tell(talk, inner)
                finally:
                    done.set()
            case hearing.Heard(candidates, words, span):
                return self._act(talk, candidates, Source.VOICE, words, span, acting(message, talk))
            case Merged():
                talk.reload()
                self._presenter.forget_portraits()
                replies = disagreement(talk.state)
                self._presenter.refresh(talk, replies=replies or None)
                self._presenter.sound(replies, words=not talk.dialogue.tones_only)
            case Reminders(settings):
                self._rests.change(settings)
                self._remember_reminders(talk)
                self._presenter.refresh(talk)
            case ScaleSet(step_g):
                talk.dialogue = replace(talk.dialogue, scale_g=step_g)
                self._presenter.refresh(talk)
            case hearing.Dictated(text=text, span=span):
                outcome = talk.note(text, Source.VOICE)
                line = HeardLine(text, accepted=True)
                self._finish(talk, outcome, Source.VOICE, line, span)
            case OrderSeen(look):
                self._presenter.show_order(talk, look)
            case PutAway() | EndOfLesson():
                pass
            case OwnVoice() | Behave() | Held() | EndOfTrying() | hearing.RefusedSpeech():
                raise TypeError("What concerns the listening alone was taken before this.")
            case other:
                self._presenter.ear(talk, other)
        return talk

    def _show_taken(self, talk: Conversation, taken: Taken) -> None:
        """Show and sound what concerned the listening alone."""
        if taken.manner is not None:
            talk.dialogue = replace(talk.dialogue, manner=taken.manner)
        self._presenter.refresh(talk, heard=taken.heard, replies=taken.replies or None)
        if taken.heard is not None:
            self._presenter.tell(taken.source, taken.heard, taken.outcome, taken.span)
        self._presenter.sound(taken.replies, words=not talk.dialogue.tones_only)

    def _act_on_words(self, talk: Conversation, words: str) -> Conversation:
        if talk.dialogue.dictating and words.strip():
            outcome = talk.note(words.strip(), Source.TYPED)
            self._finish(talk, outcome, Source.TYPED, HeardLine(words, accepted=True))
            return talk
        candidates = understood(words, self._book, saying=talk.saying)
        if candidates:
            return self._act(talk, candidates, Source.TYPED, words)
        found = guess(words, self._book)
        replies = talk.puzzle(found.meant).replies
        line = HeardLine(words, accepted=False, why=found.why)
        self._presenter.refresh(talk, heard=line, replies=replies)
        self._presenter.tell(Source.TYPED, line, None, None)
        self._presenter.sound(replies)
        return talk

    def _act(
        self,
        talk: Conversation,
        candidates: tuple[Command | Talk, ...],
        source: Source,
        words: str | None,
        span: hearing.Span | None = None,
        act: Act | None = None,
    ) -> Conversation:
        before, hear = talk.dialogue, act or talk.hear
        attention, outcome = self.attention, self.attention.led(candidates)
        outcome = outcome or attention.follow(hear(candidates, source), before, talk.dialogue)
        if isinstance(outcome.command, RemindLater):
            self._rests.put_off(self._now_s())
        line = HeardLine(words, accepted=True) if words is not None else None
        if outcome.going is not None:
            return self._follow(talk, outcome, source, line, span)
        if outcome.screen is Screen.PIECES:
            self._unseen = self._presenter.unseen(talk.piece)
        wish = outcome.command if isinstance(outcome.command, PlanWide | PlanLong) else None
        if outcome.screen is not None and wish is not None:
            self._presenter.point_to(outcome.screen, wish)
        elif outcome.screen is not None and source in {Source.VOICE, Source.TYPED}:
            # What is touched or keyed, the window opens itself.
            self._presenter.point_to(outcome.screen)
        self._finish(talk, outcome, source, line, span)
        if self.orders is not None:
            self.orders.follow(candidates, outcome.screen)
        return talk

    def _follow(
        self,
        talk: Conversation,
        outcome: Outcome,
        source: Source,
        line: HeardLine | None,
        span: hearing.Span | None,
    ) -> Conversation:
        """Go where the outcome leads; its answer is what the other piece greets with."""
        if outcome.going is None:
            raise TypeError("There is nowhere to go.")
        other, trouble = gone_to(talk, outcome.going, source)
        if trouble:
            self._finish(talk, replace(outcome, command=None, trouble=trouble), source, line, span)
            return talk
        greeting = other.greet()
        self._arrive(other, greeting, line, left=talk)
        self._presenter.tell(source, line, replace(outcome, replies=greeting), span)
        return other

    def _finish(
        self,
        talk: Conversation,
        outcome: Outcome,
        source: Source,
        line: HeardLine | None,
        span: hearing.Span | None = None,
    ) -> None:
        asked = talk.question is not None
        outcome = self._rests.said_with(outcome, self._now_s(), asked=asked)
        self.attention.expect_answer(asked=asked)
        trouble = outcome.trouble or talk.fault
        talk.fault = ""
        if self._presenter.situation is not None:  # older words were about something else
            self._presenter.situation = replace(self._presenter.situation, heard=line)
        self._presenter.refresh(talk, heard=line, replies=outcome.replies, trouble=trouble)
        self._presenter.tell(source, line, outcome, span)
        self._presenter.sound(outcome.replies, words=not talk.dialogue.tones_only)
