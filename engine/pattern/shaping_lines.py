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
from engine.pattern.routines import AS_SET, routine
from engine.pattern.shaping import What, clauses, progressions
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

    def _schedule(self, found: list, prepared: Prepared, until: ph.Phrase | None) -> None:  # type: ignore[type-arg]
        count = self.needle.total if self.needle is not None else None
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
        if whole and any(
            isinstance(one, ph.Schedule | ph.EveryRow)
            or (isinstance(one, ph.Evenly) and one.first_row)
            for one in prepared.phrases
        ):
            rows = max(rows, whole)
        self._closed_stretch(chosen, rows, shapings, prepared)

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
