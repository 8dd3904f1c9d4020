"""Lines that go on in a stitch pattern: for so many rows, or until the piece measures so much."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.limits import MOST_ROWS
from engine.pattern import phrases as ph
from engine.pattern.course import OpenLoop, Part, PartnerRows
from engine.pattern.datum import Datum, datum_of
from engine.pattern.hands import work
from engine.pattern.headings import Side
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind, Prepared
from engine.pattern.needle import Misfit, begun_before
from engine.pattern.notation import (
    amount_for,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.routines import AS_SET
from engine.pattern.tree import (
    Progression,
    Routine,
    RowSpec,
    Stretch,
)

if TYPE_CHECKING:
    from engine.quantities import Length

from engine.pattern.row_effects import seen_from_behind
from engine.pattern.row_lines import RowLines

MOST_STEPS = 20_000


class StretchLines(RowLines):
    """Goes through the lines that are stretches."""

    def _set_routine(self, prepared: Prepared) -> None:
        named = prepared.first(ph.InPattern)
        if isinstance(named, ph.InPattern) and named.name != AS_SET:
            self.routine = self._routine_of(prepared)
            self.routine_said = True
        self._begin_side(prepared)

    def _go_on_in(self, chosen: Routine, prepared: Prepared) -> None:
        """Keep the routine for the rows that are worked "as set" afterwards."""
        rows = prepared.first(ph.HowManyRows)
        one = isinstance(rows, ph.HowManyRows) and amount_for(rows.amount, self.size)[0] == 1
        if one and prepared.first(ph.Bare) is not None and not self.in_the_round:
            # "Purl 1 row" is a row of that side; it is not what all rows are worked in from now on.
            self.last_plain[self.side is Side.WRONG] = chosen.specs[0]
            self.routine_said = self.routine_said and self.routine.name != AS_SET
            return
        if chosen.name != AS_SET:
            self.last_plain = {}
        self.routine, self.routine_said = chosen, True

    def _begin_side(self, prepared: Prepared) -> None:
        beginning = prepared.first(ph.Beginning)
        if isinstance(beginning, ph.Beginning):
            side = beginning.side
            if side is None and beginning.face and not self.in_the_round:
                side = Side.WRONG if beginning.face == "p" else Side.RIGHT
            self._side_said(side)

    def _stretch(self, prepared: Prepared) -> None:
        self._begin_side(prepared)
        chosen = self._routine_of(prepared)
        self._go_on_in(chosen, prepared)
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        rows = prepared.first(ph.HowManyRows)
        if until is not None:
            self._open(chosen, until, prepared)
            return
        if isinstance(rows, ph.HowManyRows):
            number = self._rows_in_all(prepared)
            if not number:
                return
            self._closed_stretch(chosen, number, (), prepared)
            return
        if prepared.line.heading is not None:
            self._row_line(replace(prepared, kind=LineKind.STRETCH))
            return
        raise PatternError(Problem("Say for how many rows, or until what it measures.", 1, 1))

    def _rows_in_all(self, prepared: Prepared) -> int:
        """Return how many rows a stretch has: "knit 2 rows A, 2 rows B" are four."""
        said = [one for one in prepared.phrases if isinstance(one, ph.HowManyRows)]
        if len(said) > 1 and not any(isinstance(one, ph.ColourChange) for one in prepared.phrases):
            sentence = "Write each of these stretches of rows as a line of its own."
            raise PatternError(Problem(sentence, 1, said[1].at + 1))
        return sum(amount_for(one.amount, self.size)[0] or 0 for one in said)

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
        self._turned_after(chosen.specs)
        self._emit(node)
        self._work_stretch(node, prepared)
        self._advance(rows)
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
            self._take_stated(stated, prepared)

    def _routine_fits(self, chosen: Routine, prepared: Prepared) -> None:
        if self.needle is None or not self.needle.plain:
            return
        said = prepared.first(ph.InPattern, ph.RepeatRows)
        if said is None or (isinstance(said, ph.InPattern) and said.name == AS_SET):
            return  # "work even" goes on as it may; nothing says over which repeat
        total: int | None = self.needle.total
        for spec in chosen.specs:
            effect = spec.effect
            if spec.fits is None and effect and (effect.a, effect.b, effect.q) == (1, 0, 1):
                continue
            if spec.fits is None or total is None:
                return
            if not spec.fits.fits(total):
                misfit = work(self.needle.with_total(total), spec.items)
                if isinstance(misfit, Misfit):
                    named = replace(spec, label=prepared.label)
                    self._misfit(replace(misfit, at=0), named, prepared, None, 0, on=total)
                return
            total = spec.fits(total)

    def _work_shapings(self, node: Stretch, prepared: Prepared) -> None:
        index, steps = node.next_shaping(0), 0
        flips = 0
        while index is not None and self.needle is not None and steps < MOST_STEPS:
            found = node.at(index, Side.RIGHT, index)
            needle = self.needle
            turned = (index - flips) % 2 == 1 and not self.in_the_round and needle.marks
            after = work(seen_from_behind(needle) if turned else needle, found.instruction.items)
            if isinstance(after, Misfit):
                spec = replace(found.spec, label=prepared.label)
                self._advance(index + 1)
                self._misfit(replace(after, at=0), spec, prepared, None, 0)
                return
            if after == needle and not needle.marks and len(node.progressions) == 1:
                return  # every further time leaves the same stitches
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
        """Begin a stretch whose end is an event: until the piece measures so much."""
        self._turned_after(chosen.specs)
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
        where, datum = "", Datum.CAST_ON
        if isinstance(until, ph.UntilMeasures):
            where = until.where
            datum = datum_of(prepared.line.text, where, for_length=until.for_length)
        loop = OpenLoop(
            f"{self.section.id}{suffix}", target, self.section.id, ends_on, where, datum
        )
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
            if not chosen.unchanging and not self._comes_back(chosen, ending):
                self.needle = None
        elif self.needle is not None:
            self._work_shapings(node, prepared)
            if any(shaping.times >= MOST_ROWS for shaping in shapings):
                self.needle = None  # how often is known only once it measures so much
        stated, _ = self._stated_numbers(prepared)
        if stated is not None:
            self._check_stated(prepared.stated, prepared)
        if isinstance(ending, ph.Ending) and ending.short is not None:
            self._stops_short(ending)
        part = Part(self.section.id, self.section.title, node, self.side, loop, first_rows)
        self.parts.append(replace(part, turned=self.turned))
        self._count(prepared)
        if not self.in_the_round and self.turned:
            if ends_on is not None:
                self.side = Side.RIGHT if ends_on is Side.WRONG else Side.WRONG
            elif len(chosen.specs) % 2 or chosen.by_side:
                self.side = None
        self.part_side = self.side

    def _stops_short(self, ending: ph.Ending) -> None:
        """Begin the next round so many stitches before the end of the last one."""
        short = amount_for(ending.short or (0,), self.size)[0]
        if not self.in_the_round:
            sentence = "Only a round can stop before its end; a row would have to be turned there."
            raise PatternError(Problem(sentence, 1, ending.at + 1))
        if self.needle is None or short is None:
            return
        if not short < self.needle.total:
            sentence = (
                f"{self.needle.total} stitches are there, and the round stops {short} before."
            )
            raise PatternError(Problem(sentence, 1, ending.at + 1))
        self.needle = begun_before(self.needle, short)

    def _comes_back(self, chosen: Routine, ending: ph.Phrase | None) -> bool:
        """Whether whole repeats of the rows, ended after the last of them, keep the count."""
        if self.needle is None or chosen.by_side:
            return False
        if isinstance(ending, ph.Ending) and ending.row is not None:
            numbered = max(self.block.specs, default=len(chosen.specs))
            if ending.row != numbered:
                return False
        effect = chosen.effect_of(len(chosen.specs))
        return effect is not None and effect(self.needle.total) == self.needle.total

    def _target(self, until: ph.Phrase) -> Length | PartnerRows | None:
        match until:
            case ph.UntilMeasures():
                lengths = until.lengths
                return lengths[0] if len(lengths) == 1 else lengths[self.size]
            case ph.UntilSame():
                return PartnerRows(until.text)
            case _:
                return None
