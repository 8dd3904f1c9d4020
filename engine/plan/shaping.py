"""Shaping arithmetic: evenly spaced increases and decreases, and "every nth row m times".

Two layouts of evenly spaced shaping are both in print (Knitting For Dummies: k + 1 sections for k
increases; shops' guides: half a section at each end): the answer names the one that it used.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby


class Layout(StrEnum):
    """Where the plain stitches between evenly spaced shapings lie."""

    BETWEEN = "between"
    """Flat, k + 1 sections: a plain section before the first, after the last, and between."""
    CENTRED = "centred"
    """Flat, k sections of which the first is cut in half and shared between both ends."""
    ROUND = "round"
    """In the round, k sections: the last shaping ends the round."""


@dataclass(frozen=True, slots=True)
class EvenSpacing:
    """Plain stitches before each shaping, and what is left after the last.

    `after` are the positions: the shaping comes after so many plain stitches, counted from the
    start of the row (of an increase made between stitches; a decrease uses up its own two).
    """

    layout: Layout
    gaps: tuple[int, ...]
    rest: int
    stitches_before: int
    stitches_after: int

    @property
    def after(self) -> tuple[int, ...]:
        """Plain stitches from the start of the row up to each shaping."""
        found, total = [], 0
        for gap in self.gaps:
            total += gap
            found.append(total)
        return tuple(found)


def space_increases(stitches: int, increases: int, layout: Layout) -> EvenSpacing:
    """Return where to make so many increases between the stitches of one row.

    Gaps differ by at most one (the halves at both ends of the centred layout are counted as one
    gap). Raises ValueError if there are more increases than stitches.
    """
    if increases < 1 or increases > stitches:
        raise ValueError("There has to be an increase, and a stitch for each of them.")
    gaps, rest = _gaps(stitches, increases, layout)
    return EvenSpacing(layout, gaps, rest, stitches, stitches + increases)


def space_decreases(stitches: int, decreases: int, layout: Layout) -> EvenSpacing:
    """Return the plain stitches between so many decreases of two into one in one row.

    Each decrease takes two stitches, so the gaps hold `stitches - 2 * decreases`. Raises
    ValueError if there are not two stitches for each.
    """
    if decreases < 1 or 2 * decreases > stitches:
        raise ValueError("Every decrease needs two stitches, and there has to be one.")
    gaps, rest = _gaps(stitches - 2 * decreases, decreases, layout)
    return EvenSpacing(layout, gaps, rest, stitches, stitches - decreases)


def _gaps(plain: int, count: int, layout: Layout) -> tuple[tuple[int, ...], int]:
    if layout is Layout.BETWEEN:
        shares = _shares(plain, count + 1)
        return shares[:-1], shares[-1]
    shares = _shares(plain, count)
    if layout is Layout.ROUND:
        return shares, 0
    # The smallest share comes last; it is cut in half, the smaller half first.
    first = shares[-1] // 2
    return (first, *shares[:-1]), shares[-1] - first


def _shares(whole: int, count: int) -> tuple[int, ...]:
    small, larger = divmod(whole, count)
    return (small + 1,) * larger + (small,) * (count - larger)


class Counting(StrEnum):
    """The two printed ways of counting shaping rows.

    EVERY: "every 4th row 5 times" takes 20 rows, three plain ones before each row that shapes.
    NEXT_AND_FOLLOWING: "on the next and every following 4th row, 5 times in all" takes 17.
    """

    EVERY = "every"
    NEXT_AND_FOLLOWING = "next_and_following"


@dataclass(frozen=True, slots=True)
class ShapingTimes:
    """Shape every `every`th row, `times` times."""

    every: int
    times: int


@dataclass(frozen=True, slots=True)
class Rate:
    """How to get from one stitch count to another over so many rows.

    `steps` are worked in order, counted as `counting` says (the first of all shaping rows is the
    next row in the second way). `left_over` rows are plain at the end.
    """

    counting: Counting
    steps: tuple[ShapingTimes, ...]
    rows: int
    left_over: int
    per_shaping: int
    stitches_from: int
    stitches_to: int
    right_side_only: bool = False
    """All shaping falls on rows 1, 3, 5 and so on, which are right-side rows."""

    @property
    def shapings(self) -> int:
        """Number of shaping rows."""
        return len(self.shaping_rows())

    def shaping_rows(self) -> tuple[int, ...]:
        """Return the rows that shape, the first row of the stretch being 1."""
        first = self.counting is Counting.NEXT_AND_FOLLOWING
        found = [1] if first and self.stitches_from != self.stitches_to else []
        row = 1 if first else 0
        for step in self.steps:
            for _ in range(step.times):
                row += step.every
                found.append(row)
        return tuple(found)

    def stitches_after(self, row: int) -> int:
        """Return the stitches after the given row of the stretch."""
        done = sum(1 for shaping in self.shaping_rows() if shaping <= row)
        sign = 1 if self.stitches_to > self.stitches_from else -1
        return self.stitches_from + sign * done * self.per_shaping


def shaping_rate(
    stitches_from: int,
    stitches_to: int,
    rows: int,
    *,
    per_shaping: int = 2,
    counting: Counting = Counting.EVERY,
    right_side_only: bool = False,
) -> Rate:
    """Return "every nth row m times" from one count to another within `rows` rows.

    `per_shaping` stitches change in a shaping row (2: one at each end). With `right_side_only` all
    shaping falls on rows 1, 3, 5 and so on: row 1 of the stretch faces with its right side, so the
    first interval is odd and all others are even. Shorter intervals come first. Raises ValueError
    if the difference cannot be shared out or the rows do not suffice.
    """
    difference = abs(stitches_to - stitches_from)
    if per_shaping < 1 or difference % per_shaping:
        raise ValueError("The stitches to change cannot be shared out between whole shaping rows.")
    intervals = difference // per_shaping
    spare = rows
    if counting is Counting.NEXT_AND_FOLLOWING and intervals:
        intervals, spare = intervals - 1, rows - 1
    unit = 2 if right_side_only else 1
    early = right_side_only and counting is Counting.EVERY  # a row sooner, from row 2 to row 1
    if spare + early < intervals * unit:
        raise ValueError("There are more shaping rows than rows to work them in.")
    steps: tuple[ShapingTimes, ...] = ()
    if intervals:
        small, larger = divmod((spare + early) // unit, intervals)
        every = [small * unit] * (intervals - larger) + [(small + 1) * unit] * larger
        every[0] -= early
        steps = tuple(ShapingTimes(gap, len(list(alike))) for gap, alike in groupby(every))
        spare -= sum(every)
    return Rate(
        counting, steps, rows, spare, per_shaping, stitches_from, stitches_to, right_side_only
    )
