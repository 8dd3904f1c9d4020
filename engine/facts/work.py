"""
The work of each row: its stitches, which is what it takes in yarn and in time.

The course says how many stitches a row has. A piece without a pattern has only what was told: the
stitches cast on and those counted; while they are equal the rows to come are taken to be so too.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING, Final, assert_never

from engine.facts.distance import LongEnough, NoTarget, RowsExactly, distance, to_the_end
from engine.facts.part_stitch import stitch_of, swatched_stitch
from engine.forecast.values import CannotSay, RowsLeft
from engine.pattern import plain_course

if TYPE_CHECKING:
    from collections.abc import Mapping

    from engine.pattern import Course
    from engine.state import PieceState

_LOOKS: Final = 32
"""Into so many stretches a piece is cut at first; each is cut again until its rows are known."""
TURN_STITCHES: Final = 1.5
"""Turning the work takes as long as so many stitches; common practice, no source."""
_NEAR: Final = 0.01  # stitches of a row that are guessed right within so much need no closer look
_FEWEST_TOLD: Final = 2
_SLIP: Final = 2  # so many stitches are counted wrong, not shaped; common practice, no source


@dataclass(frozen=True, slots=True)
class Row:
    """What is known of a row: its stitches (None: not known) and the stitch it is worked in."""

    stitches: float | None
    kind: str


@dataclass(frozen=True, slots=True)
class Work:
    """
    The work done after so many rows, by kind of stitch, in rows of `stitches` stitches.

    `kinds` begins with the stitch of the swatch; `known` is the last row whose stitches are known.
    `last` are the stitches of the last row before the piece is bound off.
    """

    kinds: tuple[str, ...]
    stitches: float
    known: int
    last: float
    _rows: tuple[int, ...]
    _done: tuple[tuple[float, ...], ...]

    def __call__(self, rows: int) -> tuple[float, ...]:
        """Return the work of the first `rows` rows; beyond the piece every row is like its last."""
        at = bisect_left(self._rows, rows)
        if at == 0:
            return self._done[0]
        high = min(at, len(self._rows) - 1)
        before, after = self._done[high - 1], self._done[high]
        share = (rows - self._rows[high - 1]) / (self._rows[high] - self._rows[high - 1])
        return tuple(a + share * (b - a) for a, b in zip(before, after, strict=True))

    def time(self, rows: int) -> float:
        """Return the work of the first `rows` rows as far as it goes by time, the turns in it."""
        return self.timed(self(rows), rows)

    def timed(self, amounts: tuple[float, ...], rows: int) -> float:
        """Return work of so many rows in rows that take as long as a usual one, turn and all."""
        usual = self.stitches + TURN_STITCHES
        return (sum(amounts) * self.stitches + rows * TURN_STITCHES) / usual

    def total(self, rows: float) -> float:
        """Return the work of the first `rows` rows, of all kinds together."""
        return sum(self(int(rows)))


class Unknown(StrEnum):
    """Why the work that is still to do is not known."""

    NO_TARGET = "no_target"
    MEASURE_FIRST = "measure_first"
    COUNT_FIRST = "count_first"
    """Without a pattern: the stitches were never counted since the cast-on."""
    STITCHES_AHEAD = "stitches_ahead"
    """The rows ahead may have any number of stitches."""


@dataclass(frozen=True, slots=True)
class Needed:
    """
    How many rows are still to be worked, at least and at most, and their work.

    `whole` is False where a part of open length comes after the one being worked: then the rows
    are those that are known, and more will come.
    """

    rows: tuple[int, int]
    work: tuple[tuple[float, ...], tuple[float, ...]]
    whole: bool


def is_plain(course: Course) -> bool:
    """Tell whether the course is that of a piece without a pattern, whose rows are only counted."""
    return course.loops == plain_course(course.cast_on).loops and len(course.parts) == 1


def stitches_after(state: PieceState, course: Course, row: int) -> float | None:
    """Return the stitches after a row: as counted there, else as the pattern says."""
    return _Look(state, course, state.loops_ended).stitches(row)


def rows_needed(state: PieceState, course: Course) -> tuple[int, int] | None:
    """Return how many rows are left to the end, at least and at most; None if that is unknown."""
    part = _part_rows(state, course)
    return None if isinstance(part, Unknown) else _whole(state, course, part)


def _whole(state: PieceState, course: Course, part: tuple[int, int]) -> tuple[int, int]:
    low, high = part
    return to_the_end(state, course, low), to_the_end(state, course, high)


def _part_rows(state: PieceState, course: Course) -> tuple[int, int] | Unknown:
    """Return the rows to the end of the part being worked, at least and at most."""
    match distance(state, course):
        case RowsExactly(rows):
            return rows, rows
        case RowsLeft(low=low, high=high):
            return low, high
        case LongEnough():
            return 0, 0
        case NoTarget():
            return Unknown.NO_TARGET
        case CannotSay():
            return Unknown.MEASURE_FIRST
        case other:
            assert_never(other)


def work(state: PieceState, course: Course) -> tuple[Work, Needed] | Unknown:
    """Return the work of the rows done and of those still to do, or why it is not known."""
    part = _part_rows(state, course)
    if isinstance(part, Unknown):
        return part
    rows = _whole(state, course, part)
    lasts = [state.done + more for more in rows]
    loop = course.where(state.loops_ended, state.working).open_loop
    ends = [state.loops_ended for _ in part]
    if loop is not None:
        ends = [state.loops_ended | {loop.id: state.done + more} for more in part]
    longest = _work(state, course, ends[1], lasts[1])
    if longest is None or longest.known < lasts[1]:
        counts = [old for old in state.counts if not old.aside]
        few = is_plain(course) and len(counts) + (state.cast_on is not None) < _FEWEST_TOLD
        return Unknown.COUNT_FIRST if few else Unknown.STITCHES_AHEAD
    shortest = longest
    if ends[0] != ends[1]:
        shortest = _work(state, course, ends[0], lasts[0], like=longest) or longest
    amounts = (
        _between(shortest, state.done, lasts[0]),
        _between(longest, state.done, lasts[1]),
    )
    return longest, Needed(rows, amounts, course.last_row(ends[1]) is not None)


def _between(done: Work, row: int, last: int) -> tuple[float, ...]:
    return tuple(max(b - a, 0.0) for a, b in zip(done(row), done(last), strict=True))


def _work(
    state: PieceState,
    course: Course,
    ended: Mapping[str, int],
    last: int,
    like: Work | None = None,
) -> Work | None:
    """Return the work up to row `last`, with the units and kinds of `like` if it is given."""
    last = max(last, 1)
    look = _Look(state, course, ended)
    seen = look.rows(last)
    known = [row for row, one in seen.items() if one.stitches is not None]
    if not known:
        return None
    told = _filled(seen)
    stitches = like.stitches if like else max(told[_nearest(told, max(state.done, 1))], 1.0)
    kinds = like.kinds if like else _kinds(course, seen)
    rows, done = [0], [(0.0,) * len(kinds)]
    before = min(told)
    for row in sorted(told):
        # Rows between two looks go over from the one to the other, the last row is the look's own.
        mean = (told[before] + told[row]) / 2
        amount = ((row - rows[-1] - 1) * mean + told[row]) / stitches if row > rows[-1] else 0.0
        kind = seen[row].kind
        at = kinds.index(kind) if kind in kinds else 0
        grown = tuple(
            value + (amount if place == at else 0.0) for place, value in enumerate(done[-1])
        )
        rows.append(row)
        done.append(grown)
        before = row
    return Work(kinds, stitches, look.known(seen, last), told[max(told)], tuple(rows), tuple(done))


def _kinds(course: Course, seen: Mapping[int, Row]) -> tuple[str, ...]:
    """Return the kinds of stitch, that of the swatch first."""
    return tuple(dict.fromkeys((swatched_stitch(course), *(one.kind for one in seen.values()))))


def _nearest(told: Mapping[int, float], row: int) -> int:
    return min(told, key=lambda other: abs(other - row))


def _filled(seen: Mapping[int, Row]) -> dict[int, float]:
    """Return the stitches of the rows looked at; where they are not known, as in the one before."""
    found: dict[int, float] = {}
    first = next(one.stitches for one in seen.values() if one.stitches is not None)
    for row, one in seen.items():
        first = one.stitches if one.stitches is not None else first
        found[row] = first
    return found


class _Look:
    """Looks at the rows of a piece, as few as show how its stitches go."""

    def __init__(self, state: PieceState, course: Course, ended: Mapping[str, int]) -> None:
        self.course, self.ended = course, ended
        self.plain = is_plain(course)
        counted = {old.row: float(old.count) for old in state.counts if not old.aside}
        cast_on = {} if state.cast_on is None else {0: float(state.cast_on)}
        self.told = dict(sorted((cast_on | counted).items()))
        self.seen: dict[int, Row] = {}

    def rows(self, last: int) -> dict[int, Row]:
        """Return what is known of some rows up to `last`, in order."""
        step = max(1, last // _LOOKS)
        marks = sorted({*range(1, last, step), *(min(2, last), last)})
        for first, second in pairwise(marks):
            self._between(first, second)
        if len(marks) == 1:
            self._at(last)
        return dict(sorted(self.seen.items()))

    def known(self, seen: Mapping[int, Row], last: int) -> int:
        """Return the last row from which on nothing more is known; `last` if all is known."""
        if seen[last].stitches is not None:
            return last
        return max(row for row, one in seen.items() if one.stitches is not None)

    def stitches(self, row: int) -> float | None:
        """Return the stitches that are there after a row."""
        if row in self.told or self.plain:
            return self.told.get(row, self._plain(row).stitches)
        after = self.course.where(self.ended, row).after if row else self.course.cast_on
        return None if after is None else float(after)

    def _at(self, row: int) -> Row:
        if row not in self.seen:
            self.seen[row] = self._plain(row) if self.plain else self._of_course(row)
        return self.seen[row]

    def _between(self, first: int, last: int) -> None:
        one, other = self._at(first), self._at(last)
        if last - first < 2:  # noqa: PLR2004 (nothing lies between)
            return
        middle = (first + last) // 2
        here = self._at(middle)
        if one.kind == other.kind == here.kind and _straight(one, here, other):
            return
        self._between(first, middle)
        self._between(middle, last)

    def _of_course(self, row: int) -> Row:
        place = self.course.where(self.ended, row)
        kind = stitch_of(self.course, self.ended, row)
        before, after = place.before, place.after
        if before is None or after is None:
            known = [n for n in (before, after, self.told.get(row)) if n is not None]
            return Row(
                float(known[-1]) if known and after is not None else self.told.get(row), kind
            )
        if after < before:
            # Stitches that are bound off are worked too; two knitted together are half again.
            plain = place.instruction.stitches_only
            return Row((before + after) / 2 if plain else float(before), kind)
        return Row(float(after), kind)

    def _plain(self, row: int) -> Row:
        """Return what was told of a row of a piece without a pattern."""
        told = self.told
        if len(told) < _FEWEST_TOLD:
            return Row(None, "")
        if max(told.values()) - min(told.values()) <= max(_SLIP, _NEAR * max(told.values())):
            return Row(next(reversed(told.values())), "")
        rows = list(told)
        if not rows[0] <= row <= rows[-1]:
            return Row(None, "")
        after = max(1, bisect_left(rows, row))
        low, high = rows[after - 1], rows[after]
        share = (row - low) / (high - low)
        return Row(told[low] + share * (told[high] - told[low]), "")


def _straight(one: Row, middle: Row, other: Row) -> bool:
    """Tell whether the middle row has as many stitches as lies between the other two."""
    if one.stitches is None or middle.stitches is None or other.stitches is None:
        return one.stitches == middle.stitches == other.stitches
    guess = (one.stitches + other.stitches) / 2
    return abs(middle.stitches - guess) <= max(1.0, _NEAR * guess)
