"""
One piece in conversation: what was said is decided, written, and only then shown or answered.

This is the heart of the product without a thread, a window or a sound. The assistant runs it on
its own thread, the terminal and the tests call it directly.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from app.pieces.partners import beginning, first_piece
from app.pieces.pattern_cache import course_of
from app.pieces.summaries import Summaries
from app.pieces.told_counts import with_told_count
from app.session.can_say import can_say
from app.session.demonstration import shown_in, turned
from app.session.designers_words import cautions, finishing
from app.session.dialogue import QUESTION_LASTS_MS, Dialogue, answered, asking, closed, converse
from app.session.finishing import step_noted
from app.session.greeting import days_between, other_count, welcome, what_is_missing
from app.session.measuring import reminded
from app.session.navigation import Whereabouts, lead
from app.session.order_talk import OrderTalk
from app.session.outcome import Outcome
from app.session.piece_history import PieceHistory
from app.session.piece_listing import PieceListing
from app.wall import Made, behind
from engine.answering.answer import answer
from engine.commands import (
    Command,
    CountStitches,
    FinishPiece,
    HowLong,
    NoteRow,
    SameAsPartner,
    Source,
    Undo,
)
from engine.events import PatternChanged, PatternKept, Undone
from engine.journal.errors import JournalError
from engine.judging.decide import decide, expected_now
from engine.judging.decision import Accepted, Doubt, Question, Refused
from engine.pattern import plain_course
from engine.records import Record, new_name
from engine.replies import Reply, Say, Tone, reply
from engine.talk import (
    Dictate,
    Help,
    Leading,
    OtherPiece,
    Screen,
    StepDone,
    StopListening,
    Talk,
    TryVoice,
    Yes,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from app.pieces.values import NewPiece, PieceSummary
    from app.session.clock import Clock
    from engine.events import Event
    from engine.forecast.pace import RowStamp
    from engine.journal.journal import Journal
    from engine.pattern import Course
    from engine.state import PieceState

_SEEN_AFTER_MS = 4000
"""What comes so soon after another program's rows was meant before they were seen (a guess)."""


