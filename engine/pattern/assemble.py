"""
Assembles the course of a piece for one size, line by line, and checks it on the way.

The stitches on the needle are carried along: a line such as "dec each end to 46 sts" can only be
understood by who knows how many there are. What does not add up becomes a problem that names the
row and the number of stitches; from there on counts are not known until one is stated.

The assembler is built up in layers, each knowing only those before it: what is known so far
(`so_far`), rows worked on the needle (`row_work`), rows made from lines (`row_specs`), and the
kinds of lines (`row_lines`, `stretch_lines`, `shaping_lines`, `repeat_lines`).
"""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.limits import spend
from engine.pattern import phrases as ph
from engine.pattern.blocks import Block, same_number
from engine.pattern.for_sizes import left_out, names_sizes_alone
from engine.pattern.headings import HeadingKind
from engine.pattern.lines import LineKind, Prepared, prepare
from engine.pattern.notation import CastOn, Hold, PickUp, TakeUp, amount_for
from engine.pattern.problems import PatternError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern.assembly_state import SectionLines
    from engine.pattern.needle import Needle


from engine.pattern.live_afterwards import AfterwardsLines


class Assembler(AfterwardsLines):
    """Goes through the lines of a piece for one size (number `size`, called `name`)."""

    def add_section(self, section: SectionLines) -> None:
        """Go through the lines of a section."""
        self._close_part()
        self.section = section
        self.loops_in_section = 0
        first = _first_number(section.lines)
        # "Row 3" in a new section goes on from the rows 1 and 2 of the one before.
        known = self.block.before(first) if first is not None and first > 1 else {}
        self.block = Block(earlier=known)
        self._go_through(section.lines)
        self._close_part()

    def _go_through(self, lines: tuple[Prepared, ...]) -> None:
        spend(5 * len(lines))
        lines = tuple(_for_size(line, self.size) for line in lines)
        index = 0
        while index < len(lines):
            prepared = lines[index]
            self.at, self.at_label = prepared.source, prepared.label
            try:
                if left_out(prepared, self.size):
                    index += 1
                    continue
                if _numbered(prepared):
                    end = index
                    block: list[Prepared] = []
                    numbers: set[int] = set()
                    while end < len(lines) and (
                        _numbered(lines[end]) or names_sizes_alone(lines[end])
                    ):
                        if names_sizes_alone(lines[end]) or left_out(lines[end], self.size):
                            end += 1
                            continue
                        heading = lines[end].line.heading
                        before = block[-1].line.heading if block else None
                        again = heading is not None and numbers & set(heading.numbers)
                        if again and not (before and heading and same_number(before, heading)):
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
                    self._words_last(block[-1])
                    index = end
                    continue
                self._line(prepared)
            except PatternError as error:
                self._problem(error.problem, prepared)
                self._check_stated(prepared.stated, prepared)
            index += 1

    def _line(self, prepared: Prepared) -> None:
        several = list(_each_said(prepared))
        if len(several) > 1:
            for one in several:
                self._one_line(one)
                if (
                    one is not several[-1]
                    and self.counts
                    and self.counts[-1].line == prepared.source.line
                ):
                    self.counts.pop()
            return
        self._one_line(prepared)

    def _one_line(self, prepared: Prepared) -> None:
        self.two_sides = self.two_sides or _BOTH_AT_ONCE.search(prepared.line.text) is not None
        if self.two_sides and prepared.kind is LineKind.SHAPING:
            prepared = _at_each_neck_edge(prepared)
        prepared = self._words_first(prepared)
        before, rows = self.needle, self.rows
        self._work_line(prepared)
        self._no_empty_rows(before, rows, prepared)
        self._words_last(prepared)

    def _no_empty_rows(self, before: Needle | None, rows: int, prepared: Prepared) -> None:
        """Say at the first row that works no stitch that it cannot be right."""
        after = self.needle
        if before is None or after is None or before.total or after.total or self.rows == rows:
            return
        if prepared.kind is LineKind.GIVEN or self.after_failure:
            return  # its lines have been looked at one by one
        if before.held == after.held and not any(
            isinstance(item, PickUp | CastOn | TakeUp) for item in self._worked_in(prepared)
        ):
            self._add_problem(
                "No stitch is on the needle for this row.", prepared, prepared.label, None
            )
            self.needle, self.after_failure = None, True

    @staticmethod
    def _worked_in(prepared: Prepared) -> tuple[object, ...]:
        return prepared.row.items if prepared.row is not None else prepared.phrases

    def _work_line(self, prepared: Prepared) -> None:
        match prepared.kind:
            case LineKind.ROW | LineKind.UNCHECKED:
                self._row_line(prepared)
            case LineKind.EVENT:
                self._event(prepared)
            case LineKind.SHAPING:
                self._shaping(prepared)
            case LineKind.REPEAT:
                self._repeat(prepared)
            case LineKind.IN_THIS_WAY:
                self._in_this_way(prepared)
            case LineKind.STRETCH:
                self._stretch(prepared)
            case LineKind.ROUTINE:
                self._set_routine(prepared)
            case LineKind.GIVEN:
                self._as_given(prepared)
            case LineKind.REMARK:
                self._remark(prepared)
            case LineKind.COUNT:
                self._check_stated(prepared.stated, prepared)
            case LineKind.MARK:
                pass

    def _as_given(self, prepared: Prepared) -> None:
        said = prepared.first(ph.AsGiven)
        lines = prepared.cache.get("given")
        if not isinstance(lines, tuple):
            text = said.text if isinstance(said, ph.AsGiven) else ""
            raise PatternError(Problem(f"It is not clear which rows '{text}' means.", 1, 1))
        self._before_given(prepared, said)
        times = prepared.first(ph.PhraseTimes)
        number = amount_for(times.amount, self.size)[0] if isinstance(times, ph.PhraseTimes) else 1
        if "again" in prepared.cache and isinstance(times, ph.PhraseTimes) and times.more is False:
            number = (number or 1) - 1  # "repeat steps 5 and 6, 4 times in all"
        outer = self.given_at
        self.given_at = prepared.source.line if outer is None else outer
        for _ in range(min(number or 0, MOST_TIMES_GIVEN)):
            self._go_through(lines)
        self.given_at = outer
        self._check_stated(prepared.stated, prepared)
        until = prepared.first(ph.UntilCount, ph.Remaining)
        if isinstance(until, ph.UntilCount | ph.Remaining):
            self._check_stated(ph.Stated(until.amount, at=until.at), prepared)
        if isinstance(times, ph.PhraseTimes) or prepared.line.heading is not None:
            self._count(prepared)

    def _before_given(self, prepared: Prepared, said: ph.Phrase | None) -> None:
        """Work what a line says first: "rejoin yarn to rem sts and complete to match ..."."""
        phrases = prepared.phrases
        end = next(n for n, phrase in enumerate(phrases) if phrase is said)
        if not any(isinstance(phrase, Hold | TakeUp) for phrase in phrases[:end]):
            return
        begun = replace(prepared.line, phrases=phrases[:end], heading=None)
        self._line(prepare(prepared.source, begun, note=prepared.note))


