"""When a short rest is worth a word: by time of knitting, as the knitter sets it.

What is published on rest breaks is about office work, none of it about knitting
(`shared/tables/breaks.toml`). The reminder is an offer: it can be put off and switched off.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.forecast.pace import RowStamp

SHORTEST_MINUTES: Final = 10
LONGEST_MINUTES: Final = 60
LATER_MINUTES: Final = 10
"""So much later comes a reminder that was put off."""
_REST_SECONDS: Final = 60.0
"""A pause of this length is a rest (published advice goes from half a minute to ten)."""


@dataclass(frozen=True, slots=True)
class BreakSettings:
    """Whether to remind, and after how many minutes of knitting (10 to 60, usually 30)."""

    on: bool = True
    every_minutes: int = 30

    def __post_init__(self) -> None:
        """Refuse minutes outside the range that is offered."""
        if not SHORTEST_MINUTES <= self.every_minutes <= LONGEST_MINUTES:
            raise ValueError("A reminder can be set from 10 to 60 minutes.")


@dataclass(frozen=True, slots=True)
class BreakDue:
    """So many minutes have been knitted without a rest."""

    minutes: int


def knitting_since(stamps: Sequence[RowStamp], usual_row_seconds: float = 60.0) -> float | None:
    """
    Return since when she has been knitting without a rest; None before the first row.

    A gap that is longer than the usual row by a minute was a rest.
    """
    if not stamps:
        return None
    since = stamps[0].seconds - usual_row_seconds
    for before, after in pairwise(stamps):
        usual = usual_row_seconds * max(1, after.row - before.row)
        if after.seconds - before.seconds > usual + _REST_SECONDS:
            since = after.seconds - usual
    return since


def due_at(
    stamps: Sequence[RowStamp],
    settings: BreakSettings,
    usual_row_seconds: float = 60.0,
    put_off_at_seconds: float | None = None,
) -> float | None:
    """Return when a reminder comes if she knits on; None if none is to come.

    `put_off_at_seconds` is when the last reminder was given or put off: the next one comes a whole
    interval later.
    """
    since = knitting_since(stamps, usual_row_seconds)
    if since is None or not settings.on:
        return None
    start = since if put_off_at_seconds is None else max(since, put_off_at_seconds)
    return start + settings.every_minutes * 60


def resting_from(stamps: Sequence[RowStamp], usual_row_seconds: float = 60.0) -> float | None:
    """Return from when on she rests if no row comes; None before the first row."""
    return stamps[-1].seconds + usual_row_seconds + _REST_SECONDS if stamps else None


def break_due(
    stamps: Sequence[RowStamp],
    now_seconds: float,
    settings: BreakSettings,
    usual_row_seconds: float = 60.0,
    put_off_at_seconds: float | None = None,
) -> BreakDue | None:
    """Return the reminder if one is due now, else None.

    `stamps` are the rows of the writer that runs now, `now_seconds` its monotonic clock. Who rests
    already is not reminded.
    """
    since = knitting_since(stamps, usual_row_seconds)
    due = due_at(stamps, settings, usual_row_seconds, put_off_at_seconds)
    resting = resting_from(stamps, usual_row_seconds)
    if since is None or due is None or resting is None or now_seconds > resting:
        return None
    return BreakDue(int((now_seconds - since) // 60)) if now_seconds >= due else None
