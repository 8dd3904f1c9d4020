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

    from engine.foresee.pace import RowStamp

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


def break_due(
    stamps: Sequence[RowStamp],
    now_seconds: float,
    settings: BreakSettings,
    usual_row_seconds: float = 60.0,
    put_off_at_seconds: float | None = None,
) -> BreakDue | None:
    """Return the reminder if one is due now, else None.

    `stamps` are the rows of the writer that runs now, `now_seconds` its monotonic clock. A gap
    that is longer than the usual row by a minute was a rest. `put_off_at_seconds` is when the last
    reminder was given or put off: the next one comes a whole interval later.
    """
    if not settings.on or not stamps:
        return None
    since = stamps[0].seconds - usual_row_seconds
    for before, after in pairwise(stamps):
        usual = usual_row_seconds * max(1, after.row - before.row)
        if after.seconds - before.seconds > usual + _REST_SECONDS:
            since = after.seconds - usual
    if now_seconds - stamps[-1].seconds > usual_row_seconds + _REST_SECONDS:
        return None
    knitted = now_seconds - since
    waited = now_seconds - (since if put_off_at_seconds is None else max(since, put_off_at_seconds))
    if waited < settings.every_minutes * 60:
        return None
    return BreakDue(int(knitted // 60))
