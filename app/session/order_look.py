"""
The order and its pieces as a screen shows them, looked at on a thread of their own.

Folding sixty pieces and simulating what is to come takes seconds: rows are counted meanwhile. What
is known is told step by step: the stages first, then the pieces, then hours, day and yarn.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.pieces.alike_pieces import batches
from app.pieces.order_view import order_view
from app.pieces.orders import Looked, orders
from app.pieces.pattern_cache import course_of
from app.wall import sentence_of
from engine.batch.progress import drying, next_to_start, progress
from engine.commands import Undo
from engine.journal.errors import JournalError
from engine.talk import OfOrder, Screen, Yes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from contextlib import AbstractContextManager

    from app.pieces.order_view import OrderView
    from app.session.clock import Clock
    from engine.batch.alike import Batch
    from engine.batch.order import OrderedPiece, OrderState
    from engine.batch.progress import Drying, LineProgress
    from engine.commands import Command
    from engine.journal.journal import Journal
    from engine.pattern import Course
    from engine.state import PieceState
    from engine.talk import Talk


@dataclass(frozen=True, slots=True)
class OrderLook:
    """
    What is known of the order taken last by now; `state` None: there is none.

    `batches` are its pieces beside their references, without an order those like the piece worked
    on last; None: not compared yet. `view` has yarn, hours and day; None: not worked out yet.
    `pieces` are state and course of each piece of the journal that a number of it is tied to.
    `trouble` is a sentence about what could not be read.
    """

    state: OrderState | None = None
    lines: tuple[LineProgress, ...] = ()
    drying: tuple[Drying, ...] = ()
    next: OrderedPiece | None = None
    batches: tuple[Batch, ...] | None = None
    view: OrderView | None = None
    pieces: tuple[tuple[str, tuple[PieceState, Course]], ...] = ()
    trouble: str = ""


def looks(journal: Journal, now: str, looked: Looked) -> Iterator[OrderLook]:
    """Give what is known of the order taken last, more each time; JournalError if unreadable."""
    state = next(iter(orders(journal)), None)
    looked.anew(journal)
    if state is None:
        alike = any(one.name for one in journal.pieces())
        yield OrderLook(batches=batches(journal, None, None, looked) if alike else ())
        return
    look = OrderLook(state, progress(state), drying(state, now), next_to_start(state))
    yield look
    found = batches(journal, None, None, looked)
    tied = {one.piece for _, one in state.told if one.piece}
    states = ((piece, looked.at(journal, piece)[1]) for piece in sorted(tied))
    pieces = tuple((piece, (one, course_of(one))) for piece, one in states)
    look = replace(look, batches=found, pieces=pieces)
    yield look
    yield replace(look, view=order_view(journal, state, now, looked))


class OrderLooking:
    """Looks at the order when it is asked to, one time after the other, and tells what it finds."""

    def __init__(
        self,
        opened: Callable[[], AbstractContextManager[Journal]],
        clock: Clock,
        tell: Callable[[OrderLook], None],
    ) -> None:
        """
        Do nothing yet.

        Args:
            opened: opens the journal to read it only; called on the thread that looks.
            clock: tells the wall time.
            tell: gets what was found, on the thread that looks; must not wait.

        """
        self._opened, self._clock, self._tell = opened, clock, tell
        self._looked = Looked()
        self._lock = threading.Lock()
        self._shown = False
        self._wanted = False
        self._thread: threading.Thread | None = None

    def look(self) -> None:
        """Look at the order now, or once more when what goes on is done."""
        with self._lock:
            self._wanted = True
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="order", daemon=True)
                self._thread.start()

    def follow(self, said: Sequence[Command | Talk], screen: Screen | None) -> None:
        """Look where the order's screen is led to, and again where something was said of it."""
        if screen is Screen.ORDER:
            self._shown = True
            self.look()
        elif isinstance(said[0], OfOrder | Undo | Yes):
            self.look_again()

    def look_again(self) -> None:
        """Look once more, if its screen was ever asked for."""
        if self._shown:
            self.look()

    def _run(self) -> None:
        while True:
            with self._lock:
                if not self._wanted:
                    self._thread = None
                    return
                self._wanted = False
            self._look()

    def _look(self) -> None:
        try:
            with self._opened() as journal:
                for one in looks(journal, self._clock.wall(), self._looked):
                    self._tell(one)
                    if self._wanted:
                        return  # it has changed meanwhile: what is worked out would be old
        except JournalError as error:
            self._tell(OrderLook(trouble=str(error)))
        except Exception as error:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            self._tell(OrderLook(trouble=sentence_of(error, "The order cannot be looked at")))
