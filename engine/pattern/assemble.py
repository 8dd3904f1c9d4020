"""
Assembles the course of a piece for one size, line by line, and checks it on the way.

The stitches on the needle are carried along: a line such as "dec each end to 46 sts" can only be
understood by who knows how many there are. What does not add up becomes a problem that names the
row and the number of stitches; from there on counts are not known until one is stated.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.blocks import Block
from engine.pattern.count_map import MOST_STITCHES, CountMap
from engine.pattern.course import OpenLoop, Part, PartnerRows
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind, Prepared
from engine.pattern.needle import Misfit, Needle, count_map, fixed, work
from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    JoinRound,
    Remark,
    TakeUp,
    Work,
    amount_for,
    items_for,
)
from engine.pattern.phrases import Side
from engine.pattern.problems import PatternError, Problem
from engine.pattern.routines import AS_SET, routine
from engine.pattern.shaping import What, clauses, progressions
from engine.pattern.stitches import STITCHES
from engine.pattern.tree import (
    MOST_ROWS,
    Event,
    Leaf,
    Node,
    Progression,
    Repeat,
    Routine,
    RowSpec,
    Sequence,
    Stretch,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.quantities import Length

LONGEST_TAIL = 2_000
MOST_STEPS = 20_000
"""More rows than that are not worked one by one to check a repeat with markers in it."""


@dataclass(frozen=True, slots=True)
class Count:
    """The stitches after a written line: None where they are not known."""

    section: str
    row: str
    stitches: int | None
    checked: bool
    line: int


@dataclass(frozen=True, slots=True)
class SectionLines:
    """A section of a piece: its id, its title, its lines, and how it begins."""

    id: str
    title: str
    lines: tuple[Prepared, ...]
    patterns: dict[str, tuple[Prepared, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Assembled:
    """A piece for one size: its parts, and what was found on the way."""

    parts: tuple[Part, ...]
    counts: tuple[Count, ...]
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]


class Assembler:
    """Goes through the lines of a piece for one size (number `size`, called `name`)."""

    def __init__(
        self, *, size: int, name: str | None, cast_on: int | None, in_the_round: bool
    ) -> None:
        """Start with the stitches that are cast on."""
        self.size = size
        self.name = name
        self.in_the_round = in_the_round
        self.needle: Needle | None = (
            Needle((cast_on,), in_the_round=in_the_round) if cast_on is not None else None
        )
        self.side: Side | None = Side.RIGHT
        self.rows = 0
        self.parts: list[Part] = []
        self.nodes: list[Node] = []
        self.part_side: Side | None = Side.RIGHT
        self.part_start_rows = 0
        self.routine = routine(AS_SET, in_the_round=in_the_round, stitches=cast_on)
        self.routine_said = False
        self.last_plain: dict[bool, RowSpec] = {}
        self.block = Block()
        self.named: dict[str, RowSpec] = {}
        self.counts: list[Count] = []
        self.problems: list[Problem] = []
        self.warnings: list[Problem] = []
        self.section: SectionLines = SectionLines("", "", ())
        self.loops_in_section = 0
        self.pending_notes: list[str] = []
        self.given: dict[str, list[tuple[Prepared, ...]]] = {}
        self.after_failure = False

    # --- sections and lines ------------------------------------------------------------------------

    def add_section(self, section: SectionLines) -> None:
        """Go through the lines of a section."""
        self._close_part()
        self.section = section
        self.loops_in_section = 0
        self.block = Block()
        index = 0
        lines = section.lines
        while index < len(lines):
            prepared = lines[index]
            try:
                if self._skipped(prepared):
                    index += 1
                    continue
                if _numbered(prepared):
                    end = index
                    block: list[Prepared] = []
                    numbers: set[int] = set()
                    while end < len(lines) and _numbered(lines[end]):
                        if self._skipped(lines[end]):
                            end += 1
                            continue
                        heading = lines[end].line.heading
                        if heading is not None and numbers & set(heading.numbers):
                            break
                        if (
                            heading is not None
                            and heading.numbers
                            and numbers
                            and min(heading.numbers) == 1
                            and 1 not in numbers
                        ):
                            break
                        if heading is not None:
                            numbers |= set(heading.numbers)
                        block.append(lines[end])
                        end += 1
                    self._numbered_block(block)
                    index = end
                    continue
                self._line(prepared)
            except PatternError as error:
                self._problem(error.problem, prepared)
            index += 1
        self._close_part()

    def finish(self) -> Assembled:
        """Return what was assembled."""
        self._close_part()
        return Assembled(
            tuple(self.parts), tuple(self.counts), tuple(self.problems), tuple(self.warnings)
        )

    def _skipped(self, prepared: Prepared) -> bool:
        sizes = prepared.cache.get("sizes")
        return isinstance(sizes, frozenset) and self.size not in sizes

    def _line(self, prepared: Prepared) -> None:
        match prepared.kind:
            case LineKind.ROW | LineKind.UNCHECKED:
                self._row_line(prepared)
            case LineKind.EVENT:
                self._event(prepared)
            case LineKind.SHAPING:
                self._shaping(prepared)
            case LineKind.REPEAT:
                self._repeat(prepared)
            case LineKind.STRETCH:
                self._stretch(prepared)
            case LineKind.ROUTINE:
                self._set_routine(prepared)
            case LineKind.GIVEN:
                self._as_given(prepared)
            case LineKind.REMARK:
                self._remark(prepared)
            case LineKind.COUNT:
                self._check_stated(self._stated(prepared), prepared)
            case LineKind.MARK:
                pass

    # --- rows --------------------------------------------------------------------------------------

    def _row_line(self, prepared: Prepared) -> None:
        heading = prepared.line.heading
        spec = self._spec(prepared)
        if spec is None:
            return
        times = 1
        if heading is not None and heading.kind is ph.HeadingKind.NEXT:
            times = amount_for(heading.count, self.size)[0] or 0
            if times == 0:
                return
        if heading is not None and heading.kind is ph.HeadingKind.NAMED:
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
        self._side_said(spec.side)
        spec = self._with_notes(spec)
        node: Node = Leaf(spec) if times == 1 else Repeat(Leaf(spec), times, said=False)
        spec = self._work_spec(spec, times, prepared, spec.label)
        node = Leaf(spec) if times == 1 else Repeat(Leaf(spec), times, said=False)
        self._emit(node)
        self._note_routine(spec)
        self._count(prepared)

    def _numbered_block(self, block: list[Prepared]) -> None:
        """Rows by number: put in order, with "and all WS rows" filled in, then worked."""
        specs: dict[int, tuple[RowSpec, Prepared]] = {}
        last_of: dict[int, list[Prepared]] = {}
        fillers: list[tuple[ph.Which, RowSpec, Prepared, int]] = []
        for prepared in block:
            heading = prepared.line.heading
            if heading is None:
                continue
            try:
                many = self._specs_for_heading(prepared, specs)
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
            which, spec, prepared, _ = fillers[0]
            self._emit_rows(spec, 1, prepared)
            return
        order = Block.order(
            specs, [(which, spec, prepared, start) for which, spec, prepared, start in fillers]
        )
        self._warn_of_gaps(order, block)
        self._emit_block(order, last_of)

    def _specs_for_heading(
        self, prepared: Prepared, specs: dict[int, tuple[RowSpec, Prepared]]
    ) -> list[RowSpec]:
        """Return the rows under a numbered heading: one for all, or those that it repeats."""
        if prepared.kind is LineKind.REPEAT:
            said = prepared.first(ph.RepeatRows)
            known = {number: spec for number, (spec, _) in specs.items()} or self.block.specs
            if isinstance(said, ph.RepeatRows) and said.numbers:
                missing = [number for number in said.numbers if number not in known]
                if missing:
                    raise PatternError(
                        Problem(f"There is no row {missing[0]} to repeat here.", 1, 1)
                    )
                return [known[number] for number in said.numbers]
            if isinstance(said, ph.RepeatRows) and said.last is not None:
                last = amount_for(said.last, self.size)[0] or 1
                return [known[number] for number in sorted(known)[-last:]]
        if prepared.kind is LineKind.STRETCH:
            current = self._routine_of(prepared)
            label = prepared.label
            heading = prepared.line.heading
            numbers = heading.numbers if heading is not None else ()
            return [
                replace(
                    current.spec_at(index, wrong_side=number % 2 == 0),
                    label=label,
                    line=prepared.source.line,
                )
                for index, number in enumerate(numbers)
            ]
        if prepared.kind is LineKind.SHAPING:
            return [self._shaped_spec(prepared)]
        spec = self._spec(prepared)
        return [spec] if spec is not None else []

    def _emit_block(
        self,
        order: list[tuple[int, RowSpec, Prepared]],
        last_of: dict[int, list[Prepared]],
    ) -> None:
        index = 0
        self.block = Block({number: spec for number, spec, _ in order}, len(self.nodes))
        while index < len(order):
            number, spec, prepared = order[index]
            end = index + 1
            # A range of rows worked alike is one node, however long it is.
            while end < len(order) and order[end][1] is spec and order[end - 1][0] not in last_of:
                end += 1
            times = end - index
            self._side_said(spec.side)
            noted = self._with_notes(spec)
            worked = self._work_spec(noted, times, prepared, spec.label, first_number=number)
            self._emit(Leaf(worked) if times == 1 else Repeat(Leaf(worked), times, said=False))
            self._note_routine(worked)
            for done in last_of.get(order[end - 1][0], []):
                self._count(done)
            index = end

    def _warn_of_gaps(
        self, order: list[tuple[int, RowSpec, Prepared]], block: list[Prepared]
    ) -> None:
        numbers = [number for number, _, _ in order]
        for before, after in zip(numbers, numbers[1:], strict=False):
            if after - before > 1:
                missing = (
                    f"Row {before + 1} is"
                    if after - before == 2
                    else f"Rows {before + 1} to {after - 1} are"  # noqa: PLR2004
                )
                owner = next(
                    (prepared for number, _, prepared in order if number == after), block[0]
                )
                self._warning(f"{missing} not written.", owner)
                return

    def _spec(self, prepared: Prepared) -> RowSpec | None:
        """Return the row of a line for this size; the same value for all sizes where it can be."""
        known = prepared.cache.get("spec")
        if isinstance(known, RowSpec) and not prepared.graded:
            return known
        spec = self._make_spec(prepared)
        if spec is not None and not prepared.graded:
            prepared.cache["spec"] = spec
        return spec

    def _make_spec(self, prepared: Prepared) -> RowSpec | None:
        heading = prepared.line.heading
        side = heading.side if heading is not None else None
        facing = prepared.first(ph.SideFacing)
        if isinstance(facing, ph.SideFacing):
            side = facing.side
        stated, change = self._stated_numbers(prepared)
        line = prepared.source.line
        if prepared.kind is LineKind.UNCHECKED:
            text = prepared.line.unchecked.text if prepared.line.unchecked is not None else ""
            effect = CountMap(0, stated) if stated is not None else None
            return RowSpec(
                Instruction(text=text), prepared.label, line, None, effect, stated,
                checked=False, side=side, note=prepared.note,
            )  # fmt: skip
        if prepared.kind is LineKind.SHAPING:
            return self._shaped_spec(prepared)
        if prepared.kind is LineKind.STRETCH:
            spec = self._routine_of(prepared).spec_at(0, wrong_side=self.side is Side.WRONG)
            return replace(
                spec, label=prepared.label, line=line, side=side, note=prepared.note, stated=stated
            )
        if prepared.row is None:
            return None
        items = items_for(prepared.row.items, self.size) if prepared.graded else prepared.row.items
        if not items and prepared.row.items:
            return None
        fits = count_map(items)
        counted = _all_counted(items)
        effect = fits if fits is not None else net_effect(items)
        if not counted:
            effect = CountMap(0, stated) if stated is not None else None
        name = self.routine.name if _only_as_set(items) else ""
        return RowSpec(
            Instruction(items, name), prepared.label, line, fits, effect, stated, change,
            checked=counted, side=side, note=prepared.note,
        )  # fmt: skip

    def _shaped_spec(self, prepared: Prepared) -> RowSpec:
        """Return the single row of a shaping that stands under a heading."""
        found = clauses(prepared.phrases, self.size, self._markers())
        what = found[0].what if found else What(0)
        base = self.routine.spec_at(0, wrong_side=self.side is Side.WRONG).instruction
        instruction = (
            base.between(what.before, what.after) if what.row is None else Instruction(what.row)
        )
        fits = count_map(instruction.items)
        heading = prepared.line.heading
        stated, change = self._stated_numbers(prepared)
        return RowSpec(
            instruction, prepared.label, prepared.source.line, fits,
            fits if fits is not None else net_effect(instruction.items), stated, change,
            side=heading.side if heading is not None else None, note=prepared.note,
        )  # fmt: skip

    def _stated(self, prepared: Prepared) -> ph.Stated | None:
        return prepared.stated

    def _stated_numbers(self, prepared: Prepared) -> tuple[int | None, int | None]:
        said = prepared.stated
        if said is None:
            return None, None
        number = amount_for(said.amount, self.size)[0]
        if said.change:
            return None, None if number is None else number * said.change
        return number, None

    # --- working rows on the needle ------------------------------------------------------------------

    def _work_spec(
        self,
        spec: RowSpec,
        times: int,
        prepared: Prepared,
        label: str,
        first_number: int | None = None,
    ) -> RowSpec:
        """Work a row so many times; report what does not fit. Returns the row as it was worked."""
        before = self.needle
        self._advance(times)
        if before is None:
            if spec.stated is not None and not self.after_failure:
                self.needle = Needle((spec.stated,), in_the_round=self.in_the_round)
            return spec
        if not spec.checked:
            if spec.stated is not None:
                self.needle = before.with_total(spec.stated)
            else:
                self.needle = None
            return spec
        if before.plain and spec.fits is not None:
            total = self._worked_plain(spec, times, before, prepared, first_number)
            if total is None:
                return spec
            self.needle = before if total == before.total else before.with_total(total)
        else:
            for time in range(times):
                after = work(self.needle or before, spec.items)
                if isinstance(after, Misfit):
                    self._misfit(after, spec, prepared, first_number, time)
                    return spec
                same = after == self.needle
                self.needle = after
                if same:
                    break
            if times == 1 and spec.fits is None and self.needle is not None:
                spec = replace(spec, effect=CountMap(0, self.needle.total))
        self._compare(spec, before.total, times, prepared)
        return spec

    def _worked_plain(
        self,
        spec: RowSpec,
        times: int,
        before: Needle,
        prepared: Prepared,
        first_number: int | None,
    ) -> int | None:
        if spec.fits is None:
            return None
        total = spec.fits(before.total)
        if total is not None and times > 1:
            total = total if total == before.total else spec.fits.power(times)(before.total)
        if total is not None:
            return total
        # Find the first time at which the row does not fit.
        count, time = before.total, 0
        while time < times and (after := spec.fits(count)) is not None:
            count, time = after, time + 1
        misfit = work(before.with_total(count), spec.items)
        if not isinstance(misfit, Misfit):
            misfit = Misfit(None, f"More than {MOST_STITCHES:,} stitches are no piece")
        self._misfit(misfit, spec, prepared, first_number, time, on=count)
        return None

    def _misfit(
        self,
        misfit: Misfit,
        spec: RowSpec,
        prepared: Prepared,
        first_number: int | None,
        time: int,
        on: int | None = None,
    ) -> None:
        which = ""
        heading = prepared.line.heading
        if heading is not None and len(heading.numbers) > 1 and first_number is not None:
            which = f"Row {first_number + time}: "
        hint = ""
        if misfit.off_by is not None and on is not None and spec.fits is not None:
            hint = _nearest(spec.fits, on)
        there = (
            f" of the {on}"
            if on is not None and misfit.off_by is not None and misfit.off_by > 0 and not hint
            else ""
        )
        sentence = f"{which}{misfit.message}{there}{hint}."
        line, column = prepared.source.place(misfit.at)
        number = self.rows - 1
        problem = Problem(
            sentence,
            line,
            column,
            self.section.title,
            spec.label,
            max(number, 1),
            self.name,
            misfit.off_by,
        )
        self.problems.append(problem)
        self.needle = None
        self.after_failure = True

    def _compare(self, spec: RowSpec, before: int, times: int, prepared: Prepared) -> None:
        if self.needle is None:
            return
        total = self.needle.total
        if spec.stated is not None and total != spec.stated:
            self._stated_differs(total, spec.stated, spec.label, prepared)
        if spec.stated_change is not None and times == 1 and total - before != spec.stated_change:
            off_by = total - before - spec.stated_change
            self._add_problem(
                f"The row changes the count by {total - before:+d} stitches, "
                f"{spec.stated_change:+d} are stated.",
                prepared, spec.label, off_by,
            )  # fmt: skip

    def _check_stated(self, said: ph.Stated | None, prepared: Prepared) -> None:
        """Compare a count that stands alone with the needle; where it is not known, take it."""
        if said is None or said.change:
            return
        number = amount_for(said.amount, self.size)[0]
        if number is None:
            return
        if self.needle is None:
            if not self.after_failure:
                self.needle = Needle((number,), in_the_round=self.in_the_round)
                spec = RowSpec(
                    Instruction(), prepared.label, prepared.source.line, effect=CountMap(0, number)
                )
                self._emit(Event(spec))
            return
        if self.needle.total != number:
            self._stated_differs(self.needle.total, number, self._last_label(prepared), prepared)

    def _last_label(self, prepared: Prepared) -> str:
        return self.counts[-1].row if self.counts else prepared.label

    def _stated_differs(self, total: int, stated: int, label: str, prepared: Prepared) -> None:
        self._add_problem(
            f"{total} stitches are on the needle after this, {stated} are stated.",
            prepared, label, total - stated,
        )  # fmt: skip

    # --- events ------------------------------------------------------------------------------------

    def _event(self, prepared: Prepared) -> None:
        """Stitches are laid aside, taken up or joined between two rows."""
        if prepared.row is None:
            return
        items = items_for(prepared.row.items, self.size)
        self._cast_on_first(items)
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

    def _cast_on_first(self, items: tuple[Item, ...]) -> None:
        if (
            self.needle is None
            and not self.rows
            and not self.after_failure
            and any(isinstance(item, CastOn) for item in items)
        ):
            self.needle = Needle((0,), in_the_round=self.in_the_round)

    def _join_if_said(self, spec: RowSpec) -> None:
        if any(isinstance(item, JoinRound) for item in spec.items):
            self.in_the_round = True
            if self.needle is not None:
                self.needle = replace(self.needle, in_the_round=True)
            self._close_part()
            self.side = Side.ROUND
            self.part_side = Side.ROUND

    def _remark(self, prepared: Prepared) -> None:
        for phrase in prepared.phrases:
            if isinstance(phrase, Remark):
                self.pending_notes.append(phrase.text)

    def _with_notes(self, spec: RowSpec) -> RowSpec:
        if not self.pending_notes:
            return spec
        notes = ". ".join([*self.pending_notes, *([spec.note] if spec.note else [])])
        self.pending_notes = []
        return replace(spec, note=notes)

    # --- routines and stretches ------------------------------------------------------------------------

    def _routine_of(self, prepared: Prepared) -> Routine:
        """Return the routine that a line names, or the one that goes on."""
        count = self.needle.total if self.needle is not None else None
        named = prepared.first(ph.InPattern)
        bare = prepared.first(ph.Bare)
        beginning = prepared.first(ph.Beginning)
        if isinstance(named, ph.InPattern) and named.name != AS_SET:
            own = self.section.patterns.get(named.name)
            if own is not None:
                return self._own_pattern(named.name, own)
            return routine(named.name, in_the_round=self.in_the_round, stitches=count)
        if isinstance(bare, ph.Bare):
            item = bare.item
            name = item.stitch.name if isinstance(item, Work) else ""
            if name == "k":
                return routine("knit", in_the_round=self.in_the_round, stitches=count)
            if name == "p":
                return routine("purl", in_the_round=self.in_the_round, stitches=count)
        if isinstance(beginning, ph.Beginning) and beginning.face and not self.routine_said:
            return routine("stockinette", in_the_round=self.in_the_round, stitches=count)
        return self._current_routine()

    def _own_pattern(self, name: str, lines: tuple[Prepared, ...]) -> Routine:
        specs: dict[int, tuple[RowSpec, Prepared]] = {}
        fillers: list[tuple[ph.Which, RowSpec, Prepared, int]] = []
        for position, prepared in enumerate(lines):
            heading = prepared.line.heading
            for spec in self._specs_for_heading(prepared, specs):
                numbers = (
                    heading.numbers if heading is not None and heading.numbers else (position + 1,)
                )
                for number in numbers:
                    specs[number] = (spec, prepared)
                if heading is not None and heading.also is not None:
                    fillers.append((heading.also, spec, prepared, numbers[0]))
        order = Block.order(specs, fillers)
        return Routine(name, tuple(spec for _, spec, _ in order))

    def _current_routine(self) -> Routine:
        if self.routine_said or not self.last_plain:
            return self.routine
        right = self.last_plain.get(False)
        wrong = self.last_plain.get(True)
        if self.in_the_round and right is not None:
            return Routine(AS_SET, (right,), by_side=True)
        if right is not None and wrong is not None:
            return Routine(AS_SET, (right, wrong), by_side=True)
        return self.routine

    def _note_routine(self, spec: RowSpec) -> None:
        """Remember the last rows that change no count: "work even" goes on with them."""
        if spec.effect is not None and (spec.effect.a, spec.effect.b, spec.effect.q) == (1, 0, 1):
            wrong = self.side is Side.RIGHT  # the side has moved on already
            self.last_plain[wrong and not self.in_the_round] = replace(
                spec, side=None, stated=None, note=""
            )
            self.routine_said = False

    def _set_routine(self, prepared: Prepared) -> None:
        named = prepared.first(ph.InPattern)
        if isinstance(named, ph.InPattern) and named.name != AS_SET:
            self.routine = self._routine_of(prepared)
            self.routine_said = True
        self._begin_side(prepared)

    def _begin_side(self, prepared: Prepared) -> None:
        beginning = prepared.first(ph.Beginning)
        if isinstance(beginning, ph.Beginning):
            side = beginning.side
            if side is None and not self.in_the_round:
                side = Side.WRONG if beginning.face == "p" else Side.RIGHT
            self._side_said(side)

    def _stretch(self, prepared: Prepared) -> None:
        self._begin_side(prepared)
        chosen = self._routine_of(prepared)
        self.routine, self.routine_said = chosen, True
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        rows = prepared.first(ph.HowManyRows)
        if until is not None:
            self._open(chosen, until, prepared)
            return
        if isinstance(rows, ph.HowManyRows):
            number = amount_for(rows.amount, self.size)[0]
            if not number:
                return
            self._closed_stretch(chosen, number, (), prepared)
            return
        if prepared.line.heading is not None:
            self._row_line(replace(prepared, kind=LineKind.STRETCH))
            return
        raise PatternError(Problem("Say for how many rows, or until what it measures.", 1, 1))

    def _closed_stretch(
        self,
        chosen: Routine,
        rows: int,
        shapings: tuple[Progression, ...],
        prepared: Prepared,
    ) -> None:
        node = Stretch(
            chosen, rows, shapings, line=prepared.source.line, label=prepared.label,
            counted=len(chosen.specs) > 1,
        )  # fmt: skip
        self._work_stretch(node, prepared)
        self._advance(rows)
        self._emit(node)
        self._ending_fits(prepared)
        self._count(prepared)

    def _work_stretch(self, node: Stretch, prepared: Prepared) -> None:
        """Work the shaped rows of a stretch one by one, and see that the plain ones fit."""
        if self.needle is None:
            return
        before = self.needle.total
        if not node.progressions:
            effect = node.effect
            if self.needle.plain and not node.routine.unchanging:
                total = effect(before) if effect is not None else None
                self.needle = None if total is None else self.needle.with_total(total)
            self._routine_fits(node.routine, prepared)
        else:
            self._work_shapings(node, prepared)
        stated, change = self._stated_numbers(prepared)
        if self.needle is not None:
            spec = RowSpec(
                Instruction(),
                prepared.label,
                prepared.source.line,
                stated=stated,
                stated_change=change,
            )
            self._compare(replace(spec, stated_change=None), before, 1, prepared)
        elif stated is not None and not self.after_failure:
            self.needle = Needle((stated,), in_the_round=self.in_the_round)

    def _routine_fits(self, chosen: Routine, prepared: Prepared) -> None:
        if self.needle is None or not self.needle.plain:
            return
        for spec in chosen.specs:
            if spec.fits is not None and not spec.fits.fits(self.needle.total):
                misfit = work(self.needle, spec.items)
                if isinstance(misfit, Misfit):
                    named = replace(spec, label=prepared.label)
                    self._misfit(
                        replace(misfit, at=0), named, prepared, None, 0, on=self.needle.total
                    )
                return

    def _work_shapings(self, node: Stretch, prepared: Prepared) -> None:
        index, steps = node.next_shaping(0), 0
        flips = 0
        while index is not None and self.needle is not None and steps < MOST_STEPS:
            found = node.at(index, Side.RIGHT, index)
            needle = self.needle
            turned = (index - flips) % 2 == 1 and not self.in_the_round and needle.marks
            after = work(_turned(needle) if turned else needle, found.instruction.items)
            if isinstance(after, Misfit):
                spec = replace(found.spec, label=prepared.label)
                self._advance(index + 1)
                self._misfit(replace(after, at=0), spec, prepared, None, 0)
                return
            self.needle = after
            flips = index + 1
            steps += 1
            index = node.next_shaping(index + 1)

    def _open(
        self,
        chosen: Routine,
        until: ph.Phrase,
        prepared: Prepared,
        shapings: tuple[Progression, ...] = (),
        first_rows: int = 0,
    ) -> None:
        """A stretch whose end is an event: until the piece measures so much."""
        self._close_part()
        self.loops_in_section += 1
        suffix = "" if self.loops_in_section == 1 else f".{self.loops_in_section}"
        target = self._target(until)
        ending = prepared.first(ph.Ending)
        ends_on = None
        if isinstance(ending, ph.Ending) and not self.in_the_round:
            ends_on = ending.side
            if ends_on is None and ending.face:
                ends_on = Side.RIGHT if ending.face == "k" else Side.WRONG
        where = until.where if isinstance(until, ph.UntilMeasures) else ""
        loop = OpenLoop(f"{self.section.id}{suffix}", target, self.section.id, ends_on, where)
        node = Stretch(
            chosen,
            MOST_ROWS,
            shapings,
            line=prepared.source.line,
            label=prepared.label,
            counted=True,
        )
        if self.needle is not None and not shapings:
            self._routine_fits(chosen, prepared)
            if not chosen.unchanging:
                self.needle = None
        elif self.needle is not None:
            self._work_shapings(node, prepared)
        stated, _ = self._stated_numbers(prepared)
        if stated is not None:
            self._check_stated(prepared.stated, prepared)
        self.parts.append(
            Part(self.section.id, self.section.title, node, self.side, loop, first_rows=first_rows)
        )
        self._count(prepared)
        if not self.in_the_round:
            if ends_on is not None:
                self.side = Side.RIGHT if ends_on is Side.WRONG else Side.WRONG
            elif len(chosen.specs) % 2 or chosen.by_side:
                self.side = None
        self.part_side = self.side

    def _target(self, until: ph.Phrase) -> Length | PartnerRows | None:
        match until:
            case ph.UntilMeasures():
                lengths = until.lengths
                return lengths[0] if len(lengths) == 1 else lengths[self.size]
            case ph.UntilSame():
                return PartnerRows(until.text)
            case _:
                return None

    # --- shaping -----------------------------------------------------------------------------------------

    def _markers(self) -> int:
        return (
            len([mark for mark in self.needle.marks if mark.isalnum() or not mark])
            if self.needle
            else 0
        )

    def _shaping(self, prepared: Prepared) -> None:
        heading = prepared.line.heading
        if heading is not None and heading.kind in {ph.HeadingKind.NEXT, ph.HeadingKind.NAMED}:
            schedules = prepared.first(ph.Schedule, ph.UntilCount, ph.Times)
            if schedules is None:
                self._row_line(prepared)
                return
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        found = clauses(prepared.phrases, self.size, self._markers())
        self._schedule(found, prepared, until)

    def _schedule(self, found: list, prepared: Prepared, until: ph.Phrase | None) -> None:  # type: ignore[type-arg]
        count = self.needle.total if self.needle is not None else None
        made = progressions(found, self.size, count, endless=until is not None)
        shapings = tuple(
            self._with_row(shaping, clause.what, prepared)
            for shaping, clause in zip(made, [c for c in found], strict=False)
        )
        if not shapings:
            return
        if any(isinstance(item, ph.InPattern) and item.name != AS_SET for item in prepared.phrases):
            self.routine, self.routine_said = self._routine_of(prepared), True
        chosen = self._current_routine()
        if not chosen.unchanging:
            chosen = routine(AS_SET, in_the_round=self.in_the_round, stitches=None)
        if prepared.meanwhile and self.nodes and isinstance(self.nodes[-1], Stretch):
            self._merge(shapings, prepared)
            return
        if prepared.meanwhile and self.parts and self.parts[-1].loop is not None and not self.nodes:
            self._merge_open(shapings, prepared)
            return
        self._align(found, shapings)
        if until is not None:
            self._open(chosen, until, prepared, shapings)
            return
        rows = max(shaping.last for shaping in shapings)
        self._closed_stretch(chosen, rows, shapings, prepared)

    def _align(self, found: list, shapings: tuple[Progression, ...]) -> None:  # type: ignore[type-arg]
        side = next((clause.schedule.side for clause in found if clause.schedule.side), None)
        if side is not None and found[0].schedule.every == 2 and self.side is side:  # noqa: PLR2004
            pass

    def _with_row(self, shaping: Progression, what: What, prepared: Prepared) -> Progression:
        if what.row is None:
            return replace(shaping, label=prepared.label)
        spec = RowSpec(
            Instruction(what.row),
            prepared.label,
            prepared.source.line,
            count_map(what.row),
            net_effect(what.row),
        )
        return replace(shaping, spec=spec, label=prepared.label)

    def _merge(self, shapings: tuple[Progression, ...], prepared: Prepared) -> None:
        """Like "At the same time": the shapings of two lines on the same rows."""
        old = self.nodes.pop()
        if not isinstance(old, Stretch):
            raise TypeError("Only a stretch can be shaped at the same time.")
        rows = max(old.rows, *(shaping.last for shaping in shapings))
        node = Stretch(
            old.routine,
            rows,
            (*old.progressions, *shapings),
            line=old.line,
            label=old.label,
            counted=old.counted,
        )
        self._advance(rows - old.rows)
        self._add_change(shapings, prepared)
        self.nodes.append(node)
        self._count(prepared)

    def _merge_open(self, shapings: tuple[Progression, ...], prepared: Prepared) -> None:
        part = self.parts[-1]
        old = part.node
        if not isinstance(old, Stretch):
            raise TypeError("Only a stretch can be shaped at the same time.")
        node = Stretch(
            old.routine,
            old.rows,
            (*old.progressions, *shapings),
            line=old.line,
            label=old.label,
            counted=old.counted,
        )
        self.parts[-1] = replace(part, node=node)
        self._add_change(shapings, prepared)
        self._count(prepared)

    def _add_change(self, shapings: tuple[Progression, ...], prepared: Prepared) -> None:
        if self.needle is None:
            return
        change = sum(shaping.change * shaping.times for shaping in shapings if shaping.spec is None)
        total = self.needle.total + change
        for shaping in shapings:
            if shaping.spec is not None and shaping.spec.effect is not None:
                worked = shaping.spec.effect.power(shaping.times)(total)
                total = worked if worked is not None else -1
        if total < 0:
            self._add_problem(
                "More stitches are taken away than there are.", prepared, prepared.label, total
            )
            self.needle, self.after_failure = None, True
            return
        before = self.needle.total
        self.needle = self.needle.with_total(total)
        stated, change_said = self._stated_numbers(prepared)
        spec = RowSpec(Instruction(), prepared.label, 0, stated=stated, stated_change=change_said)
        self._compare(spec, before, 1, prepared)

    # --- repeats ---------------------------------------------------------------------------------------------

    def _repeat(self, prepared: Prepared) -> None:
        said = prepared.first(ph.RepeatRows)
        if not isinstance(said, ph.RepeatRows):
            raise TypeError("A repeat says what is repeated.")
        if said.name:
            self._repeat_named(said, prepared)
            return
        body, folded = self._rows_to_repeat(said)
        if not body:
            raise PatternError(
                Problem("There are no rows before this to be repeated.", 1, said.at + 1)
            )
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        count = prepared.first(ph.UntilCount)
        times = prepared.first(ph.Times)
        rows = prepared.first(ph.HowManyRows)
        if until is not None:
            self._unfold(folded)
            specs = tuple(replace(spec, side=None, stated=None, note="") for spec in body)
            chosen = Routine("", specs, by_side=False)
            start = self._take_back(folded)
            self._open(chosen, until, prepared, first_rows=start)
            return
        if isinstance(count, ph.UntilCount):
            more = self._times_until(body, count, prepared)
        elif isinstance(times, ph.Times):
            more = self._more_times(times, body, prepared)
        elif isinstance(rows, ph.HowManyRows):
            more, rest = divmod(amount_for(rows.amount, self.size)[0] or 0, len(body))
            if rest:
                self._plain_repeat(body, folded, more, prepared)
                for spec in body[:rest]:
                    worked = self._work_spec(
                        replace(spec, stated=None, note=""), 1, prepared, prepared.label
                    )
                    self._emit(Leaf(worked))
                self._replace_count(prepared)
                return
        else:
            more = 1
        self._plain_repeat(body, folded, more, prepared)

    def _more_times(self, times: ph.Times, body: tuple[RowSpec, ...], prepared: Prepared) -> int:
        number = amount_for(times.amount, self.size)[0] or 0
        if times.more is False:
            return max(number - 1, 0)
        if times.more is None and number > 1:
            # "3 times" may mean three in all: only a stated count can tell.
            stated, _ = self._stated_numbers(prepared)
            if stated is not None and self.needle is not None:
                for tried in (number, number - 1):
                    if self._count_after(body, tried) == stated:
                        return tried
        return number

    def _count_after(self, body: tuple[RowSpec, ...], times: int) -> int | None:
        effect = Sequence([Leaf(spec) for spec in body]).effect
        if effect is None or self.needle is None:
            return None
        return effect.power(times)(self.needle.total)

    def _plain_repeat(
        self, body: tuple[RowSpec, ...], folded: int, more: int, prepared: Prepared
    ) -> None:
        if more <= 0:
            self._count(prepared)
            return
        clean = [replace(spec, note="", stated=None, stated_change=None) for spec in body]
        if folded:
            del self.nodes[len(self.nodes) - folded :]
        first_rows = len(body) if folded else 0
        child = Sequence([Leaf(spec) for spec in (body if folded else clean)])
        node = Repeat(child, more + (1 if folded else 0), line=prepared.source.line)
        self._work_repeat(clean, more, prepared)
        self.nodes.append(node)
        _ = first_rows
        self._check_after(prepared)
        self._count(prepared)

    def _check_after(self, prepared: Prepared) -> None:
        stated, change = self._stated_numbers(prepared)
        if stated is None or change is not None:
            return
        if self.needle is None:
            if not self.after_failure:
                self.needle = Needle((stated,), in_the_round=self.in_the_round)
            return
        if self.needle.total != stated:
            self._stated_differs(self.needle.total, stated, prepared.label, prepared)

    def _work_repeat(self, body: list[RowSpec], times: int, prepared: Prepared) -> None:
        """Work rows again and again; the count is computed where it can be, else stepped."""
        if self.needle is None or any(not spec.checked for spec in body):
            self._advance(len(body) * times)
            if self.needle is not None and any(spec.effect is None for spec in body):
                self.needle = None
            return
        if self.needle.plain and all(spec.fits is not None for spec in body):
            effect = Sequence([Leaf(spec) for spec in body]).effect
            start = self.needle.total
            if effect is not None and (total := effect.power(times)(start)) is not None:
                self._advance(len(body) * times)
                self.needle = self.needle.with_total(total)
                return
            if effect is not None:
                done = _times_that_fit(effect, start, times)
                middle = effect.power(done)(start)
                if middle is not None:
                    self._advance(len(body) * done)
                    self.needle = self.needle.with_total(middle)
                    times -= done
        self._step(body, times, prepared)

    def _step(self, body: list[RowSpec], times: int, prepared: Prepared) -> None:
        steps = 0
        for time in range(times):
            before = self.needle
            for spec in body:
                self._work_spec(spec, 1, prepared, spec.label)
                steps += 1
                if self.needle is None:
                    self._advance(len(body) * (times - time - 1))
                    return
            if self.needle == before or steps > MOST_STEPS:
                self._advance(len(body) * (times - time - 1))
                if steps > MOST_STEPS:
                    self.needle = None
                return

    def _times_until(
        self, body: tuple[RowSpec, ...], count: ph.UntilCount, prepared: Prepared
    ) -> int:
        target = amount_for(count.amount, self.size)[0]
        if target is None or self.needle is None:
            return 0
        start = self.needle.total
        effect = Sequence([Leaf(spec) for spec in body]).effect
        current, times = start, 0
        seen = 0
        while effect is not None and current != target and seen < MOST_STEPS:
            after = effect(current)
            if after is None or after == current or (after - start) * (target - after) < 0:
                break
            current, times, seen = after, times + 1, seen + 1
        if current != target:
            line, column = prepared.source.place(count.at)
            self.problems.append(
                Problem(
                    f"Repeating these rows from {start} stitches never leaves {target}; "
                    f"the nearest is {current}.",
                    line, column, self.section.title, prepared.label, max(self.rows, 1), self.name,
                    current - target,
                )
            )  # fmt: skip
            self.needle, self.after_failure = None, True
            return 0
        return times

    def _rows_to_repeat(self, said: ph.RepeatRows) -> tuple[tuple[RowSpec, ...], int]:
        """Return the rows that are meant, and how many of the last nodes are exactly they."""
        if said.numbers:
            specs = self.block.specs
            missing = [number for number in said.numbers if number not in specs]
            if missing:
                raise PatternError(
                    Problem(f"There is no row {missing[0]} to repeat here.", 1, said.at + 1)
                )
            body = tuple(specs[number] for number in said.numbers)
        elif said.last is not None:
            count = amount_for(said.last, self.size)[0] or 0
            body = self._tail(count)
            if len(body) < count:
                raise PatternError(
                    Problem(f"Only {len(body)} rows stand before this.", 1, said.at + 1)
                )
        else:
            body = tuple(
                self.block.specs[number] for number in sorted(self.block.specs)
            ) or self._tail(1)
        return body, self._folds(body)

    def _tail(self, count: int) -> tuple[RowSpec, ...]:
        """Return the last so many rows."""
        rows: list[RowSpec] = []
        for node in reversed([*self._open_nodes(), *self.nodes]):
            for index in range(node.rows - 1, max(node.rows - 1 - count, -1), -1):
                if len(rows) >= min(count, LONGEST_TAIL):
                    return tuple(reversed(rows))
                found = node.at(index, _side_after(self.side, len(rows) + 1), index)
                spec = (
                    found.spec
                    if found.instruction is found.spec.instruction
                    else _spec_of(found.instruction, found.spec)
                )
                rows.append(spec)
        return tuple(reversed(rows))

    def _open_nodes(self) -> list[Node]:
        return (
            [part.node for part in self.parts[-1:] if part.loop is None] if not self.nodes else []
        )

    def _folds(self, body: tuple[RowSpec, ...]) -> int:
        """How many of the last nodes are exactly the rows of the body, each worked once."""
        if len(self.nodes) < len(body):
            return 0
        tail = self.nodes[len(self.nodes) - len(body) :]
        for node, spec in zip(tail, body, strict=True):
            if not isinstance(node, Leaf) or node.spec.instruction != spec.instruction:
                return 0
        return len(body)

    def _unfold(self, _folded: int) -> None:
        return

    def _take_back(self, folded: int) -> int:
        """Take the rows worked once already into the loop that repeats them."""
        if not folded:
            return 0
        del self.nodes[len(self.nodes) - folded :]
        self.rows -= folded
        if folded % 2 and not self.in_the_round and self.side is not None:
            self.side = _side_after(self.side, 1)
        return folded

    def _repeat_named(self, said: ph.RepeatRows, prepared: Prepared) -> None:
        spec = self._named_row(said)
        clean = replace(spec, side=None, stated=None, stated_change=None, note="")
        schedule = prepared.first(ph.Schedule, ph.EveryRow)
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        change = self._net_of(clean)
        if schedule is not None:
            what = What(change, row=clean.items)
            found = clauses(prepared.phrases, self.size, self._markers(), what)
            self._schedule(found, prepared, until)
            return
        count = prepared.first(ph.UntilCount)
        times = prepared.first(ph.Times)
        if isinstance(count, ph.UntilCount):
            more = self._times_until((clean,), count, prepared)
        elif isinstance(times, ph.Times):
            more = self._more_times(times, (clean,), prepared)
        else:
            more = 1
        self._plain_repeat((clean,), self._folds((clean,)), more, prepared)

    def _net_of(self, spec: RowSpec) -> int:
        if spec.effect is None:
            return 0
        if (spec.effect.a, spec.effect.q) == (1, 1):
            return spec.effect.b
        if self.needle is not None and (after := spec.effect(self.needle.total)) is not None:
            return after - self.needle.total
        return 0

    def _named_row(self, said: ph.RepeatRows) -> RowSpec:
        wanted = _row_name(said.name)
        for name, spec in reversed(self.named.items()):
            if _row_name(name) == wanted:
                return spec
        for name, spec in reversed(self.named.items()):
            if set(wanted) <= set(_row_name(name)) or set(_row_name(name)) <= set(wanted):
                return spec
        known = ", ".join(self.named) or "none has a name"
        raise PatternError(
            Problem(f"There is no row called '{said.name}' before this ({known}).", 1, said.at + 1)
        )

    # --- as given for another part --------------------------------------------------------------------------

    def _as_given(self, prepared: Prepared) -> None:
        said = prepared.first(ph.AsGiven)
        lines = prepared.cache.get("given")
        if not isinstance(lines, tuple):
            text = said.text if isinstance(said, ph.AsGiven) else ""
            raise PatternError(Problem(f"It is not clear which rows '{text}' means.", 1, 1))
        self.add_inline(lines)

    def add_inline(self, lines: Iterable[Prepared]) -> None:
        """Go through lines that another section has given."""
        section = self.section
        kept = replace(section, lines=tuple(lines))
        index = self.loops_in_section
        self.add_section(kept)
        self.section, self.loops_in_section = section, max(index, self.loops_in_section)

    # --- bookkeeping ------------------------------------------------------------------------------------------

    def _emit(self, node: Node) -> None:
        self.nodes.append(node)

    def _advance(self, rows: int) -> None:
        self.rows += rows
        if self.in_the_round:
            return
        if rows % 2 and self.side is not None:
            self.side = _side_after(self.side, 1)

    def _side_said(self, side: Side | None) -> None:
        """A heading names the side: begin a new part where it is not the one that follows."""
        if side is None or self.in_the_round:
            return
        if self.side is not side:
            self._close_part()
            self.side = side
            self.part_side = side

    def _close_part(self) -> None:
        if self.nodes:
            node = Sequence(self.nodes)
            self.parts.append(Part(self.section.id, self.section.title, node, self.part_side, None))
            self.nodes = []
        self.part_side = self.side

    def _ending_fits(self, prepared: Prepared) -> None:
        ending = prepared.first(ph.Ending)
        if not isinstance(ending, ph.Ending) or ending.side is None or self.in_the_round:
            return
        if self.side is ending.side:
            word = "right" if ending.side is Side.RIGHT else "wrong"
            self._warning(f"The last of these rows is not a {word}-side row.", prepared)

    def _count(self, prepared: Prepared) -> None:
        if self.after_failure:
            return
        total = self.needle.total if self.needle is not None else None
        checked = prepared.kind is not LineKind.UNCHECKED
        self.counts.append(
            Count(self.section.title, prepared.label, total, checked, prepared.source.line)
        )

    def _replace_count(self, prepared: Prepared) -> None:
        if self.counts and self.counts[-1].row == prepared.label:
            self.counts.pop()
        self._count(prepared)

    def _problem(self, problem: Problem, prepared: Prepared) -> None:
        line, column = prepared.source.place((problem.column or 1) - 1)
        placed = replace(problem, line=line, column=column)
        self.problems.append(
            placed.within(section=self.section.title, row=prepared.label, size=self.name)
        )
        self.needle, self.after_failure = None, True

    def _add_problem(
        self, message: str, prepared: Prepared, label: str, off_by: int | None
    ) -> None:
        said = prepared.stated
        line, column = prepared.source.place(said.at if said is not None else 0)
        self.problems.append(
            Problem(
                message,
                line,
                column,
                self.section.title,
                label,
                max(self.rows, 1),
                self.name,
                off_by,
            )
        )

    def _warning(self, message: str, prepared: Prepared) -> None:
        line, column = prepared.source.place()
        self.warnings.append(
            Problem(message, line, column, self.section.title, prepared.label, None, self.name)
        )


def work_between(needle: Needle, items: tuple[Item, ...]) -> Needle | Misfit:
    """Return the needle after what happens between two rows (the stitches are not all worked)."""
    takes_all = any(isinstance(item, Hold) and item.which is not HoldWhich.NEXT for item in items)
    passed = items if takes_all else (*items, Along((_PASSED,)))
    after = work(replace(needle, in_the_round=True), passed)
    if isinstance(after, Misfit):
        return after
    return replace(after, in_the_round=needle.in_the_round)


def net_effect(items: tuple[Item, ...]) -> CountMap | None:
    """Return what a row with markers does to the count, if that is a fixed number; else None."""
    net = 0
    for item in items:
        one = _net(item)
        if one is None:
            return None
        net += one
    return CountMap(b=net, least=max(0, -net))


def _net(item: Item) -> int | None:
    match item:
        case Along():
            inner = [_net(part) for part in item.body]
            if any(part is None for part in inner):
                return None
            return 0 if sum(part or 0 for part in inner) == 0 else None
        case Group():
            inner = [_net(part) for part in item.body]
            if any(part is None for part in inner):
                return None
            return sum(part or 0 for part in inner) * (item.times[0] or 0)
        case InStitch() | Work() | CastOn() | BindOff() | Hold():
            both = fixed((item,))
            return both[1] - both[0] if both is not None else None
        case TakeUp():
            return None
        case _:
            both = fixed((item,))
            return both[1] - both[0] if both is not None else 0


def _all_counted(items: tuple[Item, ...]) -> bool:
    for item in items:
        match item:
            case Work():
                if not item.stitch.counted:
                    return False
            case Group() | InStitch() | Along():
                if not _all_counted(item.body):
                    return False
            case _:
                continue
    return True


def _only_as_set(items: tuple[Item, ...]) -> bool:
    return (
        len(items) == 1
        and isinstance(items[0], Along)
        and all(isinstance(part, Work) and part.stitch.name == "work" for part in items[0].body)
    )


def _numbered(prepared: Prepared) -> bool:
    heading = prepared.line.heading
    if heading is None or prepared.kind is LineKind.GIVEN:
        return False
    return heading.kind in {ph.HeadingKind.NUMBERED, ph.HeadingKind.WHICH}


def _spec_of(instruction: Instruction, base: RowSpec) -> RowSpec:
    fits = count_map(instruction.items)
    effect = fits if fits is not None else net_effect(instruction.items)
    return RowSpec(instruction, base.label, base.line, fits, effect)


def _side_after(side: Side | None, rows: int) -> Side:
    if side is None or side is Side.ROUND:
        return side or Side.RIGHT
    if rows % 2 == 0:
        return side
    return Side.WRONG if side is Side.RIGHT else Side.RIGHT


def _turned(needle: Needle) -> Needle:
    return replace(
        needle, segments=tuple(reversed(needle.segments)), marks=tuple(reversed(needle.marks))
    )


def _times_that_fit(effect: CountMap, start: int, times: int) -> int:
    low, high = 0, times
    while low < high:
        middle = (low + high + 1) // 2
        if effect.power(middle)(start) is not None:
            low = middle
        else:
            high = middle - 1
    return low


def _nearest(fits: CountMap, count: int) -> str:
    """Say which numbers of stitches near this one the row would fit."""
    if not fits.somewhere:
        return ""
    if fits.only is not None:
        return f"; it needs {fits.only}, and {count} are there"
    if fits.modulus == 1:
        return f"; it needs {fits.least} or more" if count < fits.least else ""
    below = count - (count - fits.remainder) % fits.modulus
    above = below + fits.modulus
    legal = [number for number in (below, above) if number >= fits.least] or [fits.least]
    return f"; with {' or '.join(str(number) for number in legal)} in the row it would fit"


def _row_name(name: str) -> tuple[str, ...]:
    same = {
        "decrease": "dec",
        "increase": "inc",
        "rnd": "row",
        "round": "row",
        "rnds": "row",
        "rows": "row",
    }
    return tuple(same.get(word, word) for word in name.replace("-", " ").split())


_PASSED = Work(STITCHES["sl"])
