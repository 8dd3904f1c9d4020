"""The written rows as print shows them: with their counts, estimates, marks and problems."""

from __future__ import annotations

import re
from collections import defaultdict, deque
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.printing.both_units import in_both_units
from app.printing.one_size import sizes_of, stitches_text
from app.printing.sheet import SheetPart, SheetRow
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind
from engine.pattern.notation import CastOn, amount_for, items_for
from engine.pattern.phrases import UntilMeasures

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.printing.one_size import LinePrinter, PrintedLine
    from app.printing.walked import Estimate
    from app.printing.wording import PrintWording
    from engine.pattern import PatternDocument, Problem, RowCount, SizeVerdict
    from engine.pattern.document import PieceText
    from engine.pattern.lines import Prepared
    from speech.words.spoken_rows import RowWords

Counts = dict[tuple[str, int, str], deque["RowCount"]]


class Instructions:
    """Prints the lines of one document, for all its sizes or for one (`size`, counted from 0)."""

    def __init__(
        self,
        document: PatternDocument,
        verdicts: Sequence[SizeVerdict],
        printer: LinePrinter,
        wording: PrintWording,
        size: int | None,
        spoken: RowWords | None = None,
    ) -> None:
        """Sort the counts and problems of the verdicts by line; `spoken` writes rows in words."""
        self._spoken = spoken
        self._document = document
        self._printer = printer
        self._wording = wording
        self._there = max(len(document.sizes), 1)
        self._sizes = tuple(range(self._there)) if size is None else (size,)
        self._counts = [_by_line(verdict.counts) for verdict in verdicts]
        self._problems = tuple(
            dict.fromkeys(one for verdict in verdicts for one in verdict.problems)
        )
        self.unchecked = 0
        """How many of the lines printed so far are not checked."""

    def cast_on(self, piece: PieceText) -> str:
        """Return the sentence that begins a piece; empty if its rows begin with a cast-on."""
        first = next((line for section in piece.sections for line in section.lines), None)
        own = first is not None and first.row is not None and isinstance(first.row.items[0], CastOn)
        if piece.cast_on is None or own:
            return ""
        amount = piece.cast_on
        if len(self._sizes) == 1:
            amount = amount_for(amount, self._sizes[0])
        stitches = self._spelled(stitches_text(amount))
        if piece.multiple is None:
            return self._wording.say("cast_on", stitches=stitches)
        of, plus = piece.multiple
        sentence = "cast_on_multiple" if plus else "cast_on_multiple_plain"
        return self._wording.say(sentence, stitches=stitches, of=of, plus=plus)

    def parts(
        self,
        piece: PieceText,
        estimates: Sequence[Mapping[int, Estimate]],
        counted: Mapping[str, Sequence[int]],
    ) -> tuple[tuple[SheetPart, ...], tuple[SheetRow, ...]]:
        """
        Return the sections of a piece, and what is to be done when they are worked.

        `estimates` of open parts are one mapping a size. `counted` are the sections whose rows have
        numbers in a chart and none in the designer's words, with their number of rows a size.
        """
        before: dict[int, int | None] = {
            size: amount_for(piece.cast_on, size)[0] if piece.cast_on is not None else None
            for size in self._sizes
        }
        parts = []
        finishing: list[SheetRow] = []
        after = finishing_of(piece)
        for section in piece.sections:
            rows: list[SheetRow] = []
            at: object = None
            numbers = self._numbers(section.lines, counted.get(section.title, ()))
            for line in section.lines:
                printed = self._printer.printed(line)
                if printed is None or line.kind is LineKind.MARK:
                    continue
                row = self._row(section.title, line, printed, before, estimates)
                if id(line) in numbers:
                    row = replace(row, number=numbers[id(line)])
                if any(line is one for one in after):
                    finishing.append(row)
                elif rows and at == line.source and rows[-1].text == row.text:
                    # One written line may be several to work: "rib for 4 cm" is a row and a repeat.
                    rows[-1] = _both(rows[-1], row)
                else:
                    rows.append(row)
                at = line.source
            parts.append(SheetPart(section.title, tuple(rows)))
        return tuple(part for part in parts if part.rows), tuple(finishing)

    def _numbers(self, lines: Sequence[Prepared], rows: Sequence[int]) -> dict[int, str]:
        """Return the number of each line, by its identity, if every line is one row."""
        worked = [line for line in lines if line.kind is LineKind.ROW]
        if any(line.kind not in _ONE_ROW for line in lines):
            return {}
        last = dict.fromkeys(self._sizes, 0)
        found = {}
        for line in worked:
            there = sizes_of(line, self._there)
            for size in there & last.keys():
                last[size] += 1
            told = tuple(last[size] if size in there else None for size in self._sizes)
            if any(told):
                found[id(line)] = numbers_text(told)
        return found if tuple(last.values()) == tuple(rows) else {}

    def stitch_patterns(self) -> tuple[SheetPart, ...]:
        """Return the stitch patterns that the designer has named."""
        found: dict[str, SheetPart] = {}
        for piece in self._document.pieces:
            for section in piece.sections:
                for name, lines in section.patterns.items():
                    printed = [(line, self._printer.printed(line)) for line in lines]
                    rows = tuple(
                        SheetRow(
                            one.sizes,
                            one.label,
                            one.text,
                            one.stated,
                            note=in_both_units(line.note),
                        )
                        for line, one in printed
                        if one is not None
                    )
                    if rows:
                        found.setdefault(name, SheetPart(name, rows))
        return tuple(found.values())

    def _row(
        self,
        section: str,
        line: Prepared,
        printed: PrintedLine,
        before: dict[int, int | None],
        estimates: Sequence[Mapping[int, Estimate]],
    ) -> SheetRow:
        counts = {
            size: self._take(index, section, line)
            for index, size in enumerate(self._sizes)
            if size in sizes_of(line, self._there)
        }
        unchecked = any(count is not None and not count.checked for count in counts.values())
        self.unchecked += unchecked
        count = self._count(printed, counts, before)
        if self._spoken is not None:
            printed = self._in_words(line, printed, self._spoken)
        return SheetRow(
            sizes=printed.sizes,
            label=printed.label,
            text=printed.text,
            count="" if _says(printed.text, count) else self._spelled(count),
            about=self._about(line, estimates),
            note=in_both_units(line.note),
            mark=self._wording.say("not_checked") if unchecked else "",
            problems=tuple(self._problem(one) for one in self._problems if _is_in(one, line)),
        )

    def _in_words(self, line: Prepared, printed: PrintedLine, spoken: RowWords) -> PrintedLine:
        """Write a row of one size in whole words, as it is read out; other lines spelled out."""
        if line.row is not None and line.kind is LineKind.ROW:
            items = items_for(line.row.items, self._sizes[0])
            text = spoken.say(Instruction(items))
        else:
            text = spoken.spelled_out(printed.text)
        text = f"{text[:1].upper()}{text[1:]}" if not printed.label else text
        label = spoken.spelled_out(printed.label)
        return replace(printed, text=text, label=f"{label[:1].upper()}{label[1:]}")

    def _spelled(self, count: str) -> str:
        return count if self._spoken is None else self._spoken.spelled_out(count)

    def _take(self, index: int, section: str, line: Prepared) -> RowCount | None:
        waiting = self._counts[index].get((section, line.source.line, line.label))
        return waiting.popleft() if waiting else None

    def _count(
        self,
        printed: PrintedLine,
        counts: Mapping[int, RowCount | None],
        before: dict[int, int | None],
    ) -> str:
        """Return the stitches after a row, if they change or the designer states them."""
        after = {size: count.stitches for size, count in counts.items() if count is not None}
        changed = any(
            stitches is not None and stitches != before[size] for size, stitches in after.items()
        )
        before.update(after)
        known = set(after.values())
        if not after or None in known:
            return printed.stated
        if known == {0} or not (changed or printed.stated):
            return ""
        if len(known) == 1:
            return stitches_text((known.pop(),))
        return stitches_text(tuple(after.get(size) for size in self._sizes))

    def _about(self, line: Prepared, estimates: Sequence[Mapping[int, Estimate]]) -> str:
        """Return how many rows an open part takes by the gauge."""
        found = [one.get(line.source.line) for one in estimates]
        known = [one for one in found if one is not None]
        if not known or len(known) != len(found) or line.first(UntilMeasures) is None:
            return ""
        rows = tuple(one.rows for one in known)
        amount = stitches_text(rows).rpartition(" ")[0]
        heads = {piece.in_the_round for piece in self._document.pieces}
        kind = self._wording.sentences["rounds" if heads == {True} else "rows"]
        sentence = "about_rows_end" if known[0].from_cast_on else "about_rows"
        return self._wording.say(sentence, count=amount, kind=kind)

    def _problem(self, problem: Problem) -> str:
        size = f"{self._wording.headings['size']} {problem.size}: " if problem.size else ""
        return f"{size}{problem.message}"


