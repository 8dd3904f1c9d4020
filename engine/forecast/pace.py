"""How fast the rows go, and how many hours of knitting are left.

Only knitting hours: when a piece is finished by the clock depends on meals, children and sleep.
The pace is the median time of a row, so that a pause, an interruption or a row told late does not
move it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.forecast.values import RowsLeft

_PAUSE_TIMES: Final = 4.0
"""A row that took more than so many times the usual holds a pause; common practice, no source."""
_FEWEST: Final = 3
_SCALE: Final = 1.4826  # median absolute deviation to standard deviation, of a normal distribution
_MEDIAN_ERROR: Final = math.sqrt(math.pi / 2)  # error of a median over that of a mean, normal
_MANY_ROWS: Final = 40
"""So many of the last rows tell the pace: it changes with the stitch and with the day."""


@dataclass(frozen=True, slots=True)
class RowStamp:
    """`row` rows were done at `seconds` of the monotonic clock of one writer (process start)."""

    row: int
    seconds: float
    writer: str = ""


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds per row with its relative standard error, from `rows` rows; pauses left out."""

    seconds_per_row: float
    relative_error: float
    rows: int


@dataclass(frozen=True, slots=True)
class HoursLeft:
    """Hours of knitting still to go: between `low` and `high`, `best` the middle."""

    low: float
    high: float
    best: float


def pace(stamps: Iterable[RowStamp]) -> Pace | None:
    """Return the pace of the last rows, None before three rows have been timed.

    Rows told together ("three rows done") share their time. Times of different writers are never
    compared, rows gone back over (ripped, undone) do not count.
    """
    per_row: list[float] = []
    by_writer: dict[str, list[RowStamp]] = {}
    for stamp in stamps:
        by_writer.setdefault(stamp.writer, []).append(stamp)
    for mine in by_writer.values():
        for before, after in pairwise(mine):
            rows, seconds = after.row - before.row, after.seconds - before.seconds
            if rows > 0 and seconds > 0:
                per_row += [seconds / rows] * rows
    per_row = per_row[-_MANY_ROWS:]
    if len(per_row) < _FEWEST:
        return None
    middle = median(per_row)
    usual = [time for time in per_row if middle / _PAUSE_TIMES <= time <= middle * _PAUSE_TIMES]
    middle = median(usual)
    spread = _SCALE * median(abs(time - middle) for time in usual) / middle
    # Times of rows are told to the second at best and by a busy knitter: never surer than 3 %.
    error = max(0.03, spread) * _MEDIAN_ERROR / math.sqrt(len(usual))
    return Pace(middle, error, len(usual))


def hours_left(rows: RowsLeft, speed: Pace) -> HoursLeft:
    """Return the knitting hours for the rows left; the error of rows and of pace are put together.

    The level of the interval is that of `rows`.
    """
    best = rows.best * speed.seconds_per_row / 3600
    pace_reach = 1.645 * speed.relative_error * rows.best
    low = max(0.0, rows.best - math.hypot(rows.best - rows.low, pace_reach))
    high = rows.best + math.hypot(rows.high - rows.best, pace_reach)
    return HoursLeft(low * speed.seconds_per_row / 3600, high * speed.seconds_per_row / 3600, best)
