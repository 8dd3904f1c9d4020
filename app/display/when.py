"""When something was, as one says it: "yesterday evening", "on Tuesday", "three weeks ago"."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording

_DAY_BEGINS: Final = timedelta(hours=5)
"""Who knits past midnight still calls it tonight."""
_PARTS: Final = ((5, "morning"), (12, "afternoon"), (17, "evening"), (22, "night"))
"""From which hour on a part of the day is called so."""
_WEEK: Final = 7
_MONTH: Final = 31


def when_words(wall: str, now: datetime, words: ScreenWording) -> str:
    """Return when a wall time (ISO 8601) was, seen from `now`, which says the zone; "" for none."""
    try:
        then = datetime.fromisoformat(wall).astimezone(now.tzinfo)
    except ValueError:
        return ""
    day, today = (then - _DAY_BEGINS).date(), (now - _DAY_BEGINS).date()
    ago = (today - day).days
    hour = (then - _DAY_BEGINS).hour + 5
    part = [name for begins, name in _PARTS if hour >= begins][-1]
    if ago <= 0:
        return words("when", f"today_{part}")
    if ago == 1:
        return words("when", f"yesterday_{part}")
    if ago < _WEEK:
        return words("when", "day", day=words("when", f"day_{then.isoweekday()}"))
    if ago < _MONTH:
        return words("when", "weeks", weeks=max(ago // _WEEK, 1))
    month = words("when", f"month_{then.month}")
    if then.year == now.year:
        return words("when", "month", month=month)
    return words("when", "year", month=month, year=then.year)