_ONE_ROW: Final = frozenset((LineKind.ROW, LineKind.REMARK, LineKind.MARK))
_LIVE: Final = re.compile(r"\b(?:sts?|stitch(?:es)?|loops?)\b", re.IGNORECASE)


def numbers_text(numbers: Sequence[int | None]) -> str:
    """Write the number of a row for every size: "18 (20, 22)", one if they are the same."""
    told = ["-" if number is None else str(number) for number in numbers]
    return told[0] if len(set(told)) == 1 else f"{told[0]} ({', '.join(told[1:])})"


def finishing_of(piece: PieceText) -> tuple[Prepared, ...]:
    """Return the last lines of a piece that work no row and speak of no stitches any more."""
    lines = [line for section in piece.sections for line in section.lines]
    found: list[Prepared] = []
    for line in reversed(lines):
        if line.kind is not LineKind.REMARK or _LIVE.search(line.line.text):
            break
        found.insert(0, line)
    return tuple(found) if len(found) < len(lines) else ()


def _both(one: SheetRow, other: SheetRow) -> SheetRow:
    """Return what is said of a line that is worked in two steps."""
    return replace(
        other,
        label=one.label or other.label,
        count=other.count or one.count,
        about=other.about or one.about,
        mark=one.mark or other.mark,
        problems=tuple(dict.fromkeys((*one.problems, *other.problems))),
    )


