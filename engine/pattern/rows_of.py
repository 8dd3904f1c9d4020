"""Rows by number that stand elsewhere: "work rows 1 and 2 of Back rib", "rows 1-4 of Border"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.headings import HeadingKind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from engine.pattern.document import PieceText
    from engine.pattern.lines import Prepared

_PIECES = re.compile(
    r"(?<![a-z])(?:back|front|sleeve|body|neck|collar|hood|yoke|leg|foot|strip|square|piece|mitten"
    r"|hand|thumb|first|second)s?(?![a-z])"
)


def rows_elsewhere(
    line: Prepared,
    piece: PieceText,
    pieces: Sequence[PieceText],
    patterns: Mapping[str, Sequence[Prepared]],
    names: Callable[[str, str], bool],
) -> tuple[Prepared, ...] | None:
    """
    Return the rows that a line means by the name of another part; empty if they are not there.

    None where it means rows of its own part. `names` says whether words name a title.
    """
    said = line.first(ph.RepeatRows)
    if not isinstance(said, ph.RepeatRows) or not said.of or not said.numbers:
        return None
    wanted = set(said.numbers)
    for name, rows in patterns.items():
        if name.casefold() == said.of:
            return tuple(_numbered(rows, wanted))
    for other in pieces:
        for section in other.sections:
            if section.title and names(said.of, section.title):
                own = other is piece and line in section.lines
                return None if own else tuple(_numbered(section.lines, wanted))
        if other.title and names(said.of, other.title):
            if other is piece:
                return None
            every = [one for section in other.sections for one in section.lines]
            return tuple(_numbered(every, wanted))
    several = len(pieces) > 1 or any(len(one.sections) > 1 for one in pieces)
    return () if several and _PIECES.search(said.of) else None


def _numbered(lines: Sequence[Prepared], wanted: set[int]) -> Iterator[Prepared]:
    """Yield the first rows with these numbers."""
    missing = set(wanted)
    for line in lines:
        heading = line.line.heading
        if heading is None or heading.kind is not HeadingKind.NUMBERED:
            continue
        if missing & set(heading.numbers):
            missing -= set(heading.numbers)
            yield line
