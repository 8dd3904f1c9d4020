"""Telling "measure now", once, when the row comes at which she was told to measure again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.events import Measured
from engine.replies import Reply, Say, reply

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.records import Record


def reminded(
    at: int | None, done: tuple[int, int], written: Sequence[Record], replies: tuple[Reply, ...]
) -> tuple[tuple[Reply, ...], int | None]:
    """
    Return the answers, with the reminder if it is due, and the row at which the next one is.

    Args:
        at: the row at which she was told to measure again, None for none.
        done: the rows done before and after what was written.
        written: what was written just now.
        replies: the answers to it.

    """
    told = [one.value("row") for one in replies if one.say is Say.MEASURE_AGAIN]
    before, after = done
    if told:
        return replies, int(str(told[-1]))
    if any(isinstance(record.event, Measured) for record in written):
        return replies, None
    if at is not None and before < at <= after:
        return (*replies, reply(Say.MEASURE_NOW)), None
    return replies, at