_AFTER_COUNT: Final = (
    r"(?: (?:rem(?:ain(?:ing)?)?|left|in total|total|on (?:the )?needles?))?[.)]*$"
)


_SOME_OF_THEM: Final = frozenset(
    ("last", "first", "next", "foll", "following", "other", "these", "those", "held", "centre")
)
"""Words before a number that speaks of a few stitches and not of all."""


def _says(text: str, count: str) -> bool:
    """Whether a text ends with a count in its own way: "80[88:96] sts.", "(80 sts)"."""
    alike = re.sub(r"\s*[\[(]\s*", " (", text.strip()).replace("]", ")")
    alike = re.sub(r"\s*[:;,]\s*(?=[\d-])", ", ", alike)
    found = re.search(rf"(?<![\d.]){re.escape(count)}{_AFTER_COUNT}", alike)
    before = alike[: found.start()].split()[-1:] if found is not None else []
    return found is not None and not {word.casefold() for word in before} & _SOME_OF_THEM


def _is_in(problem: Problem, line: Prepared) -> bool:
    """Whether a problem points at a place in a line; several lines may share one of the file."""
    if problem.line is None or problem.column is None:
        return False
    source = line.source
    start = source.line, source.column
    return start <= (problem.line, problem.column) <= source.place(len(str(source.value)))


def _by_line(counts: Sequence[RowCount]) -> Counts:
    sorted_: Counts = defaultdict(deque)
    for count in counts:
        sorted_[count.section, count.line, count.row].append(count)
    return sorted_
