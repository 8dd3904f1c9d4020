"""What became of each line of a printed pattern that was taken in, and its count beside it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_check
from app.pieces.taking import file_of
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from app.pieces.taking import Taken, TextLine
    from engine.pattern import Problem


class Became(StrEnum):
    """What a line of the text has become."""

    COUNTED = "counted"
    TRUSTED = "on trust"
    FAULTY = "does not add up"
    UNREAD = "not read"
    ASIDE = "set aside"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class TakenLine:
    """A line, what it became, the stitches after it in each size, and what is to be said of it."""

    number: int
    text: str
    became: Became
    stitches: tuple[int | None, ...] = ()
    message: str = ""


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
    if not isinstance(document, PatternDocument):
        unread = [TakenLine(row.number, row.text, Became.UNREAD) for row in made.lines.values()]
        return TakenPattern(made.text, _in_order([*notes, *unread]), document)
    verdicts = document.check()
    problems: dict[int, str] = {}
    for verdict in verdicts:
        for problem in verdict.problems:
            problems.setdefault(problem.line or 0, problem.message)
    unread_lines = {problem.line for problem in document.unread}
    counts = [{count.line: count for count in verdict.counts} for verdict in verdicts]
    rows: list[TakenLine] = []
    for at, row in made.lines.items():
        found = [size.get(at) for size in counts]
        stitches = tuple(None if count is None else count.stitches for count in found)
        if at in unread_lines:
            became = Became.UNREAD
        elif at in problems:
            became = Became.FAULTY
        elif all(count is None for count in found):
            became = Became.ASIDE
        elif any(count is not None and count.stitches is None for count in found) or any(
            count is not None and not count.checked for count in found
        ):
            became = Became.TRUSTED
        else:
            became = Became.COUNTED
        rows.append(_line(row, became, stitches, problems.get(at, "")))
    return TakenPattern(made.text, _in_order([*notes, *rows]))


def _line(
    row: TextLine, became: Became, stitches: tuple[int | None, ...], message: str
) -> TakenLine:
    return TakenLine(row.number, row.text, became, stitches, message)


def _in_order(lines: list[TakenLine]) -> tuple[TakenLine, ...]:
    return tuple(sorted(lines, key=lambda line: line.number))
