"""Works rows on the needle while a piece is assembled, and says where one does not fit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.limits import MOST_STITCHES, spend
from engine.pattern.count_map import CountMap, exactly
from engine.pattern.extra_wraps import DROPPED_UNCOUNTED, drops_yarn_overs
from engine.pattern.going_on import ONCE
from engine.pattern.hands import bound_off_places, work
from engine.pattern.instruction import Instruction
from engine.pattern.needle import (
    GAP,
    Misfit,
    Needle,
    count_map,
    fixed,
    has_markers,
    one,
    with_marks,
    without_marks,
)
from engine.pattern.notation import (
    BOUND_OFF,
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    Item,
    StopAt,
    Work,
    amount_for,
)
from engine.pattern.over_gaps import NOT_KNOWN, cast_on_over_gaps, over_each_gap
from engine.pattern.problems import Problem, count_differs
from engine.pattern.tree import (
    Event,
    RowSpec,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern import phrases as ph
    from engine.pattern.lines import Prepared


from engine.pattern.assembly_state import SoFar
from engine.pattern.row_effects import nearest_fit, net_effect

BEFORE_NOT_KNOWN = (
    "How many stitches are on the needle before this is not known; state them in the line before: "
    "(24 sts)."
)
"""What is told of the first row after one that cannot be counted."""


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
        spend(5)
        before = self.needle
        self._advance(times)
        last, self.last_items = self.last_items, spec.items
        other_work = not spec.instruction.stitches_only
        if before is not None and other_work and drops_yarn_overs(spec.items, last):
            self._misfit(Misfit(None, DROPPED_UNCOUNTED), spec, prepared, first_number, 0)
            return spec
        if before is None or not spec.checked:
            self._not_worked(spec, before, prepared)
            total = self.needle.total if self.needle is not None else None
            return spec if total is None else replace(spec, effect=CountMap(0, total))
        if other_work:
            spec = self._over_each_gap(spec, before, last)
            if spec.effect is None and (unknown := cast_on_over_gaps(spec.items)) is not None:
                return self._gaps_not_known(unknown.at, spec, before, prepared, first_number)
            before = self._with_gaps(spec, before)
        if spec.fits is not None and _leaves_a_loop(spec, before.total):
            spec = replace(spec, fits=None, effect=CountMap(b=1 - before.total, least=before.total))
        spec = self._sure(spec, before, prepared)
        if before.plain and spec.fits is not None:
            total = self._worked_plain(spec, times, before, prepared, first_number)
            if total is None:
                return spec
            if spec.fits(before.total) is None:  # stitches picked up beside live ones
                spec = replace(spec, fits=None, effect=CountMap(0, total))
            self._compare_multiple(spec, before.total, prepared)
            self.needle = before if total == before.total else before.with_total(total)
        else:
            needle = before
            for time in range(times):
                after = work(needle, spec.items)
                if isinstance(after, Misfit):
                    self._misfit(after, spec, prepared, first_number, time, times=times)
                    return spec
                same = after == needle
                self.needle = needle = after
                if same:
                    break
            if times == 1 and spec.fits is None:
                spec = replace(spec, effect=_each_time(spec, before.total, needle.total))
        if self.needle is not None and BOUND_OFF in self.needle.marks:
            self.needle = without_marks(self.needle, BOUND_OFF)
        if other_work and _binds_off(spec.items):
            self.bound = before, spec.items, self.rows
        self._compare(spec, before.total, times, prepared)
        return spec

    def _on_trust(self, spec: RowSpec) -> RowSpec:
        """Return a row on trust with its count for those stitches only for which it was told."""
        told = self.told_on.get(spec.line)
        if spec.checked or told is None or spec.effect is None:
            return spec
        return replace(spec, effect=exactly(told, spec.effect.b))

    def _with_gaps(self, spec: RowSpec, before: Needle) -> Needle:
        """Return the needle with the gaps and the bound-off stitches that a row is worked to."""
        name = BOUND_OFF if _names(spec.items, BOUND_OFF) else GAP
        if name == BOUND_OFF or (_to_gap(spec.items) and GAP not in before.marks):
            return self._with_bound_off(before, name)
        return before

    def _not_worked(self, spec: RowSpec, before: Needle | None, prepared: Prepared) -> None:
        """Take what is stated after a row that is not counted."""
        if before is None and spec.checked and spec.items == (BindOff(),):
            self.needle = Needle((0,), in_the_round=self.in_the_round)
        elif before is None:
            if spec.stated is not None:
                self._every_stitch_said(spec, prepared)
                self._goes_on_again()
                self.needle = Needle((spec.stated,), in_the_round=self.in_the_round)
                self.trusted = self.trusted or bool(self.counts)  # not compared with anything
            elif spec.checked:
                self._not_known(prepared)
        else:
            self.told_on.setdefault(spec.line, before.total)
            self.needle = before.with_total(spec.stated) if spec.stated is not None else None
            self.unknown_told = self.unknown_told or "unread" in prepared.cache

    def _every_stitch_said(self, spec: RowSpec, prepared: Prepared) -> None:
        """Compare what is stated with a row that says every one of its stitches."""
        whole = fixed(spec.items)
        if whole is None or spec.stated is None or not whole[0] or self.after_failure:
            return
        several = sum(isinstance(item, Work | Hold) for item in spec.items) > 1
        if several and whole[1] != spec.stated:
            self._stated_differs(whole[1], spec.stated, spec.label, prepared)

    def _gaps_not_known(
        self, at: int, spec: RowSpec, before: Needle, prepared: Prepared, first_number: int | None
    ) -> RowSpec:
        """Take what is stated after a row that casts on over so many gaps as nobody can tell."""
        if spec.stated is None:
            self._misfit(Misfit(None, NOT_KNOWN, at), spec, prepared, first_number, 0)
            return spec
        self.needle = before.with_total(spec.stated)
        return replace(spec, effect=CountMap(0, spec.stated), checked=False)

    def _over_each_gap(self, spec: RowSpec, before: Needle, last: tuple[Item, ...]) -> RowSpec:
        """Return a row that casts on over all gaps of the row before as the work that it is."""
        if cast_on_over_gaps(spec.items) is None:
            return spec
        places: tuple[int, ...] = ()
        bound: tuple[Item, ...] = ()
        if self.bound is not None and self.bound[2] == self.rows - 1:
            bound = self.bound[1]
            places = bound_off_places(self.bound[0], bound, turned=False)
        items = over_each_gap(spec.items, bound, len(places))
        if items is None or not (places or last):  # a row that was not read may have left any
            return replace(spec, fits=None, effect=None)
        if items == spec.items:
            return spec
        added = sum(one(item.amount) for item in items if isinstance(item, CastOn))
        return replace(
            spec,
            instruction=replace(spec.instruction, items=items),
            fits=None,
            effect=CountMap(b=added, least=before.total),
        )

    def _with_bound_off(self, needle: Needle, name: str) -> Needle:
        """Return the needle with marks where stitches were bound off on the last such row."""
        if self.bound is None:
            return needle
        on, items, rows = self.bound
        turned = not self.in_the_round and (self.rows - 1 - rows) % 2 == 0
        return with_marks(needle, bound_off_places(on, items, turned=turned), name)

    def _not_known(self, prepared: Prepared) -> None:
        """Say, once, that from here on nothing can be counted: that is never called right."""
        if self.after_failure or self.unknown_told:
            return
        self.unknown_told = True
        if self.cast_on is None and not self.counts:
            sentence = "How many stitches are cast on is not said: cast_on = 24."
        else:
            sentence = BEFORE_NOT_KNOWN
        line, column = prepared.source.place()
        self.problems.append(
            Problem(sentence, line, column, self.section.title, prepared.label, None, self.name)
        )

    def _sure(self, spec: RowSpec, before: Needle, prepared: Prepared) -> RowSpec:
        """
        Settle "rep from * 3 times": three more, unless only three in all fits the row.

        Both readings are in print; the count decides (common practice, no source).
        """
        if not _unsure(spec.items):
            return spec
        for fewer in (False, True):
            items = _settled(spec.items, fewer=fewer)
            after = work(before, items)
            if isinstance(after, Misfit) or (spec.stated not in {None, after.total}):
                continue
            if not fewer:
                return spec
            self._warning("The repeat is meant so many times in all here, not more.", prepared)
            fits = count_map(items)
            effect = fits if fits is not None else net_effect(items)
            instruction = replace(spec.instruction, items=items)
            return replace(spec, instruction=instruction, fits=fits, effect=effect)
        return spec

    def _compare_multiple(self, spec: RowSpec, before: int, prepared: Prepared) -> None:
        """Warn of a repeat that fits this count by luck but not the multiple that is stated."""
        heading = prepared.line.heading
        if self.multiple is None or self.cast_on is None or heading is None or not heading.numbers:
            return
        number, plus = self.multiple
        repeats, off = divmod(self.cast_on - plus, number)
        group = next((_group_of(item) for item in spec.items if _group_of(item)), 0)
        if off or repeats <= 0 or not group:
            return
        grown, rest = divmod(before - self.cast_on, repeats)
        expected = number + grown
        if rest or expected <= 0 or expected % group == 0 or group % expected == 0:
            return
        self._warning(
            f"The repeat takes {group} stitches and happens to fit {before}, but by the stated "
            f"multiple each pattern has {expected} here.",
            prepared,
        )

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
        if not isinstance(misfit, Misfit) and times == 1:
            return misfit.total
        if not isinstance(misfit, Misfit):
            misfit = Misfit(None, f"More than {MOST_STITCHES:,} stitches are no piece")
        self._misfit(misfit, spec, prepared, first_number, time, on=count, times=times)
        return None

    def _misfit(
        self,
        misfit: Misfit,
        spec: RowSpec,
        prepared: Prepared,
        first_number: int | None,
        time: int,
        *,
        on: int | None = None,
        times: int = 1,
    ) -> None:
        if self.unknown_told and any(has_markers(item) for item in spec.items):
            # Where the markers are is not known after a row that was not read.
            self.needle, self.after_failure = None, True
            return
        which = ""
        heading = prepared.line.heading
        if heading is not None and len(heading.numbers) > 1 and first_number is not None:
            which = f"Row {first_number + time}: "
        hint = ""
        if misfit.off_by is not None and on is not None and spec.fits is not None:
            cast_on = on == self.cast_on and all(count.stitches == on for count in self.counts)
            hint = nearest_fit(spec.fits, on, "cast on" if cast_on else "in the row")
        sentence = f"{which}{misfit.message}{hint}."
        line, column = prepared.source.place(misfit.at)
        number = self.rows - times + time + 1
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
        if times == 1 and spec.stated is not None:
            self._goes_on_again()
            self._take_stated(spec.stated, prepared)

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
        if said is None or said.change or said.part:
            return
        number = amount_for(said.amount, self.size)[0]
        if number is None:
            return
        if self.needle is None:
            self._goes_on_again()
            self._take_stated(number, prepared)
            return
        if self.needle.total != number:
            self._stated_differs(self.needle.total, number, self._last_label(prepared), prepared)

    def _last_label(self, prepared: Prepared) -> str:
        return self.counts[-1].row if self.counts else prepared.label

    def _stated_differs(self, total: int, stated: int, label: str, prepared: Prepared) -> None:
        self._add_problem(
            count_differs(total, stated), prepared, label, total - stated,
        )  # fmt: skip

    def _check_after(self, prepared: Prepared) -> None:
        stated, _ = self._stated_numbers(prepared)
        if stated is None:
            return
        if self.needle is None:
            self._goes_on_again()
            self._take_stated(stated, prepared)
            return
        if self.needle.total != stated:
            self._stated_differs(self.needle.total, stated, prepared.label, prepared)

    def _goes_on_again(self) -> None:
        """Count on from what is stated after a fault; where the markers are is not known."""
        if self.after_failure:
            self.after_failure, self.unknown_told = False, True

    def _take_stated(self, number: int, prepared: Prepared) -> None:
        """Go on with the stitches that are stated after a row whose count is not known."""
        self.needle = Needle((number,), in_the_round=self.in_the_round)
        spec = RowSpec(
            Instruction(), prepared.label, prepared.source.line, effect=CountMap(0, number)
        )
        self._emit(Event(spec, within=True))


def _each_time(spec: RowSpec, before: int, after: int) -> CountMap:
    """Return what a row between markers does each time that it is worked.

    It makes or takes away as many stitches as the first time: so many at every marker. What lays
    stitches aside, binds them off or works only some of them leaves as many as it did.
    """
    if spec.effect is not None and spec.effect(before) == after:
        return spec.effect
    if any(isinstance(item, ONCE) for item in _flat(spec.items)):
        return CountMap(0, after)
    return CountMap(b=after - before, least=max(0, before - after))


def _flat(items: tuple[Item, ...]) -> Iterator[Item]:
    for item in items:
        yield item
        if isinstance(item, Along | Group):
            yield from _flat(item.body)


def _names(items: tuple[Item, ...], mark: str) -> bool:
    """Whether the row goes to a mark of that name."""
    return any(
        (isinstance(item, Along) and (item.stop.mark == mark or _names(item.body, mark)))
        or (isinstance(item, Group) and _names(item.body, mark))
        for item in items
    )


def _binds_off(items: tuple[Item, ...]) -> bool:
    """Whether a row binds off so many stitches within it."""
    return any(
        (isinstance(item, BindOff) and item.amount is not None)
        or (isinstance(item, Group | Along) and _binds_off(item.body))
        for item in items
    )


def _to_gap(items: tuple[Item, ...]) -> bool:
    return any(isinstance(item, Along) and item.stop.kind is StopAt.GAP for item in items)


def _leaves_a_loop(spec: RowSpec, count: int) -> bool:
    """Whether a row ends by binding off all stitches but the one that is left by it."""
    last = spec.items[-1] if spec.items else None
    if not isinstance(last, BindOff) or spec.fits is None or len(spec.items) > 1:
        return False
    if last.amount is not None:
        return not last.rest and spec.fits.only == count - 1
    return last.stop is not None and last.stop.left == (1,)


def _group_of(item: Item) -> int:
    """Return how many stitches a starred repeat along the row takes each time; 0 for others."""
    if not isinstance(item, Along) or not item.star:
        return 0
    inner = fixed(item.body)
    return inner[0] if inner is not None else 0


def _unsure(items: tuple[Item, ...]) -> bool:
    return any(isinstance(item, Group) and item.unsure for item in items)


def _settled(items: tuple[Item, ...], *, fewer: bool) -> tuple[Item, ...]:
    return tuple(
        replace(item, times=tuple(n and n - fewer for n in item.times), unsure=False)
        if isinstance(item, Group) and item.unsure
        else item
        for item in items
    )
