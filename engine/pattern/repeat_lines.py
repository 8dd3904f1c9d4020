"""Lines that repeat rows: by number, the last so many, or by name."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.assembly_state import side_after
from engine.pattern.blocks import Block
from engine.pattern.changes_said import compare_with_rows, number_changed_to, on_last_row
from engine.pattern.count_map import CountMap
from engine.pattern.hands import work
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind
from engine.pattern.needle import GAP, Misfit, has_markers, without_first
from engine.pattern.notation import (
    amount_for,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.routines import AS_SET
from engine.pattern.shaping import What, clauses
from engine.pattern.tree import (
    Event,
    Leaf,
    Node,
    Repeat,
    Routine,
    RowSpec,
    Sequence,
)

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared
    from engine.pattern.needle import Needle


from engine.pattern.row_effects import spec_of, times_that_fit
from engine.pattern.shaping_lines import ShapingLines
from engine.pattern.stretch_lines import MOST_STEPS

LONGEST_TAIL = 2_000
_UNWRAPPED = re.compile(r"\bunwrapped\b", re.IGNORECASE)

_WORK_THIS = re.compile(r"work (?:this|these|the last|last) ", re.IGNORECASE)


class RepeatLines(ShapingLines):
    """Goes through the lines that repeat rows."""

    def _repeat(self, prepared: Prepared) -> None:
        last = on_last_row(prepared)
        if last is None:
            self._repeat_rows(prepared)
            return
        rows, change, words = last
        self._repeat_rows(rows)
        if self.needle is not None:
            self._changed_on_last_row(change, words, prepared)
        self._replace_count(prepared)

    def _shaping(self, prepared: Prepared) -> None:
        """Shape; "work 16 rows in rib, inc 1 st on last row" are sixteen rows, and then that."""
        last = on_last_row(prepared)
        rows = prepared.first(ph.HowManyRows, ph.UntilMeasures, ph.UntilSame)
        if last is None or rows is None or prepared.line.heading is not None:
            super()._shaping(prepared)
            return
        plain, change, words = last
        self._stretch(plain)
        if self.needle is not None:
            self._changed_on_last_row(change, words, prepared)
        self._replace_count(prepared)

    def _changed_on_last_row(self, change: ph.Change, words: str, prepared: Prepared) -> None:
        if self.needle is None:
            return
        number = number_changed_to(prepared, change, self.size, self.needle.total)
        if not number:
            self._check_after(prepared)
            return
        total = self.needle.total + number
        self.needle = self.needle.with_total(max(total, 0))
        effect = CountMap(b=number, least=max(0, -number))
        spec = RowSpec(Instruction(), prepared.label, prepared.source.line, effect=effect)
        self._emit(Event(spec, within=True))
        self.pending_notes.append(words.strip())
        self._check_after(prepared)

    def _repeat_rows(self, prepared: Prepared) -> None:
        said = prepared.first(ph.RepeatRows)
        if not isinstance(said, ph.RepeatRows):
            raise TypeError("A repeat says what is repeated.")
        if said.name:
            self._repeat_named(said, prepared)
            return
        elsewhere = prepared.cache.get("rows of")
        if isinstance(elsewhere, tuple):
            self._rows_from_elsewhere(said, elsewhere, prepared)
            return
        body, folded = self._rows_to_repeat(said)
        if not body and said.everything:
            going_on = ph.InPattern(AS_SET, at=said.at)
            phrases = tuple(going_on if one is said else one for one in prepared.phrases)
            line = replace(prepared.line, phrases=phrases)
            self._stretch(replace(prepared, line=line, kind=LineKind.STRETCH))
            return
        if not body:
            raise PatternError(
                Problem("There are no rows before this to be repeated.", 1, said.at + 1)
            )
        compare_with_rows(prepared, body, self.size)
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        count = prepared.first(ph.UntilCount)
        times = prepared.first(ph.PhraseTimes)
        rows = prepared.first(ph.HowManyRows)
        if until is not None:
            specs = tuple(replace(spec, side=None, stated=None, note="") for spec in body)
            chosen = Routine("", specs, by_side=False)
            start = self._take_back(folded)
            self._open(chosen, until, prepared, first_rows=start)
            return
        if isinstance(count, ph.UntilCount):
            more = self._times_until(body, count, prepared)
        elif prepared.first(ph.UntilWorked) is not None:
            more = self._times_until_worked(body)
        elif isinstance(times, ph.PhraseTimes):
            more = self._more_times(times, body, prepared)
        elif isinstance(rows, ph.HowManyRows):
            more, rest = divmod(amount_for(rows.amount, self.size)[0] or 0, len(body))
            if rest:
                self._plain_repeat(body, folded, more, prepared)
                for spec in body[:rest]:
                    worked = self._work_spec(replace(spec, stated=None, note=""), 1, prepared)
                    self._emit(Leaf(worked))
                self._replace_count(prepared)
                return
        else:
            more = 1
        self._plain_repeat(body, folded, more, prepared)

    def _rows_from_elsewhere(
        self, said: ph.RepeatRows, lines: tuple[Prepared, ...], prepared: Prepared
    ) -> None:
        """Rows of another part: they become rows of this one, worked once before any repeat."""
        specs: dict[int, tuple[RowSpec, Prepared]] = {}
        for line in lines:
            heading = line.line.heading
            many = self._specs_for_heading(line, specs)
            for index, number in enumerate(heading.numbers if heading is not None and many else ()):
                specs[number] = (many[index % len(many)], line)
        missing = [number for number in said.numbers if number not in specs]
        if missing:
            sentence = f"There is no row {missing[0]} of '{said.of}'; write the rows here."
            raise PatternError(Problem(sentence, 1, said.at + 1))
        self.block = Block(
            {
                number: replace(specs[number][0], stated=None, stated_change=None, note="")
                for number in said.numbers
            },
            len(self.nodes),
        )
        body = tuple(self.block.specs[number] for number in said.numbers)
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        if until is not None:
            self._open(Routine("", body, by_side=False), until, prepared)
            return
        if prepared.first(ph.UntilCount, ph.UntilWorked, ph.Change) is not None:
            raise PatternError(Problem("Say how often these rows are worked.", 1, said.at + 1))
        times, rows = prepared.first(ph.PhraseTimes), prepared.first(ph.HowManyRows)
        number = len(body)
        if isinstance(times, ph.PhraseTimes):
            number *= amount_for(times.amount, self.size)[0] or 0
        elif isinstance(rows, ph.HowManyRows):
            number = amount_for(rows.amount, self.size)[0] or 0
        self._plain_repeat(body, 0, number // len(body), prepared)
        for spec in body[: number % len(body)]:
            self._emit(Leaf(self._work_spec(spec, 1, prepared)))
        self._replace_count(prepared)

    def _more_times(
        self, times: ph.PhraseTimes, body: tuple[RowSpec, ...], prepared: Prepared
    ) -> int:
        number = amount_for(times.amount, self.size)[0] or 0
        if times.more is False:
            return max(number - 1, 0)
        if times.more is None and number > 1 and self._once_more_or_in_all(prepared, times):
            sentence = "Is the row just worked one of these? Say 'more' or 'in all'."
            raise PatternError(Problem(sentence, 1, times.at + 1))
        if times.more is None and number > 1:
            # "3 times" may mean three in all: only a stated count can tell.
            stated, _ = self._stated_numbers(prepared)
            if stated is not None and self.needle is not None:
                for tried in (number, number - 1):
                    if self._count_after(body, tried) == stated:
                        return tried
        return number

    def _once_more_or_in_all(self, prepared: Prepared, times: ph.PhraseTimes) -> bool:
        """Whether nobody can tell if "work this row 4 times" counts the time before."""
        said = prepared.first(ph.RepeatRows)
        if not isinstance(said, ph.RepeatRows) or self._stated_numbers(prepared)[0] is not None:
            return False
        return _WORK_THIS.match(prepared.line.text[said.at : times.at]) is not None

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
        start, as_told = self.needle, Sequence([Leaf(spec) for spec in body]).effect
        body = tuple(self._on_trust(spec) for spec in body)
        clean = [replace(spec, note="", stated=None, stated_change=None) for spec in body]
        self._turned_after(body)
        if folded:
            del self.nodes[len(self.nodes) - folded :]
        first_rows = len(body) if folded else 0
        child = Sequence([Leaf(spec) for spec in (body if folded else clean)])
        node = Repeat(child, more + (1 if folded else 0), line=prepared.source.line)
        self._work_repeat(clean, more, prepared)
        if start is not None and self.needle is None and as_told is not None:
            self._compare_trusted(body, more, start.total, as_told.power(more), prepared)
        self.nodes.append(node)
        _ = first_rows
        self._check_after(prepared)
        self._count(prepared)

    def _compare_trusted(
        self,
        body: tuple[RowSpec, ...],
        times: int,
        start: int,
        as_told: CountMap,
        prepared: Prepared,
    ) -> None:
        """
        Compare the count stated after rows on trust that come again.

        They change as many stitches each time, or leave as many: another count is a fault.
        """
        self.trusted = True
        stated, _ = self._stated_numbers(prepared)
        effects = [spec.effect for spec in body]
        if stated is None or stated == as_told(start):
            return
        left = start
        for effect in effects:
            if effect is None or (effect.only is None and (effect.a, effect.q) != (1, 1)):
                return
            left += times * (effect.b - (effect.only or 0))
        if left != stated:
            self._stated_differs(max(left, 0), stated, prepared.label, prepared)

    def _work_repeat(self, body: list[RowSpec], times: int, prepared: Prepared) -> None:
        """Work rows again and again; the count is computed where it can be, else stepped."""
        if self.needle is None or any(not spec.checked for spec in body):
            self._advance(len(body) * times)
            if self.needle is not None:
                effect = Sequence([Leaf(spec) for spec in body]).effect
                total = None if effect is None else effect.power(times)(self.needle.total)
                self.needle = None if total is None else self.needle.with_total(total)
            return
        if self.needle.plain and all(spec.fits is not None for spec in body):
            effect = Sequence([Leaf(spec) for spec in body]).effect
            start = self.needle.total
            if effect is not None and (total := effect.power(times)(start)) is not None:
                self._advance(len(body) * times)
                self.needle = self.needle.with_total(total)
                return
            if effect is not None:
                done = times_that_fit(effect, start, times)
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
                self._work_spec(spec, 1, prepared)
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
        if count.between:
            return self._times_until_between(body, target, prepared, count.at)
        if _UNWRAPPED.search(prepared.line.text) is not None and self.needle.behind:
            times = self._times_until_unwrapped(body, target)
            if times is not None:
                return times
        start = self.needle.total
        effect = Sequence([Leaf(spec) for spec in body]).effect
        current, times = start, 0
        while effect is not None and current != target:
            after = effect(current)
            if after is None or after == current or (after - start) * (target - after) < 0:
                break
            current, times = after, times + 1
        if current != target and self.unknown_told and _not_counted(body):
            # What an unread row does, or one at markers after a fault, is not known.
            self._take_stated(target, prepared)
            self.trusted = True
            return 0
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

    def _times_until_unwrapped(self, body: tuple[RowSpec, ...], target: int) -> int | None:
        """Return how often short rows are repeated until so few are left between the wraps."""
        needle, times = self.needle, 0
        while needle is not None and needle.behind and times < MOST_STEPS // len(body):
            before = without_first(needle, needle.behind)
            if GAP not in before.marks or before.segments[0] < target:
                return None
            if before.segments[0] == target:
                return times
            needle, times = _worked_once(needle, body), times + 1
        return None

    def _times_until_between(
        self, body: tuple[RowSpec, ...], target: int, prepared: Prepared, at: int
    ) -> int:
        """Return how often rows are repeated until so many stitches are between two markers."""
        needle, times, nearest = self.needle, 0, -1
        while needle is not None and times < MOST_STEPS // len(body):
            inner = needle.segments[1:-1]
            if target in inner:
                return times
            if inner:
                nearest = min(inner, key=lambda count: abs(count - target))
            if not inner or min(inner) > target:
                break
            needle, times = _worked_once(needle, body), times + 1
        line, column = prepared.source.place(at)
        said = f"; the nearest is {nearest}" if nearest >= 0 else ""
        sentence = f"Repeating these rows never leaves {target} between the markers{said}."
        self.problems.append(
            Problem(
                sentence, line, column, self.section.title, prepared.label, max(self.rows, 1),
                self.name, nearest - target if nearest >= 0 else None,
            )
        )  # fmt: skip
        self.needle, self.after_failure = None, True
        return 0

    def _times_until_worked(self, body: tuple[RowSpec, ...]) -> int:
        """Return how often short rows are repeated until no gap is left."""
        needle, times = self.needle, 0
        while needle is not None and GAP in needle.marks:
            if times >= needle.total:
                sentence = "Say how often these rows are worked: a gap is left each time."
                raise PatternError(Problem(sentence, 1, 1))
            after = _worked_once(needle, body)
            if after is None:
                return times
            needle, times = after, times + 1
        return times

    def _rows_to_repeat(self, said: ph.RepeatRows) -> tuple[tuple[RowSpec, ...], int]:
        """Return the rows that are meant, and how many of the last nodes are exactly they."""
        if said.numbers:
            body = self.block.meant(said)
        elif said.last is not None:
            count = amount_for(said.last, self.size)[0] or 0
            body = self._tail(count)
            if len(body) < count:
                raise PatternError(
                    Problem(f"Only {len(body)} rows stand before this.", 1, said.at + 1)
                )
        else:
            body = self.block.rows or self._tail(1)
        return body, self._folds(body)

    def _tail(self, count: int) -> tuple[RowSpec, ...]:
        """Return the last so many rows."""
        rows: list[RowSpec] = []
        for node in reversed([*self._open_nodes(), *self.nodes]):
            for index in range(node.rows - 1, max(node.rows - 1 - count, -1), -1):
                if len(rows) >= min(count, LONGEST_TAIL):
                    return tuple(reversed(rows))
                found = node.at(index, side_after(self.side, len(rows) + 1), index)
                spec = (
                    found.spec
                    if found.instruction is found.spec.instruction
                    else spec_of(found.instruction, found.spec)
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

    def _take_back(self, folded: int) -> int:
        """Take the rows worked once already into the loop that repeats them."""
        if not folded:
            return 0
        del self.nodes[len(self.nodes) - folded :]
        self.rows -= folded
        if folded % 2 and self.turned and not self.in_the_round and self.side is not None:
            self.side = side_after(self.side, 1)
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
            self._schedule(found, prepared, until, again=True)
            return
        if until is not None:
            chosen = Routine("", (clean,), by_side=False)
            self._open(chosen, until, prepared, first_rows=self._take_back(self._folds((clean,))))
            return
        count = prepared.first(ph.UntilCount)
        times = prepared.first(ph.PhraseTimes)
        if isinstance(count, ph.UntilCount):
            more = self._times_until((clean,), count, prepared)
        elif isinstance(times, ph.PhraseTimes):
            more = self._more_times(times, (clean,), prepared)
        else:
            more = 1
        self._plain_repeat((clean,), self._folds((clean,)), more, prepared)

    def _net_of(self, spec: RowSpec) -> int:
        if spec.effect is None:
            # At markers: as often as there are markers now.
            if self.needle is None:
                return 0
            worked = work(self.needle, spec.items)
            return 0 if isinstance(worked, Misfit) else worked.total - self.needle.total
        if (spec.effect.a, spec.effect.q) == (1, 1):
            return spec.effect.b
        if self.needle is not None and (after := spec.effect(self.needle.total)) is not None:
            return after - self.needle.total
        return 0


def _not_counted(body: tuple[RowSpec, ...]) -> bool:
    """Whether what rows do to the count is not known: they are unread, or worked to markers."""
    return any(not spec.checked or any(map(has_markers, spec.items)) for spec in body)


def _worked_once(needle: Needle, body: tuple[RowSpec, ...]) -> Needle | None:
    """Return the needle after some rows, each worked once; None where one does not fit."""
    for spec in body:
        after = work(needle, spec.items)
        if isinstance(after, Misfit):
            return None
        needle = after
    return needle
