"""
Attention: what is listened to and how it is answered, as the knitter wants it now.

It steers the hearing and the voice by her manner, follows what is held to talk, runs the voice
check, and says what the listening does. For one thread; nothing of it is knitting.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from app.session.inbox import Behave, EndOfLesson, EndOfTrying, Held, Message, OwnVoice, Said, Typed
from app.session.lesson_talk import begun, said_in_lesson, told, typed_in_lesson
from app.session.manner import USUAL, Listening, Manner
from app.session.outcome import Outcome
from app.session.ports import Deaf
from app.session.situation import Ear, HeardLine
from engine.commands import Source
from engine.replies import Say, Tone, reply
from engine.talk import BeginLesson, ClassStory, CloseClass, OpenClass, Screen, Show, TryVoice
from speech.hearing import events as hearing
from speech.hearing.floor import Floor
from speech.hearing.voice_check import VoiceAdvice, VoiceCheck

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.lessons.leading import LessonNow
    from app.session.dialogue import Dialogue
    from app.session.ports import Doors, Hearing, Voice
    from engine.commands import Command
    from engine.replies import Reply
    from engine.talk import Talk
    from speech.hearing.voice_check import HerNumbers

_MODES: Final = {
    Listening.WORD: Ear.WORD,
    Listening.HELD: Ear.HELD,
    Listening.FREELY: Ear.LISTENING,
}
_ADVICE: Final = {
    VoiceAdvice.ALL_WELL: Say.VOICE_ALL_WELL,
    VoiceAdvice.TOO_LOUD: Say.VOICE_TOO_LOUD,
    VoiceAdvice.TOO_QUIET: Say.VOICE_TOO_QUIET,
    VoiceAdvice.LOUD_ROOM: Say.VOICE_LOUD_ROOM,
}


def advised(check: VoiceCheck, tone: Tone | None = None) -> Reply:
    """Return what a voice check that is over has found; ValueError while it goes on."""
    if check.advice is None:
        raise ValueError("The voice check is not over.")
    if check.advice is VoiceAdvice.NOT_UNDERSTOOD:
        return reply(Say.VOICE_NOT_UNDERSTOOD, tone, count=check.heard)
    return reply(_ADVICE[check.advice], tone)


@dataclass(frozen=True, slots=True)
class Taken:
    """Something that concerned the listening alone: what to answer, and what was heard."""

    replies: tuple[Reply, ...] = ()
    heard: HeardLine | None = None
    span: hearing.Span | None = None
    outcome: Outcome | None = None
    manner: Manner | None = None
    source: Source = Source.VOICE


class Attention:
    """Steers one hearing and one voice."""

    def __init__(self, voice: Voice) -> None:
        """Begin with a first start's manner and without a hearing."""
        self.hearing: Hearing = Deaf()
        self.hears = Ear.DEAF
        """What the listening itself does, whatever is shown of it."""
        self.wanted = USUAL
        """The manner to begin with."""
        self.can_hold = False
        """Whether there is anything that can be held to talk."""
        self.keep: Callable[[Manner], None] = lambda _: None
        """Gets every manner that she asks for."""
        self.keep_numbers: Callable[[HerNumbers], None] = lambda _: None
        """Gets what a voice check has learned of her voice."""
        self.check: VoiceCheck | None = None
        """The voice check that goes on, or has just ended."""
        self.lesson: LessonNow | None = None
        """The lesson that goes on."""
        self.put_away: LessonNow | None = None
        """The lesson that was left, to be gone on with."""
        self.doors: Doors | None = None
        """Opens and closes the class for phones; None: there is none here."""
        self._voice = voice
        self._floor = Floor()
        self._manner = USUAL
        self._own_voice = False  # Walesong itself speaks
        self._pressed = False
        self._holding = False
        self._answer_due = False  # what was said while held has not been told yet

    def begin(self, dialogue: Dialogue) -> Dialogue:
        """Listen and answer in the manner to begin with; return the dialogue that knows it."""
        self._behave(self.wanted)
        return replace(dialogue, manner=self.wanted, can_hold=self.can_hold)

    def _behave(self, manner: Manner) -> None:
        """Listen and answer in this manner from now on."""
        before, self._manner = self._manner, manner
        if manner.attention != before.attention:
            self.hearing.listen_for(manner.attention)
        only_held = manner.listening is Listening.HELD
        if only_held is not (before.listening is Listening.HELD):
            self.hearing.listen_while_held(only=only_held)
        self._voice.behave(manner.answering, manner.rate)

    # --- what comes in ------------------------------------------------------------------------

    def take(self, message: Message, dialogue: Dialogue) -> Taken | None:
        """Take what concerns the listening alone; None for everything else."""
        if isinstance(message, hearing.HearingEvent):
            silent_s = self._floor.after(message)
            if silent_s is not None:
                self._voice.wait(silent_s)
        elif isinstance(message, Said | Typed):
            self._floor.leave()  # she has gone on to something else
            self._voice.wait(0.0)
        if isinstance(message, hearing.Heard | hearing.RefusedSpeech | hearing.Dictated):
            return self._utterance(message)
        match message:
            case OwnVoice(on):
                self._own_voice = on
                if on and self.hears is Ear.HEARING:
                    self.hears = Ear.LISTENING  # what was half heard is thrown away with our own
            case Behave(manner):
                self._behave(manner)
                return Taken(manner=manner)
            case Held(down):
                return Taken(self._press(down=down, listening=dialogue.listening))
            case EndOfTrying():
                self.check = None
            case EndOfLesson():
                self._leave_lesson()
            case Typed(words) if self.lesson is not None:
                turn = typed_in_lesson(self.lesson, words)
                if turn is None:
                    return None
                self.lesson = turn.now
                line = HeardLine(words, accepted=True)
                return Taken(turn.replies, line, None, Outcome(turn.replies), source=Source.TYPED)
            case hearing.Clipping() if self.check is not None:
                self.check = self.check.after(message)
                return None
            case _:
                return None
        return Taken()

    def _utterance(
        self, event: hearing.Heard | hearing.RefusedSpeech | hearing.Dictated
    ) -> Taken | None:
        """Take an utterance that is refused or belongs to the voice check."""
        if self.hears is Ear.HEARING:
            self.hears = Ear.LISTENING  # whoever spoke near the microphone is silent again
        too_long = (
            isinstance(event, hearing.RefusedSpeech) and event.reason is hearing.Reason.TOO_LONG
        )
        held, self._answer_due = self._answer_due or (self._holding and too_long), False
        if not isinstance(event, hearing.RefusedSpeech):
            return self._attempt(event) if isinstance(event, hearing.Heard) else None
        if too_long:
            self._holding = False  # held for too long: it is over, whatever the key does
        if event.reason is hearing.Reason.TOO_SHORT:
            # A click, or the end of the last word's breath: it must not hide what was heard.
            return Taken()
        attempt = self._attempt(event)
        if attempt is not None:
            return attempt
        # Talk that is not for us is shown, never sounded: the room would be full of tones. Only who
        # holds something to talk means us for certain.
        replies = (reply(Say.NOT_UNDERSTOOD, Tone.NOT_HEARD),) if held else ()
        return Taken(replies, _line(event), event.span)

    def follow(self, outcome: Outcome, before: Dialogue, after: Dialogue) -> Outcome:
        """Listen and answer as what was said asks for; return what is to be answered."""
        self.check = None
        if after.dictating:
            self.hearing.dictate()
        if after.listening and not before.listening:
            self.hearing.resume()
        elif before.listening and not after.listening:
            self.hearing.pause()
        if after.manner != before.manner:
            self._behave(after.manner)
            self.keep(after.manner)
        if isinstance(outcome.command, TryVoice):
            return replace(outcome, replies=self._begin_check())
        return self._in_a_lesson(outcome)

    # --- a lesson -----------------------------------------------------------------------------

    def led(self, candidates: Sequence[Command | Talk]) -> Outcome | None:
        """Take what is meant for the lesson that goes on; None: there is none, or it is not."""
        if self.lesson is None:
            return None
        turn = said_in_lesson(self.lesson, candidates)
        if turn.now is None:
            self._leave_lesson()
        self.lesson = turn.now
        if turn.passes:
            return None
        leaves = Screen.BOARD if turn.now is None else None
        return Outcome(turn.replies, screen=leaves)

    def _leave_lesson(self) -> None:
        if self.lesson is not None:
            self.put_away = None if self.lesson.leading.over else self.lesson
        self.lesson = None
        self.expect_answer(asked=False)

    def _in_a_lesson(self, outcome: Outcome) -> Outcome:
        """Begin a lesson, or go on with the one that was left, if that was said."""
        match outcome.command:
            case OpenClass() | CloseClass() | ClassStory() if self.doors is not None:
                ways = {OpenClass: self.doors.open, CloseClass: self.doors.close}
                said = ways.get(type(outcome.command), self.doors.story)()
                says = reply(Say.LESSON_SAYS, Tone.HEARD, words=said)
                return replace(outcome, replies=(says,))
            case BeginLesson(number):
                turn = begun(number)
                self.lesson = turn.now or self.lesson
                return replace(outcome, replies=turn.replies)
            case Show(Screen.LESSON | Screen.CLASS as screen):
                in_class = screen is Screen.CLASS
                now = self.lesson or self.put_away or (begun(None).now if in_class else None)
                if now is None:
                    return outcome
                leading = replace(now.leading, in_class=in_class)
                self.lesson = replace(now, leading=leading)
                if in_class:  # a class has no use for a voice that reads aloud what it sees
                    return outcome
                return replace(outcome, replies=told(self.lesson))
        return outcome

    def expect_answer(self, *, asked: bool) -> None:
        """Listen for short answers while a question stands or a lesson waits for "ready"."""
        self.hearing.expect_answer(expected=asked or self.lesson is not None)

    def shown(self, dialogue: Dialogue) -> Ear:
        """Return what the listening does, as far as the knitter is concerned."""
        if not dialogue.listening:
            return Ear.PAUSED
        if self.hears is Ear.LOST:
            return Ear.LOST
        if dialogue.dictating:
            return Ear.DICTATION
        if self.hears is Ear.DEAF:
            return Ear.DEAF
        if self._holding:
            return Ear.HEARING
        if self._own_voice:
            return Ear.MUTED
        return Ear.HEARING if self.hears is Ear.HEARING else _MODES[self._manner.listening]

    # --- held to talk -------------------------------------------------------------------------

    def _press(self, *, down: bool, listening: bool) -> tuple[Reply, ...]:
        """Take note that something is held to talk, or let go; return what there is to say."""
        if down and not listening:
            return (reply(Say.NOT_LISTENING_NOW, Tone.NOT_HEARD),)
        if down and not self._pressed:
            self._pressed = self._holding = True
            self._answer_due = False
            self._voice.hush()  # whoever presses wants the word
            self.hearing.hold()
        elif not down and self._pressed:
            self._answer_due = self._holding
            self._pressed = self._holding = False
            self.hearing.release()
        return ()

    # --- the voice check ----------------------------------------------------------------------

    def _begin_check(self) -> tuple[Reply, ...]:
        """Begin the voice check and ask for its first sentence; without a microphone say so."""
        if self.hears in {Ear.LOST, Ear.DEAF}:
            return (reply(Say.NO_MICROPHONE, Tone.NOT_HEARD),)
        self.check = VoiceCheck()
        return self._asked(self.check)

    def _attempt(self, event: hearing.Heard | hearing.RefusedSpeech) -> Taken | None:
        """Take an attempt at a sentence of the check that goes on; None if there is none."""
        if self.check is None or self.check.phrase is None:
            return None
        if isinstance(event, hearing.Heard) and isinstance(event.candidates[0], Show):
            return None  # "back to the board": she has enough of it
        self.check = self.check.after(event)
        if (learned := self.check.learned) is not None:
            self.hearing.know(learned)
            self.keep_numbers(learned)
        replies = self._asked(self.check)
        return Taken(replies, _line(event), event.span, Outcome(replies))

    def _asked(self, check: VoiceCheck) -> tuple[Reply, ...]:
        if check.phrase is None:
            return (advised(check, Tone.HEARD),)
        word = self._manner.attention
        words = check.phrase if word is None else f"{word} {check.phrase}"
        return (reply(Say.VOICE_TRY, Tone.HEARD, words=words),)


def _line(event: hearing.Heard | hearing.RefusedSpeech) -> HeardLine:
    """Return an utterance as it is shown; sound that is no word is an ellipsis."""
    words = event.words.replace("[unk]", "\N{HORIZONTAL ELLIPSIS}")
    if isinstance(event, hearing.RefusedSpeech):
        return HeardLine(words, accepted=False, why=event.sentence)
    return HeardLine(words, accepted=True)
