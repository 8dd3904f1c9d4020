"""Everything that is shown and told of an order, as one value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.pieces.orders import Looked, days_left, ordered_traits, timing
from engine.batch.progress import drying, next_to_start, progress
from engine.stages import Trait

if TYPE_CHECKING:
    from engine.batch.order import OrderedPiece, OrderState
    from engine.batch.piece_traits import PieceTraits
    from engine.batch.progress import Drying, LineProgress
    from engine.batch.readiness import Readiness
    from engine.batch.wool import WoolNeed
    from engine.journal.journal import Journal


@dataclass(frozen=True, slots=True)
class OrderView:
    """An order at `now` (wall time): counts, what lies drying, yarn, hours, day, what is next."""

    state: OrderState
    now: str
    known: dict[int, PieceTraits]
    lines: tuple[LineProgress, ...]
    drying: tuple[Drying, ...]
    wool: tuple[WoolNeed, ...]
    ready: Readiness
    days_left: float | None
    next: OrderedPiece | None

    @property
    def knitted(self) -> int:
        """How many pieces are off the needles, spares among them."""
        return sum(one.knitted for one in self.lines)

    @property
    def packed(self) -> int:
        """How many are packed."""
        return sum(one.packed for one in self.lines)

    @property
    def spares(self) -> int:
        """How many more are knitted than were ordered."""
        return sum(one.line.spares for one in self.lines)


def order_view(
    journal: Journal, state: OrderState, now: str, looked: Looked | None = None
) -> OrderView:
    """
    Return what there is to say of an order; `looked` keeps what was found for the next time.

    Raises:
        JournalError: the journal cannot be read.

    """
    looked = looked or Looked()
    looked.anew(journal)
    known = ordered_traits(journal, state, looked)
    grams = {
        number: weight
        for number, one in known.items()
        if (weight := one.value(Trait.WEIGHT)) is not None
    }
    return OrderView(
        state,
        now,
        known,
        progress(state),
        drying(state, now),
        looked.wool(state, grams),
        looked.ready(state, timing(journal, state, known, now, looked), now),
        days_left(state, now),
        next_to_start(state),
    )
