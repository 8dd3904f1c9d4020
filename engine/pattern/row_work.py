"""Works rows on the needle while a piece is assembled, and says where one does not fit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern.count_map import MOST_STITCHES, CountMap
from engine.pattern.hands import work
from engine.pattern.instruction import Instruction
from engine.pattern.needle import Misfit, Needle
from engine.pattern.notation import (
    BindOff,
    amount_for,
)
from engine.pattern.problems import Problem
from engine.pattern.tree import (
    Event,
    RowSpec,
)

if TYPE_CHECKING:
    from engine.pattern import phrases as ph
    from engine.pattern.lines import Prepared


from engine.pattern.row_effects import nearest_fit
from engine.pattern.so_far import SoFar


class RowWork(SoFar):
    """Works the rows of a piece one after the other."""

    def _work_spec(
        self,
        spec: RowSpec,
        times: int,
        prepared: Prepared,
        first_number: int | None = None,
    ) -> RowSpec:
        """Work a row so many times; report what does not fit. Returns the row as it was worked."""
        before = self.needle
        self._advance(times)
        if before is None and spec.checked and spec.items == (BindOff(),):
            self.needle = Needle((0,), in_the_round=self.in_the_round)
            return spec
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
            hint = nearest_fit(spec.fits, on)
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
