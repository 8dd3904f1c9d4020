"""
A lesson as values, and the file that a teacher writes: what a slip in it is, is a sentence.

A step says something, may show a drawing of the hands, and is done when the learner says so. A step
with a count is done when her count is right; otherwise the rescue that fits is offered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, cast

from app.lessons.topics import Topic, topics
from engine.toml_text import TomlTextError, toml_of

if TYPE_CHECKING:
    from collections.abc import Mapping

_MOST_STEPS: Final = 200
_MOST_WORDS: Final = 300
"""Letters of one sentence: more is not kept in mind."""
_LESSON: Final = {"title", "minutes", "wants", "steps"}
_STEP: Final = {"say", "show", "picture", "count", "rescues", "row"}


class LessonError(ValueError):
    """The file of a lesson cannot be used; the sentence says where and why."""


@dataclass(frozen=True, slots=True)
class Step:
    """
    One thing to do.

    `show` is what is drawn with it and `picture` which drawing of it, from 0; `count` how many
    stitches there should be afterwards (0: not counted); `rescues` what may have gone wrong, as it
    is offered to who says that it looks wrong.
    """

    say: str
    show: Topic | None = None
    picture: int = 0
    count: int = 0
    rescues: tuple[Topic, ...] = ()
    row: int = 0
    """The row that is worked in it, counted from the first of the lesson; 0: none."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson: its title, for how many minutes it is meant, what is needed, and its steps."""

    title: str
    minutes: int
    wants: str
    steps: tuple[Step, ...]

    def should_be(self, at: int) -> int:
        """Return how many stitches there should be at a step: as it is counted next; 0: unknown."""
        counts = [step.count for step in self.steps]
        after = next((count for count in counts[at:] if count), 0)
        return after or next((count for count in reversed(counts[:at]) if count), 0)


def read_lesson(text: str) -> Lesson:
    """Read the text of a lesson file; LessonError with one sentence if it cannot be used."""
    try:
        data = toml_of(text)
    except TomlTextError as error:
        raise LessonError(f"This is no lesson file: {error}") from error
    _known(data, _LESSON, "The lesson")
    steps = data.get("steps")
    if not isinstance(steps, list) or not steps:
        raise LessonError("The lesson has no steps; each begins with a line [[steps]].")
    if len(steps) > _MOST_STEPS:
        raise LessonError(f"The lesson has {len(steps)} steps; {_MOST_STEPS} are the most.")
    return Lesson(
        _words(data, "title", "The lesson"),
        _number(data, "minutes", "The lesson", 24 * 60),
        _words(data, "wants", "The lesson"),
        tuple(_step(step, f"Step {number}") for number, step in enumerate(steps, 1)),
    )


def _step(step: object, where: str) -> Step:
    if not isinstance(step, dict):
        raise LessonError(f"{where} is not a table; each begins with a line [[steps]].")
    table = cast("dict[str, object]", step)
    _known(table, _STEP, where)
    show = _topic(table["show"], where) if "show" in table else None
    picture = _number(table, "picture", where, 99) if "picture" in table else 1
    if "picture" in table and show is None:
        raise LessonError(f"{where} names a picture, but not what it shows.")
    drawn = len(topics()[show].moves) if show is not None else picture
    if not 1 <= picture <= drawn:
        raise LessonError(f"{where}: '{show}' has {drawn} pictures, not {picture}.")
    rescues = table.get("rescues", [])
    if not isinstance(rescues, list):
        raise LessonError(f"{where}: rescues are a list of topics.")
    count = _number(table, "count", where, 10_000) if "count" in table else 0
    return Step(
        _words(table, "say", where),
        show,
        picture - 1,
        count,
        tuple(_topic(one, where) for one in rescues),
        _number(table, "row", where, 10_000) if "row" in table else 0,
    )


def _known(table: Mapping[str, object], names: set[str], where: str) -> None:
    strange = sorted(set(table) - names)
    if strange:
        raise LessonError(
            f"{where} has '{strange[0]}', which means nothing here; it may have "
            f"{', '.join(sorted(names))}."
        )


def _words(table: Mapping[str, object], name: str, where: str) -> str:
    words = table.get(name)
    if not isinstance(words, str) or not words.strip():
        raise LessonError(f"{where} has no '{name}'.")
    if len(words) > _MOST_WORDS:
        raise LessonError(f"{where}: '{name}' has {len(words)} letters; say it in {_MOST_WORDS}.")
    return " ".join(words.split())


def _number(table: Mapping[str, object], name: str, where: str, most: int) -> int:
    number = table.get(name)
    if not isinstance(number, int) or isinstance(number, bool) or not 1 <= number <= most:
        raise LessonError(f"{where}: '{name}' is a whole number from 1 to {most}.")
    return number


def _topic(name: object, where: str) -> Topic:
    try:
        return Topic(cast("str", name))
    except ValueError:
        known = ", ".join(Topic)
        raise LessonError(f"{where}: nothing is drawn of '{name}'; there are {known}.") from None
