"""
Leading a learner through a lesson: one thing at a time, until she says that it is done.

Pure: what she says goes in, what is said and shown comes out. Praise is never given; who is lost
is told once that it is no harm.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from app.drawings.hands.album import TOPICS, Topic

if TYPE_CHECKING:
    from app.lessons.lesson import Lesson, Step

_TOO_MANY: Final = (Topic.EDGE_PULLED, Topic.STRAY_OVER)
_TOO_FEW: Final = (Topic.DROPPED, Topic.UNPICK)


class Said(StrEnum):
    """What the learner can say; each by one of its words, or by a key of its own."""

    READY = "ready"
    BACK = "back"
    AGAIN = "again"
    WRONG = "wrong"


_WORDS: Final = {
    Said.READY: frozenset({"", "ready", "done", "yes", "next"}),
    Said.BACK: frozenset({"back", "go back"}),
    Said.AGAIN: frozenset({"again", "say it again", "what"}),
    Said.WRONG: frozenset(
        {"it looks wrong", "wrong", "lost", "i'm lost", "i am lost", "what is this", "help"}
    ),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """What the learner sees: sentences, a drawing, and what may be chosen by its number."""

    sentences: tuple[str, ...]
    topic: Topic | None = None
    picture: int = 0
    choices: tuple[Topic, ...] = ()


@dataclass(frozen=True, slots=True)
class Leading:
    """
    Where a learner is in a lesson.

    `offered` are the rescues that she is asked about; `rescue` the one that is shown, `picture`
    which drawing of it; `calmed`: she was told that it is no harm.
    """

    lesson: Lesson
    at: int = 0
    offered: tuple[Topic, ...] = ()
    rescue: Topic | None = None
    picture: int = 0
    calmed: bool = False
    stuck_at: tuple[int, ...] = ()
    """At which steps she asked for help, in order: for the teacher, without a name."""

    @property
    def step(self) -> Step:
        """The step that is worked now."""
        return self.lesson.steps[self.at]

    @property
    def over(self) -> bool:
        """Whether all steps are done."""
        return self.at >= len(self.lesson.steps)


def shown(leading: Leading, said: tuple[str, ...] = ()) -> Shown:
    """Return what is seen now, after the sentences `said`."""
    if leading.over:
        return Shown((*said, "That was the lesson."))
    if leading.rescue is not None:
        return Shown(said, leading.rescue, leading.picture)
    if leading.offered:
        ask = "Which of these do you see? Say its number, or ready if it is none."
        return Shown((*said, ask), choices=leading.offered)
    step = leading.step
    count = (f"Count: there should be {step.count}. Say your number.",) if step.count else ()
    return Shown((*said, step.say, *count), step.show, step.picture)


def heard(leading: Leading, words: str) -> tuple[Leading, tuple[str, ...]]:
    """Return where she is after saying something, and the sentences that answer it."""
    if leading.over:
        return leading, ()
    spoken = " ".join(re.sub(r"[^\w' ]", " ", words.casefold()).split())
    number = re.fullmatch(r"(?:i have |i count |count )?(\d{1,5})(?: stitches)?", spoken)
    if number is not None:
        return _number(leading, int(number[1]))
    said = next((one for one, known in _WORDS.items() if spoken in known), None)
    match said:
        case Said.READY:
            return _ready(leading)
        case Said.BACK:
            return _back(leading), ()
        case Said.AGAIN:
            return leading, ()
        case Said.WRONG:
            return _offered(leading, leading.step.rescues or tuple(_RESCUES))
        case None:
            return leading, ("That is not understood. Say ready, back, again, or it looks wrong.",)


_RESCUES: Final = (
    *(Topic.EDGE_PULLED, Topic.STRAY_OVER, Topic.DROPPED),
    *(Topic.TWISTED, Topic.SPLIT, Topic.UNPICK),
)


def _ready(leading: Leading) -> tuple[Leading, tuple[str, ...]]:
    if leading.rescue is not None:
        if leading.picture + 1 < len(TOPICS[leading.rescue]):
            return replace(leading, picture=leading.picture + 1), ()
        return replace(leading, rescue=None, picture=0), ("Back to where you were.",)
    if leading.offered:
        return replace(leading, offered=()), ("Back to where you were.",)
    if leading.step.count:
        return leading, ("Say how many stitches you have.",)
    return replace(leading, at=leading.at + 1), ()


def _back(leading: Leading) -> Leading:
    if leading.rescue is not None and leading.picture:
        return replace(leading, picture=leading.picture - 1)
    if leading.rescue is not None or leading.offered:
        return replace(leading, rescue=None, picture=0, offered=())
    return replace(leading, at=max(leading.at - 1, 0))


def _number(leading: Leading, number: int) -> tuple[Leading, tuple[str, ...]]:
    if leading.offered:
        if 1 <= number <= len(leading.offered):
            rescue = leading.offered[number - 1]
            return replace(leading, offered=(), rescue=rescue, picture=0), ()
        return leading, (f"There are {len(leading.offered)} of them.",)
    if leading.rescue is not None or not leading.step.count:
        return leading, ("Nothing is counted here.",)
    over = number - leading.step.count
    if not over:
        return replace(leading, at=leading.at + 1), (f"{number}, as it should be.",)
    many = "1 stitch" if abs(over) == 1 else f"{abs(over)} stitches"
    told = f"{many} {'too many' if over > 0 else 'too few'}. Stop here."
    after, calm = _offered(leading, _TOO_MANY if over > 0 else _TOO_FEW)
    return after, (told, *calm)


def _offered(leading: Leading, rescues: tuple[Topic, ...]) -> tuple[Leading, tuple[str, ...]]:
    calm = () if leading.calmed else ("It happens to everybody and can be mended.",)
    after = replace(
        leading,
        offered=rescues,
        rescue=None,
        picture=0,
        calmed=True,
        stuck_at=(*leading.stuck_at, leading.at),
    )
    return after, calm
