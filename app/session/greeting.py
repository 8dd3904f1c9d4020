"""What is said when a piece is taken up again: where the work stands, and what to check by eye."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Final

from engine.answering.guidance import first_steps
from engine.journal.journal import said_time
from engine.judging.decide import expected_now
from engine.replies import Reply, Say, reply

if TYPE_CHECKING:
    from engine.journal.journal import Gap
    from engine.pattern import Course
    from engine.state import PieceState

LONG_AWAY_DAYS: Final = 7
"""After so long hands and head have forgotten the row (common practice, no source)."""
_IN_SIGHT_ROWS: Final = 40
"""Shaping farther below the needle is not counted by eye (common practice, no source)."""


def welcome(state: PieceState, course: Course, away_days: float) -> tuple[Reply, ...]:
    """Return the greeting: the row, the place in it, the mirror image, and a check after weeks."""
    place = course.where(state.loops_ended, state.working)
    if state.finished or place.finished:
        return (reply(Say.ALL_DONE, row=state.done), *disagreement(state), *set_aside(state))
    title, row = state.name, state.working
    inside = state.in_row
    if inside is not None and inside.after is not None:
        replies = [reply(Say.WELCOME_BACK_IN_ROW, title=title, row=row, count=inside.after)]
    else:
        replies = [reply(Say.WELCOME_BACK, title=title, row=row, side=place.side)]
        if inside is not None:
            replies.append(reply(Say.STOPPED_SOMEWHERE, row=row))
        elif state.done == 0:
            replies += first_steps(state, course)
    if state.saying is not None and state.saying.words:
        so_far = state.saying
        replies.append(reply(Say.ROW_SO_FAR, row=so_far.first, words=so_far.words))
    if state.partner is not None and state.partner.mirrored:
        replies.append(reply(Say.MIRRORED, title=state.partner.name))
    replies += (*disagreement(state), *set_aside(state))
    if away_days >= LONG_AWAY_DAYS and state.done:
        replies += _by_eye(state, course)
    return tuple(replies)


def other_count(state: PieceState, course: Course, had: int | None) -> tuple[Reply, ...]:
    """Return what is said where a changed pattern expects other stitches than are on the needle."""
    wanted = course.where(state.loops_ended, state.working).before
    if had is None or wanted is None or wanted == had:
        return ()
    return (reply(Say.COUNT_CHANGED, row=state.working, count=had, expected=wanted),)


def disagreement(state: PieceState) -> tuple[Reply, ...]:
    """Return what two devices did to the piece without knowing of each other; () if they agree."""
    if state.fork:
        return (reply(Say.FORKED, low=min(state.fork), high=max(state.fork)),)
    if state.counted_twice:
        return (reply(Say.COUNTED_TWICE, row=state.counted_twice),)
    return ()


def set_aside(state: PieceState) -> tuple[Reply, ...]:
    """Return how many records of the piece count for nothing; () if all count."""
    return (reply(Say.SET_ASIDE, count=state.aside),) if state.aside else ()


def what_is_missing(gap: Gap) -> Reply:
    """Return what is said of records that were acknowledged and are gone."""
    since = f" after {said_time(gap.since)}" if gap.since else ""
    return reply(
        Say.WORK_MISSING, count=gap.records, words=f"{since}, up to {said_time(gap.until)}"
    )


def _by_eye(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Return how far below the needle the last shaping is, else the stitches to count."""
    for row in range(state.done, max(state.done - _IN_SIGHT_ROWS, 0), -1):
        if course.where(state.loops_ended, row).shaping:
            if row == state.done:
                return (reply(Say.SHAPED_LAST, row=row),)
            return (reply(Say.SHAPED_BELOW, row=row, rows=state.done - row),)
    expected = expected_now(state, course)
    return (reply(Say.COUNT_PLEASE, count=expected),) if expected is not None else ()


def days_between(earlier: str, later: str) -> float:
    """Return the days between two times in ISO 8601; 0 where a clock was set wrong."""
    try:
        passed = datetime.fromisoformat(later) - datetime.fromisoformat(earlier)
    except (ValueError, TypeError):
        return 0.0
    return max(passed.total_seconds() / 86_400, 0.0)
