"""The demo's order for tests, looked at once for all of them: sixty pieces take a while to fold."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache

from app.pieces.orders import Looked
from app.session.demo_order import demo_order
from app.session.order_look import OrderLook, looks
from engine.journal.memory import MemoryJournal

NOW = "2026-02-01T12:00:00Z"


def demo_journal() -> MemoryJournal:
    """Return a journal with the demo's pieces and order."""
    pieces, book = demo_order(datetime.fromisoformat(NOW).astimezone(UTC))
    journal = MemoryJournal()
    journal.append(pieces)
    journal.append(book, brought=True)
    return journal


@cache
def demo_looks() -> tuple[OrderLook, ...]:
    """Return what is told of the demo's order, one after the other."""
    return tuple(looks(demo_journal(), NOW, Looked()))


def demo_look() -> OrderLook:
    """Return all that is known of the demo's order."""
    return demo_looks()[-1]
