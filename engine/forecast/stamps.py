"""The times of rows, read from the journal's records: what pace and reminders are told from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.events import RowsWorked
from engine.forecast.pace import RowStamp

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.records import Record


def row_stamps(records: Iterable[Record]) -> tuple[RowStamp, ...]:
    """Return when rows were done, in the order of the records.

    Times are of the monotonic clock of each record's writer and comparable only within one. Hand
    over the live records of one piece; what was undone is not knitting.
    """
    return tuple(
        RowStamp(record.event.last, record.monotonic_ms / 1000, record.writer, record.event.first)
        for record in records
        if isinstance(record.event, RowsWorked)
    )
