"""What became of each line of a pattern, with its count: the same for every way of showing it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_check
from app.pieces.taking import file_of
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.pieces.taking import Taken, TextLine
    from engine.pattern import Problem, RowCount, WrittenLine


class Became(StrEnum):
    """What a line of the text has become."""

    COUNTED = "counted"
    COMPARED = "counted and compared"
    TRUSTED = "on trust"
    FAULTY = "does not add up"
    UNREAD = "not read"
    ASIDE = "set aside"
    NAMED = "worked where it is named"
    NOTE = "a note"
    HEADING = "a heading"


SIGNS: Mapping[Became, str] = {
    Became.COUNTED: "+",
    Became.COMPARED: "=",
    Became.TRUSTED: "~",
    Became.FAULTY: "!",
    Became.UNREAD: "?",
    Became.ASIDE: "-",
    Became.NAMED: "&",
    Became.NOTE: " ",
    Became.HEADING: "#",
}
"""One sign for each, so that nothing hangs on a colour."""


@dataclass(frozen=True, slots=True)
class TakenLine:
    """
    A line, what it became, the stitches after it in each size, and what is to be said of it.

    `aside` are its words that were kept and not worked.
    """

    number: int
    text: str
    became: Became
    stitches: tuple[int | None, ...] = ()
    message: str = ""
    aside: tuple[str, ...] = ()

    @property
    def counts(self) -> str:
        """The stitches after it in every size, once where they are the same: "80 88 96"."""
        if self.became not in _WITH_COUNT or all(one is None for one in self.stitches):
            return ""
        same = len(set(self.stitches)) == 1
        shown = self.stitches[:1] if same else self.stitches
        return " ".join("-" if one is None else str(one) for one in shown)


_WITH_COUNT = frozenset((Became.COUNTED, Became.COMPARED, Became.TRUSTED))


@dataclass(frozen=True, slots=True)
class TakenPattern:
    """The pattern file that was made of a text, and its lines in the order of the text."""

    text: str
    lines: tuple[TakenLine, ...]
    problems: tuple[Problem, ...] = ()
    """Why the file is no pattern at all; nothing otherwise."""


def pattern_of(taken: Taken) -> TakenPattern:
    """Return the pattern file of what was taken in, and what became of every line."""
    made = file_of(taken)
    document = document_to_check(made.text)
    notes = [TakenLine(note.number, note.text, Became.NOTE) for note in taken.notes]
    notes += [
        TakenLine(part.heading, part.title, Became.HEADING)
        for piece in taken.pieces
        for part in piece.sections
        if part.heading is not None
    ]
    if not isinstance(document, PatternDocument):
        unread = [TakenLine(row.number, row.text, Became.UNREAD) for row in made.lines.values()]
        return TakenPattern(made.text, _in_order([*notes, *unread]), document)
    rows = [_as_printed(line, made.lines) for line in lines_of(document)]
    return TakenPattern(made.text, _in_order([*notes, *rows]))


def lines_of(document: PatternDocument) -> tuple[TakenLine, ...]:
    """Return what became of every written row of a pattern file, in the order of the file."""
    verdicts = document.check()
    written = document.written()
    where = {line: row.line for row in written for line in range(row.line, row.last + 1)}
    problems: dict[int, str] = {}
    for verdict in verdicts:
        for problem in verdict.problems:
            problems.setdefault(where.get(problem.line or 0, 0), problem.message)
    unread = {where.get(problem.line or 0) for problem in document.unread}
    counts = [{count.line: count for count in verdict.counts} for verdict in verdicts]
    lines: list[TakenLine] = []
    for row in written:
        found = [size.get(row.line) for size in counts]
        became = (
            Became.UNREAD if row.line in unread
            else Became.FAULTY if row.line in problems
            else _became(row, found)
        )  # fmt: skip
        stitches = tuple(None if count is None else count.stitches for count in found)
        message = problems.get(row.line, "")
        lines.append(TakenLine(row.line, row.text, became, stitches, message, row.aside))
    return _in_order(lines)


def _became(row: WrittenLine, found: Sequence[RowCount | None]) -> Became:
    known = [count for count in found if count is not None]
    if not known:
        return Became.NAMED if row.named else Became.ASIDE
    if any(count.stitches is None or not count.checked for count in known):
        return Became.TRUSTED
    return Became.COMPARED if row.states_count else Became.COUNTED


def _as_printed(line: TakenLine, printed: Mapping[int, TextLine]) -> TakenLine:
    """Return a line of the file under its number in the text from which it was taken."""
    return replace(line, number=printed[line.number].number, text=printed[line.number].text)


def _in_order(lines: list[TakenLine]) -> tuple[TakenLine, ...]:
    return tuple(sorted(lines, key=lambda line: line.number))
