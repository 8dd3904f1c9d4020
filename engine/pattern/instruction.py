"""What is to be worked in a row, as a value that can be printed, spoken and drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from engine.pattern.needle import fixed
from engine.pattern.notation import Along, Marker, MarkerMove, Stop, Work
from engine.pattern.row_text import items_text
from engine.pattern.stitches import STITCHES, Kind

if TYPE_CHECKING:
    from engine.pattern.notation import Item


@dataclass(frozen=True, slots=True)
class Instruction:
    """
    The items of a row for one size, or of a bit of it.

    `routine` names the stitch pattern of a row that is worked in one ("stockinette", "as set").
    `text` is the designer's own text where the reader does not understand the row.
    """

    items: tuple[Item, ...] = ()
    routine: str = ""
    text: str = ""

    def __str__(self) -> str:
        """Write it in the usual abbreviations."""
        return self.text or items_text(self.items)

    @property
    def bits(self) -> tuple[Instruction, ...]:
        """The row from marker to marker; one bit where no marker is named."""
        bits: list[list[Item]] = [[]]
        for item in self.items:
            bits[-1].append(item)
            if isinstance(item, Marker) and item.move is not MarkerMove.PLACE:
                bits.append([])
        full = [bit for bit in bits if bit]
        if len(full) <= 1:
            return (self,)
        return tuple(replace(self, items=tuple(bit)) for bit in full)

    def between(self, before: tuple[Item, ...], after: tuple[Item, ...]) -> Instruction:
        """Return the row with shaping at its beginning and end."""
        taken = fixed(after)
        left = taken[0] if taken is not None else 0
        middle = Along((self._one_stitch(),), Stop(left=(left,)))
        return replace(self, items=(*before, middle, *after))

    def _one_stitch(self) -> Work:
        """Return the stitch that the row is made of, or "work as set" if they are several."""
        if len(self.items) == 1 and isinstance(self.items[0], Along):
            body = self.items[0].body
            first = body[0]
            plain = {Kind.KNIT, Kind.PURL, Kind.AS_SET}
            if (
                len(body) == 1
                and isinstance(first, Work)
                and first.amount == (1,)
                and first.stitch.kind in plain
            ):
                return first
        return Work(STITCHES["work"])
