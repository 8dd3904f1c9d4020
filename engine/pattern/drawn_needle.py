"""
The needle before every row of a course, with its markers and turned short rows.

`Course.where` knows the number of stitches of any row at once; where the markers hang only working
the rows in order tells. A picture needs it, so it is followed from the cast-on, row by row.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from engine.pattern.hands import work
from engine.pattern.headings import Side
from engine.pattern.needle import Misfit, Needle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from engine.pattern.course import Course, Place

MOST_ROWS: Final = 3000
"""Beyond so many rows the places of markers are not followed."""


def first_needle(course: Course) -> Needle | None:
    """Return the needle after casting on; None if nobody says how many."""
    if course.cast_on is None:
        return None
    return Needle((course.cast_on,), in_the_round=course.in_the_round)


def needle_after(needle: Needle | None, place: Place) -> Needle | None:
    """Return the needle after a row that is worked from `needle`; None if it is not known."""
    if needle is not None and needle.total == place.before and not place.instruction.text:
        after = work(needle, place.instruction.items)
        if not isinstance(after, Misfit) and after.total == place.after:
            return after
    if place.after is None:
        return None
    held = needle.held if needle is not None else ()
    return Needle((place.after,), held=held, in_the_round=place.side is Side.ROUND)


class Needles:
    """The needles before the rows of one course, followed as far as they are asked for."""

    def __init__(self, course: Course, ended: Mapping[str, int]) -> None:
        """Begin at the cast-on."""
        self.course = course
        self.ended = dict(ended)
        self._before = [first_needle(course)]

    def before(self, row: int) -> Needle | None:
        """Return the needle before a row, counted from 1; None if it is not known."""
        if not 1 <= row <= MOST_ROWS:
            return None
        while len(self._before) < row:
            place = self.course.where(self.ended, len(self._before))
            if place.finished:
                return None
            self._before.append(needle_after(self._before[-1], place))
        needle = self._before[row - 1]
        if needle is None:
            return None
        round_ = self.course.where(self.ended, row).side is Side.ROUND
        return replace(needle, in_the_round=round_)