MOST_TIMES_GIVEN = 1_000


_BOTH_AT_ONCE = re.compile(
    r"\b(?:second|2nd|another|separate) balls?\b"
    r"|\bboth sides (?:at (?:the same time|once)|together|simultaneously)\b",
    re.IGNORECASE,
)


def _at_each_neck_edge(prepared: Prepared) -> Prepared:
    """Read "at neck edge" as at both neck edges: two sides are worked at once."""
    phrases = tuple(_at_both(phrase) for phrase in prepared.phrases)
    return replace(prepared, line=replace(prepared.line, phrases=phrases))


def _at_both(phrase: ph.Phrase) -> ph.Phrase:
    match phrase:
        case ph.Change(place=ph.ChangePlace.EDGE):
            return replace(phrase, place=ph.ChangePlace.EACH_END, words="at the neck edge")
        case ph.PhrasePlace(place=ph.ChangePlace.EDGE) | ph.Again(place=ph.ChangePlace.EDGE):
            return replace(phrase, place=ph.ChangePlace.EACH_END)
        case ph.Bracket():
            return replace(phrase, phrases=tuple(_at_both(one) for one in phrase.phrases))
        case _:
            return phrase


def _each_said(prepared: Prepared) -> Iterator[Prepared]:
    """Yield the parts of a line that says one thing after the other, or the line itself."""
    phrases = prepared.phrases
    if prepared.kind is LineKind.REPEAT:
        starts = [n for n, phrase in enumerate(phrases) if isinstance(phrase, ph.RepeatRows)]
        for start, end in itertools.pairwise([0, *starts[1:], len(phrases)]):
            last = end == len(phrases)
            line = replace(prepared.line, phrases=phrases[start:end])
            yield replace(prepared, line=line, stated=prepared.stated if last else None)
        return
    when = next((n for n, phrase in enumerate(phrases) if isinstance(phrase, ph.When)), None)
    if when is None or prepared.line.heading is not None:
        yield prepared
        return
    said = phrases[when]
    if isinstance(said, ph.When):
        before = replace(prepared.line, phrases=(said.until,))
        yield replace(prepared, line=before, kind=LineKind.STRETCH, row=None, stated=None)
    rest = replace(prepared.line, phrases=(*phrases[:when], *phrases[when + 1 :]))
    yield prepare(prepared.source, rest, note=prepared.note)


def _for_size(prepared: Prepared, size: int) -> Prepared:
    """Return a line with the rows of its heading for one size."""
    heading = prepared.line.heading
    if heading is None or heading.span is None:
        return prepared
    return replace(prepared, line=replace(prepared.line, heading=heading.for_size(size)))


def _first_number(lines: tuple[Prepared, ...]) -> int | None:
    """Return the number of the first numbered row of a section; None without one."""
    headings = (prepared.line.heading for prepared in lines)
    return next((min(one.numbers) for one in headings if one is not None and one.numbers), None)


def _numbered(prepared: Prepared) -> bool:
    heading = prepared.line.heading
    if heading is None or prepared.kind is LineKind.GIVEN:
        return False
    return heading.kind in {HeadingKind.NUMBERED, HeadingKind.WHICH}
