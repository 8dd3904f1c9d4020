"""Rows by number: which rows a block of numbered headings means, in the order of working."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from engine.pattern.headings import Side, Which

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared
    from engine.pattern.tree import RowSpec

Numbered = tuple[int, "RowSpec", "Prepared"]


@dataclass(frozen=True, slots=True)
class Block:
    """The rows that were last written with numbers, and at which node they began."""

    specs: dict[int, RowSpec] = field(default_factory=dict)
    start: int = 0

    @staticmethod
    def order(
        specs: dict[int, tuple[RowSpec, Prepared]],
        fillers: list[tuple[Which, RowSpec, Prepared, int]],
    ) -> list[Numbered]:
        """
        Return the rows in the order of their numbers.

        A filler ("and all WS rows") takes the numbers that nothing else has, up to the last
        number, and the one after it where the filler's row would follow there.
        """
        if not specs:
            return []
        first, last = min(specs), max(specs)
        end = last
        for which, spec, _, start in fillers:
            if _means(which, last + 1, start, specs, spec):
                end = last + 1
        order: list[Numbered] = []
        for number in range(first, end + 1):
            if number in specs:
                order.append((number, *specs[number]))
                continue
            for which, spec, prepared, start in fillers:
                if _means(which, number, start, specs, spec):
                    order.append((number, spec, prepared))
                    break
        return order


def _means(
    which: Which,
    number: int,
    start: int,
    specs: dict[int, tuple[RowSpec, Prepared]],
    filler: RowSpec,
) -> bool:
    match which:
        case Which.EVEN:
            return number % 2 == 0
        case Which.ODD:
            return number % 2 == 1
        case Which.ALL | Which.OTHER:
            return number <= max(specs)
        case Which.ALTERNATE:
            return number > start and (number - start) % 2 == 0
        case Which.RIGHT | Which.WRONG:
            wanted = Side.RIGHT if which is Which.RIGHT else Side.WRONG
            if start:
                return (number - start) % 2 == 0
            for known, (spec, _) in specs.items():
                if spec.side is not None and spec is not filler:
                    return ((number - known) % 2 == 0) == (spec.side is wanted)
            return (number % 2 == 1) == (wanted is Side.RIGHT)
