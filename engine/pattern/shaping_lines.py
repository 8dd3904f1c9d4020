"""Lines of shaping: on which rows, how often, and what is shaped at the same time."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.count_map import CountMap
from engine.pattern.going_on import fits_any_count, over_any_count
from engine.pattern.headings import HeadingKind, Side
from engine.pattern.instruction import Instruction
from engine.pattern.needle import count_map
from engine.pattern.notation import amount_for
from engine.pattern.problems import PatternError, Problem
from engine.pattern.routines import AS_SET, routine
from engine.pattern.shaping import Clause, What, clauses, progressions
from engine.pattern.tree import (
    Progression,
    RowSpec,
    Stretch,
)

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared


from engine.pattern.row_effects import net_effect
from engine.pattern.stretch_lines import StretchLines


class ShapingLines(StretchLines):
    """Goes through the lines that shape."""

    def _shaping(self, prepared: Prepared) -> None:
        heading = prepared.line.heading
        if heading is not None and heading.kind in {HeadingKind.NEXT, HeadingKind.NAMED}:
            schedules = prepared.first(ph.Schedule, ph.UntilCount, ph.PhraseTimes)
            if schedules is None:
                self._row_line(prepared)
                return
        until = prepared.first(ph.UntilMeasures, ph.UntilSame)
        prepared = _first_counted(prepared)
        found = clauses(prepared.phrases, self.size, self._markers())
        self._schedule(found, prepared, until)

    def _schedule(
        self,
        found: list[Clause],
        prepared: Prepared,
        until: ph.Phrase | None,
        *,
        again: bool = False,
    ) -> None:
        """Shape on the rows that clauses say; `again`: a row that was worked already is meant."""
        count = self.needle.total if self.needle is not None else None
        found = self._in_all_or_more(self._in_all(found, prepared, again=again), prepared)
        stretches = [one for one in prepared.phrases if isinstance(one, ph.HowManyRows)]
        if len(stretches) > 1:
            sentence = "Write each of these rows, and the row that is shaped, as a line of its own."
            raise PatternError(Problem(sentence, 1, stretches[1].at + 1))
        said = prepared.first(ph.HowManyRows)
        whole = amount_for(said.amount, self.size)[0] if isinstance(said, ph.HowManyRows) else None
        only = whole if len(found) == 1 else None
        made = progressions(
            found, self.size, count, endless=until is not None, rows=only,
            side=self._side_of_first(prepared),
        )  # fmt: skip
        shapings = tuple(
            self._with_row(shaping, clause.what, prepared)
            for shaping, clause in zip(made, list(found), strict=False)
        )
        if not shapings:
            return
        if any(isinstance(item, ph.InPattern) and item.name != AS_SET for item in prepared.phrases):
            self.routine, self.routine_said = self._routine_of(prepared), True
        chosen = self._current_routine()
        if not chosen.unchanging:
            chosen = routine(AS_SET, in_the_round=self.in_the_round, stitches=None)
        if not fits_any_count(chosen):
            chosen = over_any_count(chosen)
        if prepared.meanwhile and self.nodes and isinstance(self.nodes[-1], Stretch):
            self._merge(shapings, prepared)
            return
        if prepared.meanwhile and self.parts and self.parts[-1].loop is not None and not self.nodes:
            self._merge_open(shapings, prepared)
            return
        if until is not None:
            self._open(chosen, until, prepared, shapings)
            return
        rows = max(shaping.last for shaping in shapings)
        if whole and rows_after_shaping(prepared):
            if len(made) > 1:
                sentence = "Write each of these shapings and the rows between as a line of its own."
                raise PatternError(Problem(sentence, 1, found[-1].at + 1))
            rows += whole
        elif whole and rows > whole and until is None:
            sentence = f"What is shaped here takes {rows} rows, the words say {whole}."
            raise PatternError(Problem(sentence, 1, 1))
        elif whole and whole > 1 and _on_one_row(found) and not _which_row_said(prepared):
            sentence = "On which of these rows is it shaped? Write that row as a line of its own."
            raise PatternError(Problem(sentence, 1, 1))
        if whole and any(
            isinstance(one, ph.Schedule | ph.EveryRow)
            or (isinstance(one, ph.Evenly) and one.first_row)
            for one in prepared.phrases
        ):
            rows = max(rows, whole)
        self._closed_stretch(chosen, rows, shapings, prepared)

    def _in_all(self, found: list[Clause], prepared: Prepared, *, again: bool) -> list[Clause]:
        """Settle "10 times in all" after a row that was worked once: nine are left, or ten."""
        meant = [n for n, one in enumerate(found) if one.times and one.times.more is False]
        if len(meant) != 1 or self.needle is None or found[meant[0]].schedule.also_next:
            return found
        at, stated = meant[0], self._stated_numbers(prepared)[0]
        times = found[at].times
        number = amount_for(times.amount, self.size)[0] if times else None
        if not number or not again:
            return found
        for fewer in (1, 0):
            said = ph.PhraseTimes((number - fewer,), more=False, at=found[at].at)
            tried = [*found[:at], replace(found[at], times=said), *found[at + 1 :]]
            if stated is None or self._count_after_all(tried) == stated:
                return tried
        return found

    def _count_after_all(self, found: list[Clause]) -> int | None:
        if self.needle is None:
            return None
        made = progressions(found, self.size, self.needle.total, endless=True)
        return self.needle.total + sum(one.change * one.times for one in made)

    def _in_all_or_more(self, found: list[Clause], prepared: Prepared) -> list[Clause]:
        """
        Settle whether "next and every foll 4th row 5 times" is five in all, or five more.

        Both are said (common practice, no source): only the count that is stated can tell.
        """
        unsure = [n for n, clause in enumerate(found) if _unsure(found, n, prepared)]
        if not unsure or self.needle is None:
            return found
        at = unsure[0]
        clause, stated = found[at], self._stated_numbers(prepared)[0]
        number = amount_for(clause.times.amount, self.size)[0] if clause.times else None
        if not number or len(unsure) > 1 or stated is None:
            sentence = "Is the first time one of these? Say 'in all' or 'more', or state the count."
            raise PatternError(Problem(sentence, 1, clause.at + 1))
        alone = clause.schedule.times is None and _first_apart(found, at)
        for more in (0, 1):
            times = number + more - (1 if alone else 0)
            settled = replace(clause, times=ph.PhraseTimes((times,), more=False, at=clause.at))
            tried = [*found[:at], settled, *found[at + 1 :]]
            if self._count_after_all(tried) == stated:
                return tried
        return found

    def _side_of_first(self, prepared: Prepared) -> Side | None:
        """Return the side of the first row of a line; None in the round or where nobody knows."""
        if self.in_the_round:
            return None
        beginning = prepared.first(ph.Beginning)
        if isinstance(beginning, ph.Beginning) and (beginning.side or beginning.face):
            return beginning.side or (Side.WRONG if beginning.face == "p" else Side.RIGHT)
        return self.side

    def _with_row(self, shaping: Progression, what: What, prepared: Prepared) -> Progression:
        if what.row is None:
            return replace(shaping, label=prepared.label)
        spec = RowSpec(
            Instruction(what.row),
            prepared.label,
            prepared.source.line,
            count_map(what.row),
            net_effect(what.row) or _changing(what.change),
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


def rows_after_shaping(prepared: Prepared) -> bool:
    """Whether plain rows follow a shaping that is worked once: "dec 1 st each end, k 3 rows"."""
    phrases = prepared.phrases
    rows = next(n for n, one in enumerate(phrases) if isinstance(one, ph.HowManyRows))
    before = phrases[:rows]
    changed = [n for n, one in enumerate(before) if isinstance(one, ph.Change)]
    often = (ph.Schedule, ph.EveryRow, ph.PhraseTimes)
    if not changed or any(isinstance(one, often) for one in phrases):
        return False
    return isinstance(before[-1], ph.Bare | ph.InPattern) and len(before) - 1 > changed[-1]


def _unsure(found: list[Clause], at: int, prepared: Prepared) -> bool:
    """Whether the times of a clause may or may not count the row that is named before them."""
    clause = found[at]
    schedule, times = clause.schedule, clause.times
    if times is None or times.more is not None or not schedule.every or schedule.times is not None:
        return False
    if schedule.also_next or schedule.first not in {None, 1}:
        return True
    if not _first_apart(found, at):
        return False
    return _only_and(prepared.line.text[found[at - 1].at : clause.at + len("then")])


def _first_apart(found: list[Clause], at: int) -> bool:
    """Whether the clause before is one row alone: "the 3rd row and every foll 4th row"."""
    before = found[at - 1].schedule if at else None
    return before is not None and before.times == (1,) and before.every is None


def _on_one_row(found: list[Clause]) -> bool:
    return all(
        clause.schedule.first == 1 and clause.schedule.times == (1,) and clause.until is None
        for clause in found
    )


def _which_row_said(prepared: Prepared) -> bool:
    return any(
        isinstance(one, ph.Schedule | ph.EveryRow | ph.PhraseTimes)
        or (isinstance(one, ph.Evenly) and one.first_row)
        for one in prepared.phrases
    )


def _first_counted(prepared: Prepared) -> Prepared:
    """Read "the 3rd row and every foll 4th row 5 times in all": the 3rd is one of the five."""
    phrases = prepared.phrases
    for index, (first, rest, times) in enumerate(
        zip(phrases, phrases[1:], phrases[2:], strict=False)
    ):
        match first, rest, times:
            case (
                ph.Schedule(every=None, times=(1,)),
                ph.Schedule(times=None, also_next=False),
                ph.PhraseTimes(more=False),
            ) if rest.every and _only_and(prepared.line.text[first.at : rest.at + len("then")]):
                pass
            case _:
                continue
        fewer = tuple(number and number - 1 for number in times.amount)
        said = (*phrases[: index + 2], replace(times, amount=fewer), *phrases[index + 3 :])
        return replace(prepared, line=replace(prepared.line, phrases=said))
    return prepared


def _only_and(words: str) -> bool:
    """Whether two schedules are joined by "and", not said one after the other by "then"."""
    return " and " in words.casefold() and "then" not in words.casefold()


def _changing(number: int) -> CountMap | None:
    """Return what a row at markers does to the count; None where that is not known."""
    return CountMap(b=number, least=max(0, -number)) if number else None
