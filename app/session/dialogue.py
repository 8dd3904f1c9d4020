"""
The talk around the knitting: the question that stands, the last answer, whether a voice is wanted.

Pure and volatile: nothing of it is kept in the journal. A question stands only as long as it is
what was said last: whatever else is said or recorded ends it, and so does a while of silence. An
answer that changes nothing ("which row now") asks it again, so that it is the last once more.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, assert_never

from app.pieces.adding_up import asking_to_begin, faults
from app.session.manner import USUAL, Answering, Listening, Manner
from engine.forecast.breaks import LATER_MINUTES
from engine.judging.decision import Question
from engine.replies import Reply, Say, Tone, reply
from engine.talk import (
    BeginLesson,
    BeginPiece,
    ClassStory,
    CloseClass,
    Dictate,
    Help,
    HoldToTalk,
    HowIsOrder,
    InLesson,
    ListenFreely,
    No,
    OpenClass,
    OtherPiece,
    PieceIs,
    PlanLong,
    PlanWide,
    RemindLater,
    SameAgain,
    SayAgain,
    Show,
    SpeakAgain,
    StartListening,
    StartNext,
    StepDone,
    StopListening,
    TonesOnly,
    TryVoice,
    WithoutSound,
    WordFirst,
    WorkOn,
    Yes,
)

if TYPE_CHECKING:
    from app.pieces.values import NewPiece
    from engine.commands import Command
    from engine.show_how import Move
    from engine.talk import Talk

QUESTION_LASTS_MS = 45_000
"""A question that was not answered for so long is not meant any more."""


@dataclass(frozen=True, slots=True)
class Dialogue:
    """
    What the conversation remembers; times are monotonic milliseconds.

    `measure_at` is the row at which she was told to measure again; `reminders` whether a rest is
    offered now and then. `before` is the piece that was worked on before this one ("": none yet),
    `moved` whether nothing was recorded since she came from there. `can_hold` tells whether there
    is anything that can be held to talk.
    """

    question: Question | None = None
    asked_ms: int = 0
    last: tuple[Reply, ...] = ()
    manner: Manner = USUAL
    can_hold: bool = False
    listening: bool = True
    dictating: bool = False
    dictating_row: int | None = None
    measure_at: int | None = None
    reminders: bool = True
    scale_g: float | None = None
    """The step of her scale in grams; None: it is learnt from what she weighs."""
    shown: Move | None = None
    """What is being shown how to make, and the sentence that was said last."""
    before: str = ""
    moved: bool = False
    to_begin: NewPiece | None = None
    """What a yes to the question that stands casts on."""

    @property
    def tones_only(self) -> bool:
        """Whether words are shown and not spoken."""
        return self.manner.answering is not Answering.VOICE

    def standing(self, now_ms: int) -> Question | None:
        """Return the question that still stands, or None."""
        if self.question is None or now_ms - self.asked_ms > QUESTION_LASTS_MS:
            return None
        return self.question


@dataclass(frozen=True, slots=True)
class DialogueTurn:
    """What a talk leads to: the new dialogue, words to answer, and a command that was confirmed."""

    dialogue: Dialogue
    replies: tuple[Reply, ...] = ()
    confirmed: Command | Talk | None = None
    to_begin: NewPiece | None = None
    """The piece that was to be cast on by it."""


def converse(  # noqa: PLR0911 (one case a talk: together they are the whole table)
    dialogue: Dialogue, talk: Talk, now_ms: int
) -> DialogueTurn:
    """
    Return the turn that follows `talk`; nothing is changed in place.

    What leads to another screen or piece is none of it: that is `app.session.navigation`.
    """
    heard = Tone.HEARD
    match talk:
        case Yes():
            return _yes(dialogue, now_ms)
        case No():
            return _no(dialogue, now_ms)
        case SayAgain():
            if dialogue.last:  # a question among it, and nothing came since: it stands again
                return DialogueTurn(replace(dialogue, asked_ms=now_ms), dialogue.last)
            return DialogueTurn(dialogue, (reply(Say.NOTHING_SAID_YET, Tone.NOT_HEARD),))
        case Help() | InLesson() | OpenClass() | CloseClass() | ClassStory():
            return DialogueTurn(dialogue, (reply(_TOLD.get(type(talk), Say.NO_CLASS), heard),))
        case StopListening():
            paused = replace(dialogue, listening=False, dictating=False, dictating_row=None)
            return DialogueTurn(paused, (reply(Say.NOT_LISTENING, heard),))
        case StartListening():
            return DialogueTurn(replace(dialogue, listening=True), (reply(Say.LISTENING, heard),))
        case TonesOnly() | SpeakAgain() | WithoutSound():
            return _answering(dialogue, talk)
        case WordFirst() | HoldToTalk() | ListenFreely():
            return _listening(dialogue, talk)
        case TryVoice():
            # Attention asks for the first sentence; nobody can be tried who is not listened to.
            return DialogueTurn(replace(dialogue, listening=True, dictating=False))
        case Dictate(row):
            listening = replace(closed(dialogue), dictating=True, dictating_row=row)
            return DialogueTurn(listening, (reply(Say.SPEAK_THE_NOTE, heard),))
        case RemindLater():
            if not dialogue.reminders:
                return DialogueTurn(dialogue, (reply(Say.REST_OFF, heard),))
            return DialogueTurn(dialogue, (reply(Say.REST_LATER, heard, minutes=LATER_MINUTES),))
        case (
            Show()
            | WorkOn()
            | OtherPiece()
            | BeginPiece()
            | SameAgain()
            | PlanWide()
            | PlanLong()
            | StepDone()
            | BeginLesson()
            | PieceIs()
            | HowIsOrder()
            | StartNext()
        ):
            raise TypeError("The dialogue does not know where that leads.")
        case _:
            assert_never(talk)


def asking(dialogue: Dialogue, question: Question, now_ms: int) -> Dialogue:
    """Return the dialogue with `question` standing; a note that was waited for is not any more."""
    return replace(
        dialogue,
        question=question,
        asked_ms=now_ms,
        dictating=False,
        dictating_row=None,
        to_begin=None,
    )


def doubting(dialogue: Dialogue, new: NewPiece, now_ms: int) -> Dialogue | None:
    """Return the dialogue that asks whether to cast on what does not add up; None: it does."""
    if not faults(new):
        return None
    asks = asking_to_begin(new)
    asked = asking(dialogue, Question(asks, BeginPiece(text=new.name)), now_ms)
    return replace(asked, last=(asks,), to_begin=new)


def closed(dialogue: Dialogue) -> Dialogue:
    """Return the dialogue without a question: it is not even said again."""
    if dialogue.question is None:
        return dialogue
    asks = dialogue.question.asks
    last = tuple(one for one in dialogue.last if one is not asks)
    return replace(dialogue, question=None, last=last, to_begin=None)


def answered(
    dialogue: Dialogue, replies: tuple[Reply, ...], now_ms: int, *, asks_again: bool
) -> DialogueTurn:
    """
    Return the dialogue after an answer, and the answer as it is to be said.

    Only the question that is said last stands from now on; with `asks_again` the one that stood is
    asked again behind the answer.
    """
    question = dialogue.standing(now_ms)
    if question is not None and asks_again and replies and replies[-1] is not question.asks:
        replies = (*replies, question.asks)
    if question is not None and replies and replies[-1] is question.asks:
        dialogue = replace(dialogue, asked_ms=now_ms)
    else:
        dialogue = closed(dialogue)
    spoken = tuple(one for one in replies if one.say is not Say.TICK)
    return DialogueTurn(replace(dialogue, last=spoken) if spoken else dialogue, replies)


_TOLD = {Help: Say.HELP, InLesson: Say.NO_LESSON}

_ANSWERS = {
    TonesOnly: (Answering.TONES, Say.TONES_ONLY),
    SpeakAgain: (Answering.VOICE, Say.SPEAKING_AGAIN),
    WithoutSound: (Answering.SILENT, Say.WITHOUT_SOUND),
}


def _answering(dialogue: Dialogue, talk: TonesOnly | SpeakAgain | WithoutSound) -> DialogueTurn:
    """Answer in another way from now on."""
    answering, say = _ANSWERS[type(talk)]
    manner = replace(dialogue.manner, answering=answering)
    return DialogueTurn(replace(dialogue, manner=manner), (reply(say, Tone.HEARD),))


def _listening(dialogue: Dialogue, talk: WordFirst | HoldToTalk | ListenFreely) -> DialogueTurn:
    """Listen in another way from now on; a pause stays a pause."""
    before = dialogue.manner
    match talk:
        case WordFirst(word):
            manner = replace(before, listening=Listening.WORD, word=word or before.word)
            answer = reply(Say.WORD_FIRST, Tone.HEARD, words=manner.word.value)
            return DialogueTurn(replace(dialogue, manner=manner), (answer,))
        case HoldToTalk():
            if not dialogue.can_hold:
                return DialogueTurn(dialogue, (reply(Say.NO_HOLDING, Tone.NOT_HEARD),))
            manner = replace(before, listening=Listening.HELD)
            return DialogueTurn(
                replace(dialogue, manner=manner), (reply(Say.HOLD_TO_TALK, Tone.HEARD),)
            )
        case ListenFreely():
            manner = replace(before, listening=Listening.FREELY)
            answer = reply(Say.LISTENING_FREELY, Tone.HEARD)
            return DialogueTurn(replace(dialogue, manner=manner), (answer,))
        case _:
            assert_never(talk)


def _yes(dialogue: Dialogue, now_ms: int) -> DialogueTurn:
    question = dialogue.standing(now_ms)
    if question is None:
        return DialogueTurn(dialogue, (reply(Say.NO_QUESTION, Tone.NOT_HEARD),))
    if question.yes is None:  # it wants a number, not a yes: ask again
        return DialogueTurn(asking(dialogue, question, now_ms), (question.asks,))
    return DialogueTurn(closed(dialogue), confirmed=question.yes, to_begin=dialogue.to_begin)


def _no(dialogue: Dialogue, now_ms: int) -> DialogueTurn:
    question = dialogue.standing(now_ms)
    if question is None:
        return DialogueTurn(dialogue, (reply(Say.NO_QUESTION, Tone.NOT_HEARD),))
    following = question.otherwise
    if isinstance(following, Question):
        return DialogueTurn(asking(dialogue, following, now_ms), (following.asks,))
    words = following or reply(Say.LEFT_AS_IT_WAS, Tone.HEARD)
    return DialogueTurn(closed(dialogue), (words,))
