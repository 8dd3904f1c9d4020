"""What is to be worked in a row, as a value that can be printed, spoken and drawn."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from engine.pattern.needle import fixed
from engine.pattern.notation import (
    Along,
    Group,
    InStitch,
    Marker,
    MarkerMove,
    StopAt,
    StopWork,
    Work,
)
from engine.pattern.row_text import items_text
from engine.pattern.stitches import STITCHES, Kind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.pattern.notation import Item


_LONG = 8
"""Steps of a row that are said in one breath at most (common practice, no source)."""
_FEW = 5
"""Steps of a bit of a longer row, as many as are easily kept in mind."""


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
    stitches_only: bool = field(default=False, init=False, compare=False, repr=False)
    """
    Whether only stitches are worked, none bound off, picked up or laid aside, to the row's end.

    Nothing that is asked of other rows has to be asked of such a one; most rows are.
    """

    def __post_init__(self) -> None:
        """Look once, for every size in which the row is worked."""
        object.__setattr__(self, "stitches_only", _stitches_only(self.items))

    def __str__(self) -> str:
        """Write it in the usual abbreviations."""
        return self.text or items_text(self.items)

    @property
    def long(self) -> bool:
        """Whether it is too long to be kept in mind while it is worked."""
        return _size(self.items) > _LONG

    @property
    def bits(self) -> tuple[Instruction, ...]:
        """The row from marker to marker, and what is long from comma to comma: a few steps each."""
        bits: list[list[Item]] = [[]]
        for item in self.items:
            bits[-1].append(item)
            if isinstance(item, Marker) and item.move is not MarkerMove.PLACE:
                bits.append([])
        parts = [part for bit in bits if bit for part in _parts(tuple(bit))]
        if len(parts) <= 1:
            return (self,)
        return tuple(replace(self, items=part) for part in parts)

    def between(self, before: tuple[Item, ...], after: tuple[Item, ...]) -> Instruction:
        """Return the row with shaping at its beginning and end."""
        taken = fixed(after)
        left = taken[0] if taken is not None else 0
        middle = Along((self._one_stitch(),), StopWork(left=(left,)))
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


def _stitches_only(items: tuple[Item, ...]) -> bool:
    return all(
        isinstance(item, Work | InStitch)
        or (isinstance(item, Group) and _stitches_only(item.body))
        or (isinstance(item, Along) and item.stop.kind is StopAt.END and _stitches_only(item.body))
        for item in items
    )


def _size(items: Iterable[Item]) -> int:
    """Return how many steps the items name, those inside of a repeat once."""
    return sum(
        _size(item.body) if isinstance(item, Group | Along | InStitch) else 1 for item in items
    )


def _parts(items: tuple[Item, ...]) -> list[tuple[Item, ...]]:
    """Part what is too long into bits of a few steps, of about the same size."""
    whole = _size(items)
    if whole <= _LONG:
        return [items]
    most = -(-whole // -(-whole // _FEW))
    parts: list[list[Item]] = [[]]
    for item in items:
        if parts[-1] and _size(parts[-1]) + _size((item,)) > most:
            parts.append([])
        parts[-1].append(item)
    return [tuple(part) for part in parts]
