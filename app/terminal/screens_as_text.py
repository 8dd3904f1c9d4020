"""The screens as lines of text, for the terminal: pieces, patterns, rows, story."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from app.display.finished_view import finished_view
from app.display.order_board import board_lines, order_board
from app.display.story_lines import story_lines
from app.lessons.shelf import lessons
from app.pieces.library import patterns
from app.session.navigation import in_order
from engine.talk import Screen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.display.screen_words import ScreenWording
    from app.session.situation import Situation

_ROWS = 8
"""Rows of the pattern that are written from the one worked now on."""
_LINES = 20
"""Lines of the story that are written, the newest first."""
_IN_THE_WINDOW = {
    Screen.SETTINGS: ("screens", "in_the_window"),
    Screen.TAKE: ("take", "terminal"),
    Screen.COMPOSE: ("keyed", "terminal"),
}
"""What says where a screen is to be had that has no lines."""


def screen_lines(  # noqa: PLR0911 (one a screen)
    screen: Screen, situation: Situation, words: ScreenWording, help_lines: Sequence[str]
) -> tuple[str, ...]:
    """Return what a screen shows, a line each; what only a window has is named."""
    match screen:
        case Screen.BOARD:
            return (_where(situation, words),)
        case Screen.PIECES:
            return _pieces(situation, words)
        case Screen.BEGIN | Screen.PLAN:
            return tuple(
                f"{number} {one.title}" + (f" ({', '.join(sizes)})" if sizes else "")
                for number, one in enumerate(patterns(), 1)
                for sizes in [one.document.sizes if one.document is not None else ()]
            )
        case Screen.PATTERN:
            return _rows(situation, words)
        case Screen.STORY:
            return _story(situation, words)
        case Screen.WORDS:
            return tuple(help_lines)
        case Screen.SETTINGS | Screen.TAKE | Screen.COMPOSE:
            return (words(*_IN_THE_WINDOW[screen]),)
        case Screen.FINISHED:
            view = finished_view(situation.state, situation.course, words)
            steps = (f"{number} {step.words}{' (done)' if step.done else ''}"
                     for number, step in enumerate(view.steps, 1))  # fmt: skip
            return (*(one.words for one in view.measures), *steps)
        case Screen.LESSON | Screen.CLASS:
            return _lessons(situation)
        case Screen.ORDER:
            return _order(situation, words)
        case Screen.HELP:
            return tuple(words("help", part) for part in ("tool", "sleeve", "child"))
        case never:
            assert_never(never)


def _where(situation: Situation, words: ScreenWording) -> str:
    state = situation.state
    done = words("board", "done", done=state.done) if state.done else words("board", "none_done")
    return f"{state.name}: {words('board', 'working').lower()} {state.working}; {done}"


def _pieces(situation: Situation, words: ScreenWording) -> tuple[str, ...]:
    lines = []
    for piece in in_order(situation.pieces):
        here = piece.id == situation.state.piece
        done = situation.state.done if here else piece.done
        finished = situation.state.finished if here else piece.finished
        state = words("pieces", "finished" if finished else "done", done=done)
        mark = f"; {words('pieces', 'here')}" if here and not finished else ""
        lines.append(f"{piece.number} {piece.name}: {state}{mark}")
    return tuple(lines)


def _order(situation: Situation, words: ScreenWording) -> tuple[str, ...]:
    """Return the order as it was looked at last; the first time it takes longer than an answer."""
    if situation.order is None:
        return (words("order", "terminal"),)
    return tuple(board_lines(order_board(situation.order, words)))


def _lessons(situation: Situation) -> tuple[str, ...]:
    """Return the lessons with their numbers; while one goes on it is said in the answers."""
    if situation.lesson is not None:
        return ()
    return tuple(
        f"{number} {one.lesson.title}" if one.lesson is not None else f"{one.name}: {one.problem}"
        for number, one in enumerate(lessons(), 1)
    )


def _rows(situation: Situation, words: ScreenWording) -> tuple[str, ...]:
    state, lines = situation.state, []
    for row in range(state.working, state.working + _ROWS):
        place = situation.course.where(state.loops_ended, row)
        if place.finished:
            break
        side = words("board", str(place.side))
        lines.append(words("pattern", "row", row=row, side=side, text=str(place.instruction)))
    return tuple(lines)


def _story(situation: Situation, words: ScreenWording) -> tuple[str, ...]:
    found = story_lines(situation.state, words)
    if not found:
        return (words("story", "no_notes"),)
    return tuple(words("story", "note", row=row, text=text) for row, text in found[:_LINES])
