"""What a piece needs, in words, each with the name of its small picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.display.screen_words import ScreenWording
    from engine.pattern import Course, PatternDocument

_HOUR: Final = 60
_MINUTES_ONLY: Final = 100


def time_words(minutes: float, words: ScreenWording) -> str:
    """Return about how long something takes: minutes, to five, or whole hours."""
    if minutes < _MINUTES_ONLY:
        return words("needs", "minutes", minutes=max(round(minutes / 5) * 5, 5))
    return words("needs", "hours", hours=round(minutes / _HOUR))


def needs_of(
    document: PatternDocument,
    course: Course | None,
    said: Callable[[str], str],
    rows: int | None,
    minutes: float | None,
    words: ScreenWording,
) -> tuple[tuple[str, str], ...]:
    """Return the wool, the needle, the stitches and the time; what is not known is left out.

    `said` gives the words of the pattern in the one size that was chosen.
    """
    found: list[tuple[str, str]] = []
    if document.yarn:
        found.append(("skein", said(document.yarn)))
    if document.needle:
        found.append(("needles", said(document.needle)))
    if course is not None and course.cast_on is not None:
        key = "cast_on" if rows is None else "cast_on_rows"
        told = words.in_rounds() if course.in_the_round else words
        found.append(("board", told("needs", key, count=course.cast_on, rows=rows)))
    if minutes is not None:
        found.append(("hours", time_words(minutes, words)))
    return tuple(found)
