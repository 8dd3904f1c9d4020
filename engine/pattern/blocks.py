"""Rows by number: which rows a block of numbered headings means, in the order of working."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from engine.limits import spend
from engine.pattern.headings import Side, Which
from engine.pattern.problems import PatternError, Problem

if TYPE_CHECKING:
    from engine.pattern.headings import Heading
    from engine.pattern.lines import Prepared
    from engine.pattern.phrases import RepeatRows
    from engine.pattern.tree import RowSpec

Numbered = tuple[int, "RowSpec", "Prepared"]


@dataclass(frozen=True, slots=True)
class Block:
    """The rows that were last written with numbers, and at which node they began."""

    specs: dict[int, RowSpec] = field(default_factory=dict)
    start: int = 0
    marked: tuple[tuple[int, str, RowSpec], ...] = ()
    """All rows in order, with number and mark, where a number has several rows."""
    earlier: dict[int, RowSpec] = field(default_factory=dict)
    """Rows of the blocks before, as far as this one's numbers go on from theirs."""

    def before(self, first: int | None) -> dict[int, RowSpec]:
        """Return the rows by number, if a block that begins with this number goes on from them."""
        known = {**self.earlier, **self.specs}
        return known if first is None or max(known, default=0) < first else {}

    @property
    def rows(self) -> tuple[RowSpec, ...]:
        """All rows of the block, in the order of working."""
        if self.marked:
            return tuple(spec for _, _, spec in self.marked)
        return tuple(self.specs[number] for number in sorted(self.specs))

    def meant(self, said: RepeatRows) -> tuple[RowSpec, ...]:
        """Return the rows of these numbers; raises PatternError if one is not there."""
        if self.marked:
            return self._marked(said)
        known = self.before(None)
        for index, number in enumerate(said.numbers):
            if number not in known or (said.marks and number in said.numbers[:index]):
                raise _no_row(number, said.marks[index] if said.marks else "", said)
        return tuple(known[number] for number in said.numbers)

    def _marked(self, said: RepeatRows) -> tuple[RowSpec, ...]:
        """Return all rows of a number, unless a mark says which of them."""
        places: list[int] = []
        for index, number in enumerate(said.numbers):
            mark = said.marks[index] if said.marks else ""
            found = [
                place
                for place, (own, own_mark, _) in enumerate(self.marked)
                if own == number and mark in {"", own_mark}
            ]
            if not found:
                raise _no_row(number, mark, said)
            places.extend(found)
        if said.is_range and said.marks:
            places = list(range(places[0], places[-1] + 1))
        return tuple(self.marked[place][2] for place in places)

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
        for which, spec, prepared, start in fillers:
            if _means(which, last + 1, start, specs, spec) and _reaches(prepared, last + 1):
                end = last + 1
        order: list[Numbered] = []
        spend(end + 1 - first)
        for number in range(first, end + 1):
            if number in specs:
                order.append((number, *specs[number]))
                continue
            for which, spec, prepared, start in fillers:
                if _means(which, number, start, specs, spec) and _reaches(prepared, number):
                    order.append((number, spec, prepared))
                    break
        return order


def same_number(before: Heading, after: Heading) -> bool:
    """Whether two headings are rows of one number, told apart by colour or letter."""
    return (
        len(after.numbers) == 1
        and before.numbers == after.numbers
        and bool(before.mark and after.mark)
        and before.mark != after.mark
    )


def _no_row(number: int, mark: str, said: RepeatRows) -> PatternError:
    name = f"{number} {mark.upper()}".strip()
    return PatternError(Problem(f"There is no row {name} to repeat here.", 1, said.at + 1))


def _reaches(filler: Prepared, number: int) -> bool:
    """Whether a filler goes so far: "row 2 and all even rows to 10" ends at row 10."""
    heading = filler.line.heading
    return heading is None or heading.also_to is None or number <= heading.also_to


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
