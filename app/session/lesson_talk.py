"""
What is said while a lesson goes on: its own words, and those that mean the same as one of them.

A row that is done, the next bit or a yes is "ready"; whatever would count on the piece behind the
lesson is refused, so that nothing is changed unseen. What leads elsewhere leaves the lesson.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.lessons.leading import Leading, LessonNow, Said, counted, numbered, said_in, took
from app.lessons.shelf import lessons
from engine.commands import (
    Command,
    CountStitches,
    HowTo,
    Lost,
    NextBit,
    RidgesDone,
    RowsDone,
    StepBack,
    Undo,
)
from engine.replies import Say, Tone, reply
from engine.talk import (
    BeginLesson,
    Help,
    InLesson,
    LessonWord,
    No,
    Nth,
    SayAgain,
    Screen,
    Show,
    Yes,
)
from engine.talk import Leading as LeadsElsewhere

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.replies import Reply
    from engine.talk import Talk

_WORDS: Final = {
    LessonWord.READY: Said.READY,
    LessonWord.SLOWER: Said.SLOWER,
    LessonWord.QUICKER: Said.QUICKER,
    LessonWord.BEHIND: Said.BEHIND,
    LessonWord.WRONG: Said.WRONG,
}
_SAME: Final = {
    Said.READY: (Yes(), NextBit(), RowsDone(), RidgesDone()),
    Said.BACK: (StepBack(), Undo()),
    Said.AGAIN: (SayAgain(), HowTo()),
    Said.WRONG: (Lost(),),
}
"""What means the same as a word of the lesson while it goes on."""


@dataclass(frozen=True, slots=True)
class LessonTurn:
    """What a lesson answers, and the lesson after it; None: it is left."""

    now: LessonNow | None
    replies: tuple[Reply, ...] = ()
    passes: bool = False
    """Whether it is not meant for the lesson and goes on to the talk about the piece."""


def begun(number: int | None) -> LessonTurn:
    """Begin a lesson by its number on the shelf; None: the first."""
    shelf = lessons()
    at = (number or 1) - 1
    if not 0 <= at < len(shelf):
        return LessonTurn(None, (reply(Say.NO_SUCH_LESSON, Tone.NOT_HEARD, count=len(shelf)),))
    one = shelf[at]
    if one.lesson is None:
        why = f"{one.name}: {one.problem}"
        return LessonTurn(None, (reply(Say.LESSON_SAYS, Tone.NOT_HEARD, words=why),))
    lesson = one.lesson
    now = LessonNow(Leading(lesson), (f"{lesson.title}.", lesson.wants))
    return LessonTurn(now, told(now))


def told(now: LessonNow) -> tuple[Reply, ...]:
    """Return what a lesson says, sentence by sentence."""
    sentences = now.shown.sentences
    tones = (Tone.HEARD, *(None for _ in sentences[1:]))
    return tuple(
        reply(Say.LESSON_SAYS, tone, words=one) for one, tone in zip(sentences, tones, strict=True)
    )


def typed_in_lesson(now: LessonNow, words: str) -> LessonTurn | None:
    """Return the turn that follows typed words; None: they are none of a lesson's."""
    meant = said_in(words) if words.strip() else None
    if meant is None:
        return None
    if isinstance(meant, int):
        return _turned(*numbered(now.leading, meant))
    return _turned(*took(now.leading, meant))


def said_in_lesson(now: LessonNow, candidates: Sequence[Command | Talk]) -> LessonTurn:
    """Return the turn that follows what was said by any way."""
    first = candidates[0]
    word = _meant(first)
    if word is not None:
        return _turned(*took(now.leading, word))
    match first:
        case InLesson(nth=Nth() as nth):
            return _turned(*numbered(now.leading, list(Nth).index(nth) + 1))
        case InLesson(lesson=LessonWord.LEAVE):
            return LessonTurn(None, (reply(Say.LESSON_LEFT, Tone.HEARD),))
        case CountStitches():
            return _turned(*counted(now.leading, _likeliest(now.leading, candidates)))
        case Show(Screen.LESSON | Screen.CLASS) | BeginLesson():
            return LessonTurn(now, passes=True)
        case _ if isinstance(first, LeadsElsewhere):
            return LessonTurn(None, passes=True)
        case _ if isinstance(first, Command | Help | No | InLesson):
            return LessonTurn(now, (reply(Say.LESSON_WORDS, Tone.NOT_HEARD),))
    return LessonTurn(now, passes=True)


def _meant(said: Command | Talk) -> Said | None:
    """Return the word of a lesson that was said, or that means the same; None: it is none."""
    if isinstance(said, InLesson) and said.lesson is not None:
        return _WORDS.get(said.lesson)
    return next((word for word, kinds in _SAME.items() if said in kinds), None)


def _likeliest(leading: Leading, candidates: Sequence[Command | Talk]) -> int:
    """Return the count that is meant, of two that sound alike: the one nearer to what it can be."""
    counts = [one.count for one in candidates if isinstance(one, CountStitches)]
    wanted = leading.lesson.should_be(min(leading.at, len(leading.lesson.steps) - 1))
    return min(counts, key=lambda count: abs(count - wanted))


def _turned(leading: Leading, said: tuple[str, ...]) -> LessonTurn:
    now = LessonNow(leading, said)
    return LessonTurn(now, told(now))
