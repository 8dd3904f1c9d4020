"""Lines that are rows: single ones, numbered blocks, and what happens between two rows."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.blocks import Block, same_number
from engine.pattern.count_map import CountMap
from engine.pattern.grafting import grafting_words, grafts, left_to_graft, stated_to_graft
from engine.pattern.headings import HeadingKind, Side, Which
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind
from engine.pattern.needle import Misfit, Needle, count_map, yarn_alone
from engine.pattern.notation import (
    ELSEWHERE,
    CastOn,
    Hold,
    Item,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    TakeUp,
    amount_for,
    items_for,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.tree import (
    Event,
    Leaf,
    Node,
    Repeat,
    RowSpec,
)

if TYPE_CHECKING:
    from engine.pattern.headings import Heading
    from engine.pattern.lines import Prepared


import itertools

from engine.pattern.row_effects import net_effect, work_between
from engine.pattern.row_specs import RowSpecs


class RowLines(RowSpecs):
    """Goes through the lines that are rows."""

    def _row_line(self, prepared: Prepared) -> None:
        heading = prepared.line.heading
        spec = self._spec(prepared)
        if spec is None:
            return
        spec = self._cast_on_once(spec)
        if isinstance(called := prepared.cache.get("called"), str):
            self.named[called] = spec  # described only; the words after it say when it is worked
            return
        times = 1
        if heading is not None and heading.kind is HeadingKind.NEXT:
            times = amount_for(heading.count, self.size)[0] or 0
            if times == 0:
                return
        if heading is not None and heading.kind is HeadingKind.NAMED:
            self.named[heading.name] = spec
        if (
            heading is None
            and spec.instruction.items
            and all(isinstance(item, JoinRound | Remark) for item in spec.instruction.items)
        ):
            self._event(prepared)
            return
        self._emit_rows(spec, times, prepared)
        self._join_if_said(spec)

    def _emit_rows(self, spec: RowSpec, times: int, prepared: Prepared) -> None:
        self._flat_or_round(prepared)
        if self._row_and_grafting(spec, prepared):
            return
        self._cast_on_first(spec.items)
        self._side_of_heading(spec.side)
        if spec.side is None:
            self._side_said(_side_taken_up(spec.items, prepared.line.text))
        self._turned_after((spec,))
        spec = self._with_notes(spec)
        node: Node = Leaf(spec) if times == 1 else Repeat(Leaf(spec), times, said=False)
        spec = self._work_spec(spec, times, prepared)
        node = Leaf(spec) if times == 1 else Repeat(Leaf(spec), times, said=False)
        self._emit(node)
        self._note_routine(spec)
        self._count(prepared)

    def _row_and_grafting(self, spec: RowSpec, prepared: Prepared) -> bool:
        """Like "k36, fold in half and graft the two sets of 36 sts": none is live afterwards."""
        words, needle = grafting_words(spec.items), self.needle
        left = left_to_graft(needle, spec.items) if words and needle is not None else None
        if needle is None or left is None:
            return False
        said = stated_to_graft(words, self.size)
        if said is not None and said != left:
            self._stated_differs(left, said, spec.label, prepared)
        self._side_said(spec.side)
        self._advance(1)
        self.needle = needle.with_total(0)
        grafted = replace(self._with_notes(spec), fits=None, effect=CountMap(0, 0))
        self._emit(Leaf(grafted))
        self._count(prepared)
        return True

    def _numbered_block(self, block: list[Prepared]) -> None:
        """Rows by number: put in order, with "and all WS rows" filled in, then worked."""
        headings = [prepared.line.heading for prepared in block]
        if any(a and b and same_number(a, b) for a, b in itertools.pairwise(headings)):
            self._marked_block(block)
            return
        specs: dict[int, tuple[RowSpec, Prepared]] = {}
        last_of: dict[int, list[Prepared]] = {}
        fillers: list[tuple[Which, RowSpec, Prepared, int]] = []
        for prepared in block:
            heading = prepared.line.heading
            if heading is None:
                continue
            try:
                known = specs
                if fillers and prepared.kind is LineKind.REPEAT:
                    # "Row 8 and every alt row to row 14" stands there already
                    last = max(specs, default=0)
                    known = {n: (s, p) for n, s, p in Block.order(specs, fillers) if n <= last + 1}
                many = self._specs_for_heading(prepared, known)
            except PatternError as error:
                self._problem(error.problem, prepared)
                continue
            if not many:
                continue
            for position, number in enumerate(heading.numbers):
                specs[number] = (many[position % len(many)], prepared)
            if heading.also is not None:
                start = heading.numbers[0] if heading.numbers else 0
                fillers.append((heading.also, many[0], prepared, start))
            if heading.numbers:
                last_of.setdefault(max(heading.numbers), []).append(prepared)
        if not specs and fillers:
            _which, spec, prepared, _ = fillers[0]
            self._emit_rows(spec, 1, prepared)
            return
        order = Block.order(
            specs, [(which, spec, prepared, start) for which, spec, prepared, start in fillers]
        )
        self._warn_of_gaps(order, block)
        self._emit_block(order, last_of)

    def _marked_block(self, block: list[Prepared]) -> None:
        """Rows of which several have one number ("Rnd 1 MC", "Rnd 1 CC"), as they are written."""
        rows: list[tuple[int, str, RowSpec]] = []
        start = len(self.nodes)
        for prepared in block:
            heading = prepared.line.heading
            if heading is None:
                continue
            try:
                spec = self._marked_spec(prepared, heading, Block({}, start, tuple(rows)))
            except PatternError as error:
                self._problem(error.problem, prepared)
                continue
            if spec is None:
                continue
            rows.append((heading.numbers[0], heading.mark, spec))
            self._emit_rows(spec, 1, prepared)
        self.block = Block({number: spec for number, _, spec in rows}, start, tuple(rows))

    def _marked_spec(self, prepared: Prepared, heading: Heading, before: Block) -> RowSpec | None:
        said = prepared.first(ph.RepeatRows)
        if heading.also is not None or len(heading.numbers) != 1:
            sentence = "Write each of these rows as a line of its own."
            raise PatternError(Problem(sentence, 1, heading.at + 1))
        if not isinstance(said, ph.RepeatRows) or not said.numbers:
            return self._spec(prepared)
        same = replace(said, marks=said.marks or (heading.mark,) * len(said.numbers))
        meant = before.meant(same)
        if len(meant) != 1:
            raise PatternError(Problem("One row cannot be several rows.", 1, said.at + 1))
        return replace(meant[0], label=prepared.label, line=prepared.source.line, stated=None)

    def _emit_block(
        self,
        order: list[tuple[int, RowSpec, Prepared]],
        last_of: dict[int, list[Prepared]],
    ) -> None:
        index = 0
        earlier = self.block.before(order[0][0]) if order else {}
        specs = {number: spec for number, spec, _ in order}
        self.block = Block(specs, len(self.nodes), earlier=earlier)
        while index < len(order):
            number, spec, prepared = order[index]
            end = index + 1
            # A range of rows worked alike is one node, however long it is.
            while end < len(order) and order[end][1] is spec and order[end - 1][0] not in last_of:
                end += 1
            times = end - index
            self._flat_or_round(prepared)
            self._side_of_heading(spec.side)
            self._turned_after((spec,))
            noted = self._with_notes(spec)
            worked = self._work_spec(noted, times, prepared, first_number=number)
            self._emit(Leaf(worked) if times == 1 else Repeat(Leaf(worked), times, said=False))
            self._note_routine(worked)
            for done in last_of.get(order[end - 1][0], []):
                self._count(done)
                if done.kind in {LineKind.REPEAT, LineKind.STRETCH}:
                    self._check_stated(done.stated, done)
            index = end

    def _warn_of_gaps(
        self, order: list[tuple[int, RowSpec, Prepared]], block: list[Prepared]
    ) -> None:
        numbers = [number for number, _, _ in order]
        for before, after in itertools.pairwise(numbers):
            gap = after - before - 1
            if gap:
                missing = (
                    f"Row {before + 1} is" if gap == 1 else f"Rows {before + 1} to {after - 1} are"
                )
                owner = next(
                    (prepared for number, _, prepared in order if number == after), block[0]
                )
                self._warning(f"{missing} not written.", owner)
                return

    def _event(self, prepared: Prepared) -> None:
        """Stitches are laid aside, taken up or joined between two rows."""
        if prepared.row is None:
            return
        items = self._without_yarn(items_for(prepared.row.items, self.size))
        self.two_sides = self.two_sides and not any(
            isinstance(item, Hold | TakeUp | JoinRound) for item in items
        )
        self._cast_on_first(items)
        if self._said_already(items, prepared):
            return
        note = str(Instruction(items))
        before = self.needle
        if before is not None:
            after = work_between(before, items)
            if isinstance(after, Misfit):
                spec = RowSpec(Instruction(items), prepared.label, prepared.source.line)
                self._misfit(after, spec, prepared, None, 0)
            else:
                self.needle = after
        effect = CountMap(0, self.needle.total) if self.needle is not None else None
        spec = RowSpec(Instruction(items), prepared.label, prepared.source.line, None, effect)
        self._emit(Event(spec))
        self._join_if_said(spec)
        facing = prepared.first(ph.SideFacing)
        if isinstance(facing, ph.SideFacing):
            self._side_said(facing.side)
        elif any(isinstance(item, TakeUp) for item in items):
            self._side_said(Side.RIGHT)
        self.pending_notes.append(note)
        self._check_stated(prepared.stated, prepared)
        if self.needle is not None and (before is None or before.total != self.needle.total):
            self._count(prepared)

    def _without_yarn(self, items: tuple[Item, ...]) -> tuple[Item, ...]:
        """Return the items with "rejoin yarn at left edge" as words where no stitches wait."""
        needle = self.needle
        return tuple(
            Remark(item.yarn, item.at)
            if isinstance(item, TakeUp) and needle is not None and yarn_alone(needle, item)
            else item
            for item in items
        )

    def _said_already(self, items: tuple[Item, ...], prepared: Prepared) -> bool:
        """Whether the first line says again how many stitches are cast on."""
        said = [item for item in items if isinstance(item, CastOn)]
        if self.rows or self.counts or self.nodes or self.cast_on is None or len(said) != 1:
            return False
        number = said[0].amount[0] or 0
        if number != self.cast_on:
            self._add_problem(
                f"{number} stitches are cast on here, cast_on says {self.cast_on}.",
                prepared, prepared.label, number - self.cast_on,
            )  # fmt: skip
        self._join_if_said(RowSpec(Instruction(items), prepared.label, prepared.source.line))
        self.pending_notes.append(str(Instruction(items)))
        return True

    def _cast_on_once(self, spec: RowSpec) -> RowSpec:
        """Like "cast on 40 sts, k to end", said first: the stitches of `cast_on` again."""
        first = next((item for item in spec.items if not isinstance(item, Remark)), None)
        begun = self.rows or self.counts or self.nodes or self.cast_on is None
        if begun or not isinstance(first, CastOn) or first.amount != (self.cast_on,):
            return spec
        items = tuple(item for item in spec.items if item is not first)
        instruction, fits = replace(spec.instruction, items=items), count_map(items)
        return replace(spec, instruction=instruction, fits=fits, effect=fits or net_effect(items))

    def _cast_on_first(self, items: tuple[Item, ...]) -> None:
        if (
            self.needle is None
            and not self.rows
            and not self.after_failure
            and self.cast_on is None
            and _begins(items)
        ):
            self.needle = Needle((0,), in_the_round=self.in_the_round)

    def _join_if_said(self, spec: RowSpec) -> None:
        if any(isinstance(item, JoinRound) for item in spec.items):
            self._join()

    def _remark(self, prepared: Prepared) -> None:
        at = prepared.cache.get("prose")
        if isinstance(at, int):
            self._warning("This is taken as words that change no stitch.", prepared, at)
        for phrase in prepared.phrases:
            if isinstance(phrase, Remark):
                self.pending_notes.append(phrase.text)
        words = prepared.line.text.casefold()
        if self.needle is not None and grafts(words):
            # Stitches that are grafted are live no more.
            there, said = self.needle.total, stated_to_graft(words, self.size)
            waiting = sum(count for _, count in self.needle.held)
            if said is not None and said not in {there, 2 * there, there + waiting}:
                self._stated_differs(there, said, prepared.label, prepared)
            self.needle = self.needle.with_total(0)
            spec = RowSpec(
                Instruction(text=prepared.line.text.strip()), prepared.label,
                prepared.source.line, effect=CountMap(0, 0),
            )  # fmt: skip
            self._emit(Event(spec))
            self._count(prepared)


def _begins(items: tuple[Item, ...]) -> bool:
    """Whether a piece can begin with a row: with stitches cast on, picked up or another piece's."""
    first = next((item for item in items if not isinstance(item, Remark | Marker)), None)
    taken = isinstance(first, TakeUp) and first.name == ELSEWHERE
    return taken or isinstance(first, CastOn | PickUp)


def _side_taken_up(items: tuple[Item, ...], text: str) -> Side | None:
    """
    Stitches along an edge are picked up with the right side facing (common practice, no source).

    So is the yarn rejoined, unless the words say that the wrong side faces.
    """
    first = next((item for item in items if not isinstance(item, Remark)), None)
    if isinstance(first, TakeUp) and first.yarn:
        return Side.WRONG if _WRONG_FACING.search(first.yarn) else Side.RIGHT
    if not isinstance(first, PickUp) or _PURLED_UP.search(text):
        return None
    return Side.RIGHT


_WRONG_FACING = re.compile(r"\b(?:ws|wrong)\b", re.IGNORECASE)
_PURLED_UP = re.compile(r"\bpick(?:ing)? ?up (?:and|&) p", re.IGNORECASE)
