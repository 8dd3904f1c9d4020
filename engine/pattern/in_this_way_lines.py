"""Lines that go on "in this way": the next rows follow from how the last ones differ."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.hands import work
from engine.pattern.instruction import Instruction
from engine.pattern.needle import GAP, Misfit, Needle, net_of
from engine.pattern.notation import Along, Group, Item, TurnWork, Work, amount_for
from engine.pattern.problems import PatternError, Problem
from engine.pattern.repeat_lines import RepeatLines
from engine.pattern.row_effects import spec_of
from engine.pattern.shaping import What, clauses
from engine.pattern.spelling import amount_of
from engine.pattern.stitches import Kind
from engine.pattern.tree import Leaf, RowSpec

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared

_MOST_ROWS = 400
_LOOKED_AT = 4
_ONE_PLACE = frozenset((ph.ChangePlace.BEGINNING, ph.ChangePlace.END, ph.ChangePlace.EDGE))


class InThisWayLines(RepeatLines):
    """Goes through the lines that go on like the rows before them."""

    def _in_this_way(self, prepared: Prepared) -> None:
        count = prepared.first(ph.UntilCount, ph.Remaining)
        target = (
            amount_for(count.amount, self.size)[0]
            if isinstance(count, ph.UntilCount | ph.Remaining)
            else None
        )
        rows = self._tail(_LOOKED_AT)
        if target is None and self._by_schedule(rows, prepared):
            return
        if self.needle is not None and rows and any(_turned(spec.items) for spec in rows[-2:]):
            done = self._on_short_rows(rows, target, prepared)
        elif self.needle is not None and target is not None:
            done = self._on_shaped_rows(target, prepared)
        else:
            done = False
        if not done:
            self._taken_on_trust(prepared, target)
        self._check_after(prepared)
        self._count(prepared)

    def _by_schedule(self, rows: tuple[RowSpec, ...], prepared: Prepared) -> bool:
        """Like "dec as set on every alt row 4 times more": the last shaped row again."""
        schedule = prepared.first(ph.Schedule)
        times = prepared.first(ph.PhraseTimes)
        needle = self.needle
        if needle is None or schedule is None or times is None:
            return False
        shaped = [spec for spec in rows[-2:] if _changes(spec, needle)]
        net = net_of(shaped[-1].items) if shaped else None
        if not shaped or not net or any(_turned(spec.items) for spec in shaped):
            return False
        change = prepared.first(ph.Change)
        if isinstance(change, ph.Change) and change.place in _ONE_PLACE and abs(net) > 1:
            sentence = f"The row before this changes the count by {net:+}, the words say one place."
            raise PatternError(Problem(sentence, 1, change.at + 1))
        said = tuple(one for one in prepared.phrases if not isinstance(one, ph.Change))
        what = What(net, row=shaped[-1].items)
        found = clauses(said, self.size, self._markers(), what)
        self._schedule(found, prepared, None, again=True)
        return True

    def _on_short_rows(
        self, rows: tuple[RowSpec, ...], target: int | None, prepared: Prepared
    ) -> bool:
        """Short rows, each so many stitches longer or shorter than the one before."""
        amounts = [_longest(spec.items) for spec in rows]
        step = _step(amounts)
        said = _step_said(prepared)
        if said is not None and step and abs(step) != said:
            sentence = f"The rows before this go on by {abs(step)}, the words say {said}."
            raise PatternError(Problem(sentence, 1, 1))
        needle = self.needle
        made: list[RowSpec] = []
        while step and needle is not None and len(made) < _MOST_ROWS:
            if _ended(needle, target, amounts[-1]):
                for spec in made:
                    self._work_spec(spec, 1, prepared)
                    self._emit(Leaf(spec))
                return True
            like = ([*rows, *made])[-2]
            amounts.append(amounts[-1] + step)
            items = _with_longest(like.items, amounts[-1])
            after = work(needle, items) if amounts[-1] > 0 else Misfit(None, "")
            if isinstance(after, Misfit):
                break
            needle = after
            made.append(spec_of(Instruction(items), like))
        if all(net_of(spec.items) == 0 for spec in rows[-2:]) and self.needle is not None:
            # However many rows there are, none of them changes the count.
            self.needle = replace(
                self.needle.with_total(self.needle.total), in_the_round=self.in_the_round
            )
            until = ph.UntilSame(prepared.line.text.strip())
            self._open(self._current_routine(), until, prepared)
            self.counts.pop()
            return True
        return False

    def _on_shaped_rows(self, target: int, prepared: Prepared) -> bool:
        """Shaped rows with so many plain ones between, each a little shorter than the last."""
        if self.needle is None or _step_said(prepared) not in {None, 1}:
            return False
        change_said = self._change_said(prepared)
        tail = self._tail(2 * _LOOKED_AT)
        shaped = [spec for spec in tail if spec.effect is not None and _changes(spec, self.needle)]
        if not shaped:
            return False
        schedule = prepared.first(ph.Schedule, ph.EveryRow)
        every = 1 if isinstance(schedule, ph.EveryRow) else 2
        if isinstance(schedule, ph.Schedule):
            if schedule.by_size is not None:
                return False
            every = schedule.every or 1
        plain = [spec for spec in tail if not _changes(spec, self.needle)]
        since = len(tail) - 1 - max(n for n, spec in enumerate(tail) if spec is shaped[-1])
        needle = self.needle
        made: list[RowSpec] = []
        before, last = (shaped[-2].items if len(shaped) > 1 else None), shaped[-1].items
        while needle.total != target and len(made) < _MOST_ROWS:
            items = next_like(before, last)
            if items is None:
                return False
            between = every - 1 - since
            if between > 0 and not plain:
                return False
            made.extend([replace(plain[-1], stated=None, note="")] * max(between, 0))
            after = work(needle, items)
            if isinstance(after, Misfit) or (target - after.total) * (target - needle.total) < 0:
                return False
            if change_said not in {None, after.total - needle.total}:
                sentence = (
                    f"The rows before this change the count by {after.total - needle.total:+d}, "
                    f"the words say {change_said:+d}."
                )
                raise PatternError(Problem(sentence, 1, 1))
            made.append(spec_of(Instruction(items), replace(shaped[-1], label=prepared.label)))
            needle, before, last, since = after, last, items, 0
        for spec in made:
            self._work_spec(spec, 1, prepared)
            self._emit(Leaf(spec))
        return True

    def _change_said(self, prepared: Prepared) -> int | None:
        """Return by how many stitches a row is said to change the count: "cont to dec 8 sts"."""
        change = prepared.first(ph.Change)
        if not isinstance(change, ph.Change) or not _SO_MANY.match(prepared.line.text, change.at):
            return None
        number = amount_for(change.amount, self.size)[0] or 0
        ends = 2 if change.place is ph.ChangePlace.EACH_END else 1
        return number * ends * (1 if change.increases else -1)

    def _taken_on_trust(self, prepared: Prepared, target: int | None) -> None:
        """Carry what is not understood, with the count that the designer states."""
        stated, _ = self._stated_numbers(prepared)
        number = stated if stated is not None else target
        if number is None:
            sentence = (
                "How these rows go on is not clear. Write them out, or state the stitches after "
                "them: (24 sts)."
            )
            raise PatternError(Problem(sentence, 1, 1))
        spec = RowSpec(
            Instruction(text=prepared.line.text.strip()), prepared.label, prepared.source.line,
            stated=number, checked=False, note=prepared.note,
        )  # fmt: skip
        self._emit(Leaf(self._work_spec(spec, 1, prepared)))
        self.trusted = True


_SO_MANY = re.compile(r"(?:[a-z]+ to )?(?:dec|inc)[a-z']*\.? \d", re.IGNORECASE)
_STEP = re.compile(
    r"\b(?P<number>\d+|[a-z]+) (?:(?:more|fewer|less|extra) st|st\w* (?:more|fewer|less))",
    re.IGNORECASE,
)


def _step_said(prepared: Prepared) -> int | None:
    """Return by how many stitches each row differs from the last: "working 1 st less"."""
    found = _STEP.search(prepared.line.text)
    amount = amount_of(found["number"].casefold()) if found is not None else None
    return amount[0] if amount is not None else None


def next_like(before: tuple[Item, ...] | None, last: tuple[Item, ...]) -> tuple[Item, ...] | None:
    """
    Return the row that follows two rows of the same form, each number going on as it began.

    After one row alone the first plain stitches become one fewer, as they do where every
    decrease takes one of them. None where nothing can follow.
    """
    if before is None:
        return _one_fewer(last)
    if len(before) != len(last):
        return None
    made: list[Item] = []
    for was, now in zip(before, last, strict=True):
        match was, now:
            case Work(), Work() if was.stitch == now.stitch:
                number = 2 * (now.amount[0] or 0) - (was.amount[0] or 0)
                if number < 0:
                    return None
                if number:
                    made.append(replace(now, amount=(number,)))
            case Along() | Group(), Along() | Group() if type(was) is type(now):
                inner = next_like(was.body, now.body)
                if not inner:
                    return None
                made.append(_with_body(now, inner))
            case _ if was == now:
                made.append(now)
            case _:
                return None
    return None if tuple(made) == last else tuple(made)


def _one_fewer(items: tuple[Item, ...]) -> tuple[Item, ...] | None:
    for index, item in enumerate(items):
        match item:
            case Work() if item.stitch.kind in {Kind.KNIT, Kind.PURL, Kind.AS_SET}:
                fewer = (item.amount[0] or 0) - 1
                one = (replace(item, amount=(fewer,)),) if fewer > 0 else ()
                return (*items[:index], *one, *items[index + 1 :])
            case Along() | Group():
                inner = _one_fewer(item.body)
                if not inner:
                    return None
                return (*items[:index], _with_body(item, inner), *items[index + 1 :])
            case _:
                continue
    return None


def _with_body(item: Along | Group, body: tuple[Item, ...]) -> Item:
    return replace(item, body=body)


def _changes(spec: RowSpec, needle: Needle) -> bool:
    effect = spec.effect
    if effect is None:
        return True
    if effect.only is not None:
        return effect(effect.only) != effect.only
    return (effect.a, effect.b, effect.q) != (1, 0, 1) and bool(needle.total)


def _turned(items: tuple[Item, ...]) -> bool:
    return any(isinstance(item, TurnWork) for item in items)


def _longest(items: tuple[Item, ...]) -> int:
    """Return how many plain stitches the longest run of a short row has."""
    return max(
        (
            item.amount[0] or 0
            for item in items
            if isinstance(item, Work) and item.stitch.kind in {Kind.KNIT, Kind.PURL}
        ),
        default=0,
    )


def _with_longest(items: tuple[Item, ...], amount: int) -> tuple[Item, ...]:
    longest = _longest(items)
    changed: list[Item] = []
    done = False
    for item in items:
        plain = isinstance(item, Work) and item.stitch.kind in {Kind.KNIT, Kind.PURL}
        if plain and not done and isinstance(item, Work) and item.amount == (longest,):
            changed.append(replace(item, amount=(amount,)))
            done = True
        else:
            changed.append(item)
    return tuple(changed)


def _step(amounts: list[int]) -> int:
    """Return by how much each row is longer than the one before; 0 where that is not regular."""
    steps = [after - before for before, after in pairwise(amounts)]
    if len(steps) > 1 and steps[-1] == steps[-2]:
        return steps[-1]
    return steps[-1] if len(steps) == 1 else 0


def _ended(needle: Needle, target: int | None, longest: int) -> bool:
    if target is not None:
        return target in {needle.total, longest}
    return GAP not in needle.marks
