"""
The reminder of a rest: when it is due by the time of knitting, when to look again, putting it off.

It is an offer: shown when it is due, said once with the next row and never inside one. Times are
seconds of the assistant's own clock; nothing here waits.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from engine.events import RowsWorked
from engine.forecast.breaks import (
    LATER_MINUTES,
    BreakSettings,
    break_due,
    due_at,
    knitting_since,
    resting_from,
)
from engine.forecast.pace import RowStamp, usual_row
from engine.replies import Say, reply

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.outcome import Outcome
    from engine.records import Record

_KEPT: Final = 500
"""So many of the last rows tell since when she has been knitting and how long a row takes."""
_USUAL_ROW_S: Final = 60.0


class Rests:
    """Follows the rows of one sitting, whatever pieces they are of; for one thread."""

    def __init__(self, settings: BreakSettings | None = None) -> None:
        """Begin a sitting."""
        self.settings = settings or BreakSettings()
        self.minutes: int | None = None
        """After so many minutes of knitting a rest is offered now; None: it is not."""
        self._stamps: list[RowStamp] = []
        self._put_off_s: float | None = None
        self._offered_s = 0.0
        self._unsaid = False

    def rows(self, written: Sequence[Record]) -> bool:
        """Take the rows among what was written; tell whether there were any."""
        done = [record for record in written if isinstance(record.event, RowsWorked)]
        for record in done:
            assert isinstance(record.event, RowsWorked)  # noqa: S101 (they were chosen by it)
            self._stamps.append(RowStamp(record.event.last, record.monotonic_ms / 1000))
        del self._stamps[:-_KEPT]
        return bool(done)

    def look(self, now_s: float) -> None:
        """Offer a rest if one is due; take the offer away if she has rested."""
        usual = self._usual_s()
        since = knitting_since(self._stamps, usual)
        if since is not None and since > self._offered_s:
            self._withdraw()
        due = break_due(self._stamps, now_s, self.settings, usual, self._put_off_s)
        if due is not None:
            self.minutes, self._unsaid = due.minutes, True
            self._offered_s = self._put_off_s = now_s

    def said_with(self, outcome: Outcome, now_s: float, *, asked: bool) -> Outcome:
        """Say with a row, once and between two rows, that a rest would be due; not if `asked`."""
        if not self.rows(outcome.written):
            return outcome
        self.look(now_s)
        minutes = self.word() if not asked else None
        if minutes is None:
            return outcome
        return replace(outcome, replies=(*outcome.replies, reply(Say.REST, minutes=minutes)))

    def word(self) -> int | None:
        """Return the minutes to be said now; None if there is nothing to say, or it was said."""
        if not self._unsaid:
            return None
        self._unsaid = False
        return self.minutes

    def put_off(self, now_s: float) -> None:
        """Offer the rest again some minutes later."""
        self._withdraw()
        self._put_off_s = now_s - (self.settings.every_minutes - LATER_MINUTES) * 60

    def change(self, settings: BreakSettings) -> None:
        """Remind as is wished from now on."""
        self.settings = settings
        if not settings.on:
            self._withdraw()

    def wait_s(self, now_s: float) -> float | None:
        """Return in how many seconds to look; None: not before something else happens."""
        usual = self._usual_s()
        due = due_at(self._stamps, self.settings, usual, self._put_off_s)
        resting = resting_from(self._stamps, usual)
        if due is None or resting is None or due > resting or now_s > resting:
            return None
        return max(0.0, due - now_s)

    def _usual_s(self) -> float:
        return usual_row(self._stamps) or _USUAL_ROW_S

    def _withdraw(self) -> None:
        self.minutes, self._unsaid = None, False