class Conversation:
    """The talk about one piece; not safe to share between threads."""

    def __init__(
        self, journal: Journal, piece: str, clock: Clock, summaries: Summaries | None = None
    ) -> None:
        """
        Take up the piece where its history stands; `summaries` are those of the journal.

        Raises:
            JournalError: the journal cannot be read.

        """
        self._journal = journal
        self._clock = clock
        self._summaries = summaries if summaries is not None else Summaries()
        self._history = PieceHistory(journal, piece, clock)
        self.listing = PieceListing(journal, self._history, self._summaries)
        """The pieces of the journal."""
        self._orders = OrderTalk(journal, clock)
        self._new = False
        self._refitted: tuple[Reply, ...] = ()
        self._elsewhere = False
        self._heard = ""  # the group of what was said last, if nothing was written since
        self._noticed_ms: int | None = None
        """When it was noticed, while nothing was said, that another program had written."""
        self.dialogue = Dialogue()
        self.fault = ""
        """What went wrong inside since somebody last looked, in a sentence."""

    @classmethod
    def begin(
        cls,
        journal: Journal,
        new: NewPiece,
        clock: Clock,
        source: Source = Source.KEY,
        summaries: Summaries | None = None,
    ) -> Conversation:
        """
        Cast on a piece and return the talk about it.

        Without a swatch of its own it takes over the partner's.

        Raises:
            KeyError: the partner is not in the journal.
            JournalError: it could not be written; then there is no piece.

        """
        talk = cls(journal, new_name(), clock, summaries)
        talk._write(beginning(journal, new), source)
        talk._new = True
        return talk

    def about(self, piece: str) -> Conversation:
        """
        Return the talk about another piece of the same journal.

        Raises:
            KeyError: there is no such piece.
            JournalError: it cannot be read.

        """
        other = Conversation(self._journal, piece, self._clock, self._summaries)
        if not other.state.begun:
            raise KeyError(piece)
        self._summaries.needle.note(piece, self._journal.pieces())
        return other

    def cast_on(self, new: NewPiece, source: Source) -> Conversation:
        """Cast on another piece in the same journal; JournalError if it could not be written."""
        return Conversation.begin(self._journal, new, self._clock, source, self._summaries)

    def pieces(self) -> tuple[PieceSummary, ...]:
        """Return the pieces of the journal, the one worked on last first."""
        return self.listing.pieces()

    @property
    def piece(self) -> str:
        """The name of the piece in the journal."""
        return self._history.piece

    @property
    def course(self) -> Course:
        """The course of the pattern; of a piece without one where it cannot be followed."""
        return self._by_course(lambda course: course)

    @property
    def state(self) -> PieceState:
        """Where the piece stands: what its history makes of it."""
        return self._history.state

    @property
    def saying(self) -> str | None:
        """The words so far of the row that is being said; None: none is."""
        saying = self.state.saying
        return None if saying is None else saying.words

    @property
    def records(self) -> tuple[Record, ...]:
        """The history of the piece, in its one order."""
        return self._history.records

    def stamps(self) -> tuple[RowStamp, ...]:
        """Return when the rows were done that still hold, by each writer's own clock."""
        return self._history.stamps()

    def reload(self) -> None:
        """Read the history again, for instance after another device's records were merged in."""
        self._history.reload()
        self.dialogue = closed(self.dialogue)  # it was asked about another state

    def _write(self, happened: Iterable[Event], source: Source) -> tuple[Record, ...]:
        """Write the events of one command; a question that stood was about the state before."""
        written = self._history.write(happened, source)
        if written:
            self.dialogue = replace(closed(self.dialogue), moved=False)
            self._heard = written[-1].group if source is Source.VOICE else ""
            self._orders.last = False
        return written

    def _taken_in(self) -> bool:
        """Take in what another program wrote to the piece; tell whether it did."""
        if not self._history.taken_in():
            return False
        self.dialogue = closed(self.dialogue)
        return True

    @property
    def question(self) -> Question | None:
        """The question that stands now."""
        return self.dialogue.standing(self._clock.monotonic_ms())

    def question_left_s(self) -> float | None:
        """Return for how many seconds the question still stands; None: there is none."""
        if self.question is None:
            return None
        left_ms = self.dialogue.asked_ms + QUESTION_LASTS_MS - self._clock.monotonic_ms()
        return max(left_ms, 0) / 1000

    def hear(
        self, candidates: Sequence[Command | Talk], source: Source, *, doubted: bool = False
    ) -> Outcome:
        """
        Act on what was said; `candidates` are its possible meanings, the likeliest first.

        A `doubted` command is asked about if it has a number.
        Whatever is returned has been written before; if writing failed, nothing is changed.
        """
        just, self._noticed_ms = self._noticed_ms, None
        seen_late = just is not None and self._clock.monotonic_ms() - just < _SEEN_AFTER_MS
        self._elsewhere = self._taken_in() or seen_late
        self._heard = ""
        first = candidates[0]
        self._orders.turn(source)
        if isinstance(first, Undo) and self._orders.last:
            return self._of_order_no_more(first)
        if isinstance(first, Undo) and self.dialogue.moved:
            first = OtherPiece()  # what was done last was to come here
            candidates = (first,)
        if isinstance(first, Leading):
            return self._lead([one for one in candidates if isinstance(one, Leading)])
        if isinstance(first, Yes) and self._elsewhere:
            return self._of_another_place()
        if isinstance(first, Talk):
            return self._converse(first, source)
        meant = [one for one in candidates if isinstance(one, Command)]
        asked = self.question.yes if self.question is not None else None
        # Who touches "Finished" while asked whether it is has answered; others may have said it.
        again = isinstance(first, FinishPiece) and asked == first and source is not Source.VOICE
        return self._decide(meant, source, confirmed=again, doubted=doubted)

    def mend(self, candidates: Sequence[Command | Talk], source: Source) -> Outcome:
        """
        Act on what replaces the thing said last: both are one group, which undo takes back.

        Where the new one is asked about or refused, the beginning does not hold either.
        """
        group = self._heard
        if self._orders.just and (undone := self._of_order_no_more(Undo())).trouble:
            return undone
        if not self._history.rewind(group):
            return self.hear(candidates, source)
        self.dialogue = closed(self.dialogue)
        try:
            outcome = self.hear(candidates, source)
        finally:
            self._history.end_rewinding()
        if outcome.written or outcome.trouble or self._elsewhere:
            return outcome
        asking_now = self.dialogue
        try:
            written = self._write((Undone(group),), source)
        except JournalError as error:
            return replace(outcome, trouble=str(error))
        self.dialogue, self._heard = asking_now, ""
        return replace(outcome, written=written)

    def notice(self) -> bool:
        """Take in what another program wrote while nothing was said here; tell whether it did."""
        noticed = self._taken_in()
        if noticed:
            self._noticed_ms = self._clock.monotonic_ms()
        return noticed

    def puzzle(self, meant: tuple[str, Command | Talk] | None) -> Outcome:
        """
        Answer words that are not known; ask whether `meant`, words and what they say, was meant.

        The question that stood is put away: a yes is never taken for an answer to an older one.
        """
        replies: tuple[Reply, ...] = (reply(Say.NOT_UNDERSTOOD, Tone.NOT_HEARD),)
        if meant is not None:
            words, said = meant
            question = Question(reply(Say.ASK_MEANT, words=words), said, guess=True)
            self.dialogue = asking(self.dialogue, question, self._clock.monotonic_ms())
            replies = (*replies, question.asks)
        return self._answered(Outcome(replies))

    def note(self, text: str, source: Source) -> Outcome:
        """Take a dictated text as the note that was asked for."""
        self._elsewhere = False  # a note is about its row, whoever else has counted
        row = self.dialogue.dictating_row
        self.dialogue = replace(self.dialogue, dictating=False, dictating_row=None)
        return self._decide([NoteRow(row, text)], source, confirmed=True)

    def change_pattern(
        self, text: str, size: str | None, source: Source = Source.KEY
    ) -> tuple[Record, ...]:
        """
        Follow another text, or size, from the row being worked; what was knitted keeps its own.

        Nothing is written where the piece follows that text already.

        Raises:
            JournalError: it could not be written; then nothing is changed.

        """
        had = expected_now(self.state, self.course)
        written = self._write(self._following(text, size), source)
        self._refitted = other_count(self.state, self.course, had)
        return written

    def _following(self, text: str, size: str | None) -> tuple[Event, ...]:
        """Return what makes the piece follow a text; nothing where it does already."""
        sha256 = hashlib.sha256(text.encode()).hexdigest()
        holding = self.state.pattern
        if holding is not None and (holding.sha256, holding.size) == (sha256, size):
            return ()
        kept = () if sha256 in dict(self.state.texts) else (PatternKept(sha256, text),)
        return (*kept, PatternChanged(sha256, size, self.state.working))

    def close(self) -> None:
        """Close the journal; what was found out about its pieces is kept for the next start."""
        with suppress(JournalError):
            self.listing.keep()
        self._journal.close()

    def greet(self) -> tuple[Reply, ...]:
        """Say where the work stands; once, when it is cast on, what its pattern warns of, too."""
        last = self._history.last
        away = days_between(last.wall, self._clock.wall()) if last is not None else 0
        replies = self._by_course(lambda course: welcome(self.state, course, away))
        if self._new and not self.state.done:
            replies = (*replies, *cautions(self.state))
        self._new = False
        replies, self._refitted = (*replies, *self._refitted, *self._orders.lying_dry()), ()
        gap, self._journal.gap = self._journal.gap, None
        if gap is not None:
            replies = (what_is_missing(gap), *replies)
        self.dialogue = replace(self.dialogue, last=replies)
        return replies

    # --- the steps ----------------------------------------------------------------------------

    def _converse(self, talk: Talk, source: Source) -> Outcome:
        if isinstance(talk, StepDone):
            return self._tick(talk.count, source)
        asked = self.question
        turn = converse(self.dialogue, talk, self._clock.monotonic_ms())
        self.dialogue = turn.dialogue
        meant = turn.confirmed
        if meant is None:
            if isinstance(talk, Help):
                showing = self.dialogue.shown is not None
                now = can_say(self.state, self.course, asked, showing=showing)
                turn = replace(turn, replies=(*turn.replies, *now))
            leaves = isinstance(talk, StopListening | TryVoice | Dictate)
            return self._answered(Outcome(turn.replies, talk), asks_again=not leaves)
        if asked is not None and asked.guess:
            return self.hear((meant,), source)
        if turn.to_begin is not None:
            return self._answered(Outcome((), meant, going=turn.to_begin))
        if isinstance(meant, Leading):
            return self._lead([meant], confirmed=True)
        if isinstance(meant, Command):
            return self._decide([meant], source, confirmed=True)
        raise TypeError(f"Nothing asks whether '{meant.name}' was meant.")

    def _tick(self, step: int, source: Source) -> Outcome:
        """Note that a step of the finishing is done, or that it is not after all."""
        noted = step_noted(self.state, step)
        if isinstance(noted, Reply):
            return self._answered(Outcome((noted,)))
        return self._decide([noted], source, confirmed=True)

    def _lead(self, candidates: Sequence[Leading], *, confirmed: bool = False) -> Outcome:
        """Find out where a talk leads; whoever runs the conversation goes there."""
        here = Whereabouts(
            self.state,
            self.pieces,
            self.dialogue.before,
            self._summaries.waiting,
            self._orders,
        )
        led = lead(candidates, here, confirmed=confirmed)
        if led.question is not None:
            now = self._clock.monotonic_ms()
            self.dialogue = asking(self.dialogue, led.question, now)
        if led.screen is Screen.CLASS:  # ten voices defeat a microphone
            self.dialogue = replace(self.dialogue, listening=False)
        went = led.going is not None or led.screen is not None
        done = candidates[0] if went else None
        return self._answered(Outcome(led.replies, done, screen=led.screen, going=led.going))

    def _of_order_no_more(self, undo: Undo) -> Outcome:
        """Take back what was said of an order last."""
        try:
            return self._answered(Outcome(self._orders.take_back(), undo))
        except JournalError as error:
            unwritten = reply(Say.NOT_WRITTEN, Tone.NOT_HEARD)
            return self._answered(Outcome((unwritten,), trouble=str(error)))

    def _decide(
        self, meant: Sequence[Command], source: Source, *, confirmed: bool, doubted: bool = False
    ) -> Outcome:
        going_on = turned(self.dialogue.shown, meant[0])
        if going_on is not None:
            said, shown = going_on
            self.dialogue = replace(self.dialogue, shown=shown)
            return self._answered(Outcome((said,), meant[0]))
        before = self.state
        first = self._first() if SameAsPartner() in meant else ()
        judge = partial(decide, before, candidates=meant, first=first)
        judge = partial(judge, confirmed=confirmed, doubted=doubted)
        match self._by_course(
            lambda course: judge(course=course, heard=source is Source.VOICE, make_course=course_of)
        ):
            case Refused(reason):
                return self._answered(Outcome((reason,)))
            case Doubt() | Accepted(events=(_, *_)) if self._elsewhere:
                return self._of_another_place()
            case Doubt(question):
                self.dialogue = asking(self.dialogue, question, self._clock.monotonic_ms())
                return self._answered(Outcome((question.asks,)))
            case Accepted(command, happened, then):
                if isinstance(command, CountStitches):
                    happened = (*happened, *self._told(command.count))
                try:
                    written = self._write(happened, source)
                except JournalError as error:
                    unwritten = reply(Say.NOT_WRITTEN, Tone.NOT_HEARD)
                    return self._answered(Outcome((unwritten,), trouble=str(error)))
                stamps = self.stamps() if isinstance(command, HowLong) else ()
                replies = self._by_course(
                    lambda course: answer(
                        before, self.state, course, command, stamps, self.dialogue.scale_g
                    )
                )
                done = before.done, self.state.done
                replies, again = reminded(self.dialogue.measure_at, done, written, replies)
                self.dialogue = replace(self.dialogue, measure_at=again)
                if any(one.say is Say.LAST_ROW_DONE for one in replies):
                    replies = (*replies, *finishing(self.state))
                self.dialogue = replace(self.dialogue, shown=shown_in(replies))
                if then is not None:
                    self.dialogue = asking(self.dialogue, then, self._clock.monotonic_ms())
                    replies = (*replies, then.asks)
                looked = not happened and self.dialogue.shown is None
                return self._answered(Outcome(replies, command, written), asks_again=looked)

    def _told(self, count: int) -> tuple[Event, ...]:
        """Return what keeps the stitches that she tells after a row that cannot be counted."""
        state = self.state
        text = self._by_course(lambda course: with_told_count(state, course, count))
        if text is None or state.pattern is None:
            return ()
        return self._following(text, state.pattern.size)

    def _of_another_place(self) -> Outcome:
        """Say that this was said of another place than the one where the work stands now."""
        self.dialogue = closed(self.dialogue)
        elsewhere = reply(Say.ALSO_ELSEWHERE, Tone.NOT_HEARD, row=self.state.done)
        return self._answered(Outcome((elsewhere,)))

    def _by_course(self, make: Callable[[Course], Made]) -> Made:
        """Return what is made of the pattern's course; where that fails, of one without a pattern.

        So the counting goes on; `fault` says what went wrong.
        """

        def plainly(sentence: str) -> Made:
            self.fault = sentence
            return make(plain_course(self.state.cast_on))

        return behind(
            lambda: make(course_of(self.state)),
            plainly,
            "The pattern of this piece cannot be followed",
        )

    def _first(self) -> tuple[Event, ...]:
        """Return what names the partner as it is now: the one it has, else the first piece."""
        return first_piece(self._journal, self.state, self._summaries)

    def _answered(self, outcome: Outcome, *, asks_again: bool = False) -> Outcome:
        """Take note of what is said, and so of the question that stands; all answers pass here."""
        now = self._clock.monotonic_ms()
        turn = answered(self.dialogue, outcome.replies, now, asks_again=asks_again)
        self.dialogue = turn.dialogue
        return replace(outcome, replies=turn.replies)
