"""The board of a class as values: what stands on it, and how high its letters have to be."""

from __future__ import annotations

import pytest

from app import resources
from app.display.class_board import (
    capitals_mm,
    class_board,
    lines,
    minutes_of_arc,
    px_per_mm,
)
from app.display.screen_words import ScreenWording, read_texts
from app.lessons.leading import Leading, LessonNow, Said, heard, took
from app.lessons.lesson import read_lesson
from app.lessons.topics import Topic

LESSON = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
WORDS = ScreenWording(read_texts(resources.text("shared/window/words.toml")), str, str, str)  # type: ignore[arg-type]
ROUND = 4
"""The step in which the yarn is laid around the tip."""


def at(step: int, *words: str) -> LessonNow:
    """Return the lesson as a class has it, at a step, after words."""
    leading = Leading(LESSON, at=step, in_class=True)
    said: tuple[str, ...] = ()
    for one in words:
        leading, said = heard(leading, one)
    return LessonNow(leading, said)


def shown(now: LessonNow, wide: int, most: int) -> tuple[str, ...]:
    """Return the lines on a board so many letters wide."""
    return lines(class_board(now, 12), WORDS, wide, most, len)


def test_letters_follow_the_distance() -> None:
    """50 mm at 5 m: 34 minutes of arc, more than the 20 to 22 that are recommended."""
    assert capitals_mm(5) == 50
    assert minutes_of_arc(50, 5) == pytest.approx(34.4, abs=0.1)
    assert {round(minutes_of_arc(capitals_mm(one), one), 6) for one in (3, 4, 6, 10)} == {
        round(minutes_of_arc(50, 5), 6)
    }
    assert minutes_of_arc(32, 5) == pytest.approx(22, abs=0.1)


def test_a_screen_is_believed_only_if_nobody_says_its_size() -> None:
    """55 inches of 1920 by 1080 pixels are 1.577 pixels a mm; 0 inches are what it tells."""
    assert px_per_mm(1920, 1080, 55, 3.78) == pytest.approx(1920 / 1217.6, rel=1e-3)
    assert px_per_mm(1920, 1080, 0, 3.78) == 3.78


def test_the_moves_are_called_by_their_names() -> None:
    """In, round, through, off: one word each, with the count, row and ridge."""
    boards = [class_board(at(step), 0) for step in range(3, 7)]
    assert [board.word for board in boards] == ["In", "Round", "Through", "Off"]
    assert {(board.count, board.row, board.ridge) for board in boards} == {(16, 1, 1)}
    assert class_board(at(13), 0).ridge == 2


def test_what_matters_less_gives_way_whole() -> None:
    """First the pace goes, then the sentence, then the row; the move and its count stay."""
    assert shown(at(ROUND), 60, 5) == (
        "Round \N{MIDDLE DOT} should be 16",
        "Row 1, ridge 1",
        "Bring the yarn under the tip to the front, then over the tip",
        "to the back.",
        "5 of 19, 12 of 75 min",
    )
    assert shown(at(ROUND), 60, 4)[-1] == "to the back."
    assert shown(at(ROUND), 60, 3)[1:] == ("Row 1, ridge 1", "5 of 19, 12 of 75 min")
    assert shown(at(ROUND), 60, 1) == ("Round \N{MIDDLE DOT} should be 16",)
    assert shown(at(ROUND), 14, 2) == ("Round", "should be 16")
    assert shown(at(ROUND), 4, 9) == ()


def test_where_a_step_has_no_name_its_sentence_stands_first() -> None:
    """Nothing is cut off inside: a sentence is there to its end, or there is nothing."""
    assert " ".join(shown(at(1), 40, 9)).startswith("Take the needle")
    assert shown(at(1), 40, 2) == ()


def test_the_teacher_goes_on_without_a_count() -> None:
    """Ready at a count is the next step in a class; alone it is not."""
    here = at(8).leading
    assert here.step.count == 16
    assert took(here, Said.READY)[0].at == 9
    assert heard(Leading(LESSON, at=8), "ready")[0].at == 8


def test_the_board_follows_rescues_and_the_end() -> None:
    """The pictures to choose from, then the rescue's own move; at the end no row any more."""
    board = class_board(at(8, "17"), 0)
    assert board.choices == (Topic.EDGE_PULLED, Topic.STRAY_OVER)
    board = class_board(at(8, "17", "1"), 0)
    assert (board.topic, board.picture) == (Topic.EDGE_PULLED, 0)
    over = class_board(at(len(LESSON.steps) - 1, "ready"), 75)
    assert over.sentence == "That was the lesson."
    assert (over.row, over.topic) == (0, None)
