"""Time, as the assistant needs it: a wall clock for display and a monotonic one for pace."""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """Two readings of time; they are never mixed."""

    def wall(self) -> str:
        """Return the date and time, ISO 8601 in UTC to the second; for display only."""

    def monotonic_ms(self) -> int:
        """Return milliseconds since an unknown start, never running backwards."""


class SystemClock:
    """The clocks of the device."""

    def wall(self) -> str:
        """Return the date and time now."""
        return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    def monotonic_ms(self) -> int:
        """Return the device's monotonic milliseconds."""
        return int(time.monotonic() * 1000)


@dataclass
class SetClock:
    """A clock that is set by hand: the fake, also used to replay at another pace."""

    date: str = "2026-01-01T12:00:00Z"
    ms: int = 0

    def wall(self) -> str:
        """Return the date that was set."""
        return self.date

    def monotonic_ms(self) -> int:
        """Return the milliseconds that were set."""
        return self.ms
