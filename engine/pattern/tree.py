"""
The rows of a piece as a tree: rows, sequences, repeats, and stretches worked in a routine.

Nothing is expanded. Every node knows how many rows it has, which row is the i-th, and what its
first i rows do to the number of stitches, in a time that grows with the depth of the tree and
the logarithm of its width.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from typing import TYPE_CHECKING

from engine.limits import MOST_ROWS, spend
from engine.pattern.count_map import IDENTITY, CountMap

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern.headings import Side
    from engine.pattern.instruction import Instruction
    from engine.pattern.notation import Item


@dataclass(frozen=True, slots=True)
class RowSpec:
    """
    One row for one size.

    `fits` is the exact map of stitches on a needle without markers (None: it has to be worked to
    know). `effect` is what the row does to the count (None: nobody knows); `stated` the designer's
    count; `checked` whether the reader understands all of the row.
    """

    instruction: Instruction
    label: str
    line: int
    fits: CountMap | None = None
    effect: CountMap | None = None
    stated: int | None = None
    stated_change: int | None = None
    checked: bool = True
    side: Side | None = None
    note: str = ""

    @property
    def items(self) -> tuple[Item, ...]:
        """What is worked."""
        return self.instruction.items


@dataclass(frozen=True, slots=True)
class RowAt:
    """A row found in the tree, and in which repeats it stands, the outermost first."""

    spec: RowSpec
    instruction: Instruction
    repeats: tuple[RepeatAt, ...] = ()
    shaping: bool | None = None


@dataclass(frozen=True, slots=True)
class RepeatAt:
    """The `time`-th of `times` (None: until something else says stop), row `row` of `rows`."""

    time: int
    times: int | None
    row: int
    rows: int


class Leaf:
    """One written row."""

    rows: int = 1

    def __init__(self, spec: RowSpec) -> None:
        """Keep the row."""
        self.spec = spec

    @property
    def effect(self) -> CountMap | None:
        """What the row does to the count."""
        return self.spec.effect

    def at(self, _index: int, _side: Side, _row: int) -> RowAt:
        """Return the row."""
        return RowAt(self.spec, self.spec.instruction)

    def effect_of(self, first: int) -> CountMap | None:
        """Return what the first rows of the node do to the count."""
        return self.spec.effect if first else IDENTITY

    def through(self, _index: int) -> CountMap | None:
        """Return what the node does to the count up to the end of its only row."""
        return self.spec.effect


class Event:
    """
    What happens between two rows: stitches are laid aside, taken up, joined, markers placed.

    What is said in the words of a row itself ("k3, fasten off rem sts") is `within` that row: it
    belongs to the count after it.
    """

    rows: int = 0

    def __init__(self, spec: RowSpec, *, within: bool = False) -> None:
        """Keep what happens."""
        self.spec = spec
        self.within = within

    @property
    def effect(self) -> CountMap | None:
        """What it does to the count."""
        return self.spec.effect

    def at(self, _index: int, _side: Side, _row: int) -> RowAt:
        """No row is here."""
        raise IndexError("There is no row between two rows.")

    def effect_of(self, _first: int) -> CountMap | None:
        """Return what it does to the count."""
        return self.spec.effect

    def through(self, _index: int) -> CountMap | None:
        """No row is here."""
        raise IndexError("There is no row between two rows.")


def joined(first: CountMap | None, second: CountMap | None) -> CountMap | None:
    """Return the effect of rows after others; a count that is stated ends not knowing."""
    if second is None:
        return None
    if second.a == 0 and second.only is None and second.least == 0:
        return second
    return None if first is None else first.then(second)


class Sequence:
    """Nodes one after the other."""

    def __init__(self, children: list[Node]) -> None:
        """Keep the nodes."""
        spend(len(children))
        self.children = children
        self._ends = list(accumulate(child.rows for child in children))
        self.rows: int = self._ends[-1] if self._ends else 0

    @cached_property
    def _effects(self) -> list[CountMap | None]:
        effects: list[CountMap | None] = [IDENTITY]
        for child in self.children:
            effects.append(joined(effects[-1], child.effect))
        return effects

    @property
    def effect(self) -> CountMap | None:
        """What all the rows do to the count."""
        return self._effects[-1]

    def child_at(self, index: int) -> tuple[int, int]:
        """Return which child the row `index` (from 0) is in and where in it."""
        child = bisect_right(self._ends, index)
        return child, index - (self._ends[child - 1] if child else 0)

    def at(self, index: int, side: Side, row: int) -> RowAt:
        """Return row `index`, counted from 0."""
        child, inside = self.child_at(index)
        return self.children[child].at(inside, side, row)

    def effect_of(self, first: int) -> CountMap | None:
        """Return what the first rows (and what happens right after them) do to the count."""
        if first >= self.rows:
            return self.effect
        child, inside = self.child_at(first)
        return joined(self._effects[child], self.children[child].effect_of(inside))

    def through(self, index: int) -> CountMap | None:
        """Return what the rows up to the end of row `index` do to the count, and no more."""
        child, inside = self.child_at(index)
        effect = joined(self._effects[child], self.children[child].through(inside))
        if inside + 1 < self.children[child].rows:
            return effect
        return joined(effect, self.within(child + 1))

    def within(self, start: int = 0) -> CountMap | None:
        """Return what happens from child `start` on that belongs to the row before."""
        effect: CountMap | None = IDENTITY
        for child in self.children[start:]:
            if not isinstance(child, Event) or not child.within:
                break
            effect = joined(effect, child.effect)
        return effect


class Repeat:
    """A node several times; `said` is False for a range of rows that are worked alike."""

    def __init__(self, child: Node, times: int, *, said: bool = True, line: int = -1) -> None:
        """Keep the node and how often it is worked in all."""
        self.child = child
        self.times = times
        self.said = said
        self.line = line
        self.rows: int = child.rows * times
        self._powers: dict[int, CountMap | None] = {}

    @property
    def effect(self) -> CountMap | None:
        """What all the rows do to the count."""
        return self._power(self.times)

    def _power(self, times: int) -> CountMap | None:
        effect = self.child.effect
        if effect is None:
            return IDENTITY if times == 0 else None
        return effect.power(times)

    def at(self, index: int, side: Side, row: int) -> RowAt:
        """Return row `index`, counted from 0."""
        time, inside = divmod(index, self.child.rows)
        found = self.child.at(inside, side, row)
        if not self.said:
            return found
        here = RepeatAt(time + 1, self.times, inside + 1, self.child.rows)
        return RowAt(found.spec, found.instruction, (here, *found.repeats), found.shaping)

    def effect_of(self, first: int) -> CountMap | None:
        """Return what the first rows do to the count."""
        time, inside = divmod(first, self.child.rows) if self.child.rows else (self.times, 0)
        return joined(self._power(time), self.child.effect_of(inside) if inside else IDENTITY)

    def through(self, index: int) -> CountMap | None:
        """Return what the rows up to the end of row `index` do to the count, and no more."""
        time, inside = divmod(index, self.child.rows)
        return joined(self._power(time), self.child.through(inside))


@dataclass(frozen=True, slots=True)
class Progression:
    """
    A shaping that comes again and again: on row `first` (from 1), then every `every` rows.

    `spec` is the whole row if the designer wrote one; otherwise `change` stitches are worked at the
    places that `items` (before and after the rest of the row) say.
    """

    first: int
    every: int
    times: int
    change: int
    before: tuple[Item, ...] = ()
    after: tuple[Item, ...] = ()
    spec: RowSpec | None = None
    label: str = ""

    @property
    def last(self) -> int:
        """The last row of the shaping, counted from 1; 0 if there is none."""
        return self.first + self.every * (self.times - 1) if self.times else 0

    def falls_on(self, row: int) -> bool:
        """Whether the shaping is worked on that row, counted from 1."""
        return self.first <= row <= self.last and (row - self.first) % self.every == 0

    def done_after(self, rows: int) -> int:
        """How often it has been worked after so many rows."""
        if rows < self.first or not self.times:
            return 0
        return min(self.times, (rows - self.first) // self.every + 1)

    def next_from(self, row: int) -> int | None:
        """Return the first row from `row` on (from 1) on which it is worked, or None."""
        if row <= self.first:
            return self.first if self.times else None
        found = self.first + -(-(row - self.first) // self.every) * self.every
        return found if found <= self.last else None


@dataclass(frozen=True)
class Routine:
    """
    A way of working that goes on by itself.

    `by_side`: the first row is worked on the right side, the second on the wrong side. Otherwise
    the rows follow each other from the first row of the stretch, beginning with number `offset`.
    """

    name: str
    specs: tuple[RowSpec, ...]
    by_side: bool = False
    offset: int = 0

    def spec_at(self, index: int, *, wrong_side: bool) -> RowSpec:
        """Return the row `index` (from 0) of a stretch worked so."""
        if self.by_side:
            return self.specs[-1 if wrong_side else 0]
        return self.specs[(index + self.offset) % len(self.specs)]

    @cached_property
    def _sequence(self) -> Sequence:
        turned = [*self.specs[self.offset :], *self.specs[: self.offset]]
        return Sequence([Leaf(spec) for spec in turned])

    @cached_property
    def unchanging(self) -> bool:
        """Whether no row of it changes the count."""
        return all(spec.effect is not None and _keeps(spec.effect) for spec in self.specs)

    def effect_of(self, rows: int) -> CountMap | None:
        """Return what so many rows do to the count."""
        if self.unchanging:
            return IDENTITY
        if self.by_side:
            return None
        whole, rest = divmod(rows, len(self.specs))
        effect = self._sequence.effect
        powered = effect.power(whole) if effect is not None else (IDENTITY if not whole else None)
        return joined(powered, self._sequence.effect_of(rest) if rest else IDENTITY)


def _keeps(effect: CountMap) -> bool:
    if effect.only is not None:
        return effect(effect.only) == effect.only
    return (effect.a, effect.b, effect.q) == (1, 0, 1)


class Stretch:
    """
    Rows in a routine, with shapings on some of them; `rows` None while its end is open.

    `times` says how the routine is counted aloud: how often its rows come (None: not at all).
    """

    def __init__(
        self,
        routine: Routine,
        rows: int,
        progressions: tuple[Progression, ...] = (),
        *,
        line: int,
        label: str,
        counted: bool = False,
    ) -> None:
        """Keep what it is made of."""
        self.routine = routine
        self.rows = rows
        self.progressions = progressions
        self.line = line
        self.label = label
        self.counted = counted

    @property
    def effect(self) -> CountMap | None:
        """What all the rows do to the count."""
        return self.effect_of(self.rows)

    def at(self, index: int, side: Side, _row: int) -> RowAt:
        """Return row `index`, counted from 0."""
        base = self.routine.spec_at(index, wrong_side=str(side) == "wrong")
        on_it = [shaping for shaping in self.progressions if shaping.falls_on(index + 1)]
        repeats: tuple[RepeatAt, ...] = ()
        if self.counted and not self.routine.by_side:
            period = len(self.routine.specs)
            time, inside = divmod(index + self.routine.offset, period)
            whole = self.rows // period if self.rows < MOST_ROWS else None
            repeats = (RepeatAt(time + 1, whole, inside + 1, period),)
        if not on_it:
            return RowAt(base, base.instruction, repeats)
        for shaping in on_it:
            if shaping.spec is not None:
                return RowAt(shaping.spec, shaping.spec.instruction, repeats, shaping=True)
        return RowAt(base, shaped(base.instruction, on_it), repeats, shaping=True)

    def effect_of(self, first: int) -> CountMap | None:
        """Return what the first rows do to the count."""
        effect = self.routine.effect_of(first) if not self.progressions else IDENTITY
        spend(len(self.progressions))
        for shaping in self.progressions:
            done = shaping.done_after(first)
            if not done:
                continue
            if shaping.spec is None:
                change = shaping.change * done
                effect = joined(effect, CountMap(b=change, least=max(0, -change)))
            else:
                each = shaping.spec.effect
                effect = joined(effect, each.power(done) if each is not None else None)
        return effect

    def through(self, index: int) -> CountMap | None:
        """Return what the rows up to the end of row `index` do to the count."""
        return self.effect_of(index + 1)

    def next_shaping(self, index: int) -> int | None:
        """Return the first row from `index` on (from 0) that is shaped, or None."""
        found = [shaping.next_from(index + 1) for shaping in self.progressions]
        rows = [row - 1 for row in found if row is not None]
        return min(rows) if rows else None


Node = Leaf | Event | Sequence | Repeat | Stretch


def shaped(base: Instruction, shapings: list[Progression]) -> Instruction:
    """Return the instruction of a row of the routine with the shapings that fall on it."""
    before = tuple(item for shaping in shapings for item in shaping.before)
    after = tuple(item for shaping in reversed(shapings) for item in shaping.after)
    return base.between(before, after)


def leaves(node: Node) -> Iterator[Leaf | Event | Stretch]:
    """Yield the leaves of a tree once each, in order."""
    spend()
    match node:
        case Sequence():
            for child in node.children:
                yield from leaves(child)
        case Repeat():
            yield from leaves(node.child)
        case _:
            yield node
