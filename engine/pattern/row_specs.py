"""From a prepared line to the row that it means for one size, and the routine that goes on."""

from __future__ import annotations

from dataclasses import replace

from engine.limits import spend
from engine.pattern import phrases as ph
from engine.pattern.blocks import Block
from engine.pattern.count_map import CountMap
from engine.pattern.going_on import goes_on_over, over_any_count, worked_again
from engine.pattern.headings import Side, Which
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind, Prepared
from engine.pattern.needle import count_map
from engine.pattern.notation import (
    Work,
    amount_for,
    items_for,
)
from engine.pattern.other_pieces import takes_from_others, with_other_pieces
from engine.pattern.problems import PatternError, Problem
from engine.pattern.routines import AS_SET, routine
from engine.pattern.row_effects import all_counted, net_effect, only_as_set, spec_of
from engine.pattern.row_work import RowWork
from engine.pattern.shaping import What, clauses
from engine.pattern.tree import (
    Leaf,
    Routine,
    RowSpec,
)


class RowSpecs(RowWork):
    """Makes the rows that lines mean."""

    def _spec(self, prepared: Prepared) -> RowSpec | None:
        """Return the row of a line for this size; the same value for all sizes where it can be."""
        known = prepared.cache.get("spec")
        if isinstance(known, RowSpec) and not prepared.graded:
            return known
        spec = self._make_spec(prepared)
        alike = not prepared.graded and not (prepared.row and takes_from_others(prepared.row.items))
        if spec is not None and alike:
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
        if takes_from_others(items):
            begun = self.cast_on is not None or bool(self.rows)
            items = with_other_pieces(items, self.others, self.needle, begun=begun)
        fits = count_map(items)
        counted = all_counted(items)
        effect = fits if fits is not None else net_effect(items)
        if not counted:
            effect = CountMap(0, stated) if stated is not None else None
        name = self.routine.name if only_as_set(items) else ""
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

    def _as_many_rows(self, prepared: Prepared, repeated: int) -> None:
        """Compare "Rows 10-33: repeat rows 6-9 six more times" with the rows of the heading."""
        times, heading = prepared.first(ph.PhraseTimes), prepared.line.heading
        if not isinstance(times, ph.PhraseTimes) or heading is None:
            return
        number, rows = amount_for(times.amount, self.size)[0] or 0, len(heading.numbers)
        right = {number, number - 1} if times.more is False else {number}
        if rows and rows not in {each * repeated for each in right}:
            sentence = f"These are {rows} rows, and {repeated} rows {number} times are not."
            raise PatternError(Problem(sentence, 1, times.at + 1))

    def _named_row(self, said: ph.RepeatRows) -> RowSpec:
        wanted = _row_name(said.name)
        for name, spec in reversed(self.named.items()):
            if _row_name(name) == wanted:
                return spec
        for name, spec in reversed(self.named.items()):
            if set(wanted) <= set(_row_name(name)) or set(_row_name(name)) <= set(wanted):
                return spec
        if self.nodes and isinstance(self.nodes[-1], Leaf) and said.last is not None:
            return self.nodes[-1].spec  # "rep this dec row": the one just worked
        known = ", ".join(self.named) or "none has a name"
        raise PatternError(
            Problem(f"There is no row called '{said.name}' before this ({known}).", 1, said.at + 1)
        )

    def _specs_for_heading(
        self, prepared: Prepared, specs: dict[int, tuple[RowSpec, Prepared]]
    ) -> list[RowSpec]:
        """Return the rows under a numbered heading: one for all, or those that it repeats."""
        if prepared.kind is LineKind.REPEAT:
            said = prepared.first(ph.RepeatRows)
            if "rows of" in prepared.cache:
                raise PatternError(Problem("Write these rows here; they stand elsewhere.", 1, 1))
            own = {number: spec for number, (spec, _) in specs.items()}
            heading = prepared.line.heading
            first = min([*own, *(heading.numbers if heading is not None else ())], default=0)
            known = {**self.block.before(first), **own} if own else self.block.before(None)
            spend(len(known))
            if isinstance(said, ph.RepeatRows) and said.numbers:
                spend(len(said.numbers))
                missing = [number for number in said.numbers if number not in known]
                if missing:
                    raise PatternError(
                        Problem(f"There is no row {missing[0]} to repeat here.", 1, 1)
                    )
                own_side = heading.side if heading is not None else None
                self._as_many_rows(prepared, len(said.numbers))
                return [
                    replace(known[number], stated=None, side=own_side) for number in said.numbers
                ]
            if isinstance(said, ph.RepeatRows) and said.name and not said.last:
                return [replace(self._named_row(said), stated=None, side=None)]
            if isinstance(said, ph.RepeatRows) and said.last is not None:
                last = amount_for(said.last, self.size)[0] or 1
                again = (known[number] for number in sorted(known)[-last:])
                return [replace(spec, stated=None, side=None) for spec in again]
        if prepared.kind is LineKind.STRETCH:
            current = self._routine_of(prepared)
            label = prepared.label
            heading = prepared.line.heading
            numbers = heading.numbers if heading is not None else ()
            if prepared.first(ph.InPattern) and any(_changes(spec) for spec, _ in specs.values()):
                current = over_any_count(current)  # these rows come after some that change it
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
        fillers: list[tuple[Which, RowSpec, Prepared, int]] = []
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
        """Return the routine that goes on; what does not fit the stitches any more is "as set"."""
        chosen = self._rows_as_set()
        total = self.needle.total if self.needle is not None else None
        if total is None or not chosen.unchanging or goes_on_over(chosen, total):
            return chosen
        again = routine(chosen.name, in_the_round=self.in_the_round, stitches=total)
        return again if goes_on_over(again, total) else over_any_count(chosen)

    def _rows_as_set(self) -> Routine:
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
            if not spec.instruction.stitches_only:
                items = worked_again(spec.items)
                if items is None:
                    return
                if items != spec.items:
                    spec = spec_of(replace(spec.instruction, items=items), spec)
            said = spec.side is not None or spec.stated is not None or spec.note
            self.last_plain[wrong and not self.in_the_round] = (
                replace(spec, side=None, stated=None, note="") if said else spec
            )
            self.routine_said = False


def _changes(spec: RowSpec) -> bool:
    effect = spec.effect
    return effect is None or (effect.a, effect.b, effect.q) != (1, 0, 1)


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
