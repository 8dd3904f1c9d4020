"""
What the board at the front of a room shows: one move, the count there should be, row and ridge.

Letters are as high as they have to be at the farthest seat: a hundredth of the distance, 50 mm at
5 m (common practice for a class, no source). That is a visual angle of 34 minutes of arc; the
recommendation of ISO 9241-303, 20 to 22 minutes, at the least 16, for reading in comfort (from
memory), would be content with 32 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.lessons.topics import topics

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.display.screen_words import ScreenWording
    from app.lessons.leading import LessonNow
    from app.lessons.topics import Topic

_OF_DISTANCE: Final = 100.0
_LONGEST_WORD: Final = 12
"""Letters of what a move is called before its colon: "In", "Round", "Through", "Off"."""
_MM_PER_INCH: Final = 25.4


def capitals_mm(distance_m: float) -> float:
    """Return how high capitals have to be in mm, for eyes so many metres away."""
    return distance_m * 1000 / _OF_DISTANCE


def minutes_of_arc(capital_mm: float, distance_m: float) -> float:
    """Return the visual angle of letters in minutes of arc."""
    return math.degrees(2 * math.atan(capital_mm / 2 / (distance_m * 1000))) * 60


def px_per_mm(width_px: float, height_px: float, diagonal_in: float, as_told: float) -> float:
    """Return the pixels to a mm on a screen of this diagonal in inches (0: `as_told` by it)."""
    if not diagonal_in:
        return as_told
    return math.hypot(width_px, height_px) / (diagonal_in * _MM_PER_INCH)


@dataclass(frozen=True, slots=True)
class ClassBoard:
    """
    The values of the board; texts in the order in which they matter.

    `word` is what the move is called ("" if it has no name of its own), `sentence` the whole
    step, `count` the stitches there should be (0: not known), `row` the one that is worked (0:
    none). `speed` is that of the hands, 1 the usual one.
    """

    word: str
    sentence: str
    count: int = 0
    row: int = 0
    step: int = 0
    steps: int = 0
    minutes: int = 0
    of_minutes: int = 0
    speed: float = 1.0
    topic: Topic | None = None
    picture: int = 0
    behind: bool = False
    choices: tuple[Topic, ...] = ()

    @property
    def ridge(self) -> int:
        """The ridge that the row belongs to: two rows are one (common practice, no source)."""
        return (self.row + 1) // 2


def class_board(now: LessonNow, minutes: int) -> ClassBoard:
    """Return the board of a lesson that goes on since so many minutes."""
    leading, seen = now.leading, now.shown
    lesson = leading.lesson
    at = min(leading.at, len(lesson.steps) - 1)
    word = ""
    if seen.topic is not None:
        name, colon, _ = topics()[seen.topic].moves[seen.picture].partition(":")
        word = name if colon and len(name) <= _LONGEST_WORD else ""
    sentence = seen.sentences[len(now.said)]
    if word:
        sentence = sentence.removeprefix(f"{word}: ")
    return ClassBoard(
        word,
        sentence[:1].upper() + sentence[1:],
        lesson.should_be(at),
        0 if leading.over else leading.step.row,
        at + 1,
        len(lesson.steps),
        minutes,
        lesson.minutes,
        seen.speed,
        seen.topic,
        seen.picture,
        seen.behind,
        seen.choices,
    )


def lines(
    board: ClassBoard,
    words: ScreenWording,
    width: float,
    most: int,
    measure: Callable[[str], float],
) -> tuple[str, ...]:
    """
    Return the lines that fit: at most `most`, each at most so wide as `measure` tells.

    What matters less is left out first and whole: the pace, the sentence (where the move has a
    name), the row. () if not even the first thing fits.
    """
    count = words("class", "count", count=board.count) if board.count else ""
    row = words("class", "row", row=board.row, ridge=board.ridge) if board.row else ""
    head = [one for one in (board.word, count) if one]
    if len(head) > 1 and measure(_beside(head)) <= width:
        head = [_beside(head)]
    sentence = _broken(board.sentence, width, measure)
    blocks = [head, [row], sentence] if board.word else [sentence, head, [row]]
    blocks.append([words("class", "pace", **_pace(board))])
    found: list[str] = []
    for block in blocks:
        rows = [one for one in block if one]
        if len(found) + len(rows) <= most and all(measure(one) <= width for one in rows):
            found += rows
        elif not found:
            return ()
    return tuple(found)


def _beside(texts: list[str]) -> str:
    return " \N{MIDDLE DOT} ".join(texts)


def _pace(board: ClassBoard) -> dict[str, int]:
    return {
        "step": board.step,
        "steps": board.steps,
        "minutes": board.minutes,
        "whole": board.of_minutes,
    }


def _broken(sentence: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """Break a sentence into lines."""
    found: list[str] = []
    for word in sentence.split():
        longer = f"{found[-1]} {word}" if found else word
        if found and measure(longer) <= width:
            found[-1] = longer
        else:
            found.append(word)
    return found
