"""
Leading a learner through a lesson: one thing at a time, until she says that it is done.

Pure: what she says goes in, what is said and shown comes out; terminal, window and class show the
same value. Praise is never given; who is lost is told once that it is no harm.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from app.lessons.topics import Topic, topics

if TYPE_CHECKING:
    from app.lessons.lesson import Lesson, Step

_TOO_MANY: Final = (Topic.EDGE_PULLED, Topic.STRAY_OVER)
_TOO_FEW: Final = (Topic.DROPPED, Topic.UNPICK)
_SPEEDS: Final = (0.25, 0.5, 1.0, 2.0)
"""How fast the hands move, in the usual speed; what can be chosen."""


class Said(StrEnum):
    """What the learner can say; each by one of its words, or by a key of its own."""

    READY = "ready"
    BACK = "back"
    AGAIN = "again"
    SLOWER = "slower"
    QUICKER = "quicker"
    BEHIND = "behind"
    WRONG = "wrong"


_WORDS: Final = {
    Said.READY: frozenset({"", "ready", "done", "yes", "next"}),
    Said.BACK: frozenset({"back", "go back"}),
    Said.AGAIN: frozenset({"again", "say it again", "what"}),
    Said.SLOWER: frozenset({"slower"}),
    Said.QUICKER: frozenset({"faster", "quicker"}),
    Said.BEHIND: frozenset({"behind", "from behind", "show me that from behind"}),
    Said.WRONG: frozenset(
        {"it looks wrong", "wrong", "lost", "i'm lost", "i am lost", "what is this", "help"}
    ),
}
_ORDINALS: Final = ("first", "second", "third", "fourth", "fifth", "sixth")


@dataclass(frozen=True, slots=True)
class Shown:
    """
    What the learner sees: sentences, a drawing, and what may be chosen by its number.

    `behind`: it is drawn from behind; `speed` how fast the hands move, `turn` how many times it was
    asked for again.
    """

    sentences: tuple[str, ...]
    topic: Topic | None = None
    picture: int = 0
    choices: tuple[Topic, ...] = ()
    behind: bool = False
    speed: float = 1.0
    turn: int = 0


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
    behind: bool = False
    speed: float = 1.0
    turn: int = 0
    in_class: bool = False
    """Whether a class is led: its teacher goes on without telling a count."""

    @property
    def step(self) -> Step:
        """The step that is worked now."""
        return self.lesson.steps[self.at]

    @property
    def over(self) -> bool:
        """Whether all steps are done."""
        return self.at >= len(self.lesson.steps)


@dataclass(frozen=True, slots=True)
class LessonNow:
    """A lesson that goes on: where the learner is, and what was answered to her last."""

    leading: Leading
    said: tuple[str, ...] = ()

    @property
    def shown(self) -> Shown:
        """What is seen now."""
        return shown(self.leading, self.said)


def shown(leading: Leading, said: tuple[str, ...] = ()) -> Shown:
    """Return what is seen now, after the sentences `said`."""
    if leading.over:
        return Shown((*said, "That was the lesson."))
    if leading.rescue is not None:
        move = topics()[leading.rescue].moves[leading.picture]
        return _drawn(leading, (*said, move), leading.rescue, leading.picture)
    if leading.offered:
        ask = "Which of these do you see? Say the first one, or ready if it is none."
        return Shown((*said, ask), choices=leading.offered)
    step = leading.step
    count = (f"Count: there should be {step.count}. Say your number.",) if step.count else ()
    return _drawn(leading, (*said, step.say, *count), step.show, step.picture)


def _drawn(
    leading: Leading, sentences: tuple[str, ...], topic: Topic | None, picture: int
) -> Shown:
    return Shown(
        sentences,
        topic,
        picture,
        behind=leading.behind,
        speed=leading.speed,
        turn=leading.turn,
    )


def heard(leading: Leading, words: str) -> tuple[Leading, tuple[str, ...]]:
    """Return where she is after saying something, and the sentences that answer it."""
    if leading.over:
        return leading, ()
    meant = said_in(words)
    if meant is None:
        return leading, (NOT_UNDERSTOOD,)
    return took(leading, meant) if isinstance(meant, Said) else numbered(leading, meant)


NOT_UNDERSTOOD: Final = "That is not understood. Say ready, back, again, or it looks wrong."


def said_in(words: str) -> Said | int | None:
    """Return what typed words say in a lesson: one of its words, or a number; None: neither."""
    spoken = " ".join(re.sub(r"[^\w' ]", " ", words.casefold()).split())
    number = re.fullmatch(r"(?:i have |i count |count |number )?(\d{1,5})(?: stitches)?", spoken)
    if number is not None:
        return int(number[1])
    nth = re.fullmatch(r"the (\w+) one", spoken)
    if nth is not None and nth[1] in _ORDINALS:
        return _ORDINALS.index(nth[1]) + 1
    return next((one for one, known in _WORDS.items() if spoken in known), None)


def took(leading: Leading, said: Said) -> tuple[Leading, tuple[str, ...]]:
    """Return where she is after one of the words, and the sentences that answer it."""
    if leading.over:
        return (_back(leading), ()) if said is Said.BACK else (leading, ())
    match said:
        case Said.READY:
            after, answers = _ready(leading)
            return replace(after, behind=False), answers
        case Said.BACK:
            return replace(_back(leading), behind=False), ()
        case Said.AGAIN:
            return replace(leading, turn=leading.turn + 1), ()
        case Said.SLOWER | Said.QUICKER:
            return _at_speed(leading, -1 if said is Said.SLOWER else 1)
        case Said.BEHIND:
            return _from_behind(leading)
        case Said.WRONG:
            return _offered(leading, leading.step.rescues or tuple(_RESCUES))


_RESCUES: Final = (
    *(Topic.EDGE_PULLED, Topic.STRAY_OVER, Topic.DROPPED),
    *(Topic.TWISTED, Topic.SPLIT, Topic.UNPICK),
)


def _ready(leading: Leading) -> tuple[Leading, tuple[str, ...]]:
    if leading.rescue is not None:
        if leading.picture + 1 < len(topics()[leading.rescue].moves):
            return replace(leading, picture=leading.picture + 1), ()
        return replace(leading, rescue=None, picture=0), ("Back to where you were.",)
    if leading.offered:
        return replace(leading, offered=()), ("Back to where you were.",)
    if leading.step.count and not leading.in_class:
        return leading, ("Say how many stitches you have.",)
    return replace(leading, at=leading.at + 1), ()


def _back(leading: Leading) -> Leading:
    if leading.rescue is not None and leading.picture:
        return replace(leading, picture=leading.picture - 1)
    if leading.rescue is not None or leading.offered:
        return replace(leading, rescue=None, picture=0, offered=())
    return replace(leading, at=max(leading.at - 1, 0))


def _at_speed(leading: Leading, step: int) -> tuple[Leading, tuple[str, ...]]:
    """Show it again, with hands that move slower or faster."""
    at = _SPEEDS.index(leading.speed) + step
    turn = leading.turn + 1
    if not 0 <= at < len(_SPEEDS):
        most = "slowest" if step < 0 else "fastest"
        return replace(leading, turn=turn), (f"That is the {most}.",)
    return replace(leading, speed=_SPEEDS[at], turn=turn), ()


def _from_behind(leading: Leading) -> tuple[Leading, tuple[str, ...]]:
    if shown(leading).topic is None:
        return leading, ("Nothing is drawn here.",)
    now = not leading.behind
    return replace(leading, behind=now), ("From behind." if now else "From the front.",)


def numbered(leading: Leading, number: int) -> tuple[Leading, tuple[str, ...]]:
    """Return where she is after a number: what she chose, or how many stitches she has."""
    if leading.over:
        return leading, ()
    if leading.offered:
        if 1 <= number <= len(leading.offered):
            rescue = leading.offered[number - 1]
            return replace(leading, offered=(), rescue=rescue, picture=0), ()
        return leading, (f"There are {len(leading.offered)} of them.",)
    return counted(leading, number)


def counted(leading: Leading, number: int) -> tuple[Leading, tuple[str, ...]]:
    """Return where she is after telling how many stitches she has, whatever is shown."""
    if leading.over or not leading.step.count or leading.rescue is not None:
        return leading, ("Nothing is counted here.",)
    over = number - leading.step.count
    if not over:
        right = replace(leading, at=leading.at + 1, offered=(), behind=False)
        return right, (f"{number}, as it should be.",)
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
        behind=False,
        calmed=True,
        stuck_at=(*leading.stuck_at, leading.at),
    )
    return after, calm
