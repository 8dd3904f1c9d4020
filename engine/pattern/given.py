"""Lines that another part has given already: "work as for back to **", "rep from ** to **"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.limits import spend
from engine.pattern import phrases as ph
from engine.pattern.first_side import first_side, means_first_side
from engine.pattern.given_until import (
    FROM_ROW,
    completes,
    fewer_rows,
    from_row,
    rows_fewer,
    stops_elsewhere,
    until_complete,
    up_to_count,
    up_to_length,
    up_to_place,
)
from engine.pattern.lines import LineKind, Prepared
from engine.pattern.modules import first_module, means_first_module
from engine.pattern.notation import BindOff, CastOn, Hold, PickUp, TakeUp, TurnWork, Work
from engine.pattern.rows_of import rows_elsewhere
from engine.pattern.steps import means_steps, steps_meant

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.pattern.assembly_state import SectionLines
    from engine.pattern.document import PieceText

_HOW_MANY = re.compile(r"\s*(?:[(\[][^()\[\]]*[)\]]|[,:-]? *(?:make|knit|work) \w+)\s*$")
_MARK = re.compile(r"\*\*+|[†‡]+")


def with_given_lines(pieces: Sequence[PieceText]) -> tuple[PieceText, ...]:
    """Put into every line "as for ..." the lines that it means, where they can be found."""
    done: list[PieceText] = []
    for piece in pieces:
        sections: list[SectionLines] = []
        for section in piece.sections:
            lines: list[Prepared] = []
            for line in section.lines:
                said = line.first(ph.AsGiven)
                if line.kind is LineKind.GIVEN and isinstance(said, ph.AsGiven):
                    before = [one for earlier in sections for one in earlier.lines]
                    own = [*before, *lines]
                    spend(len(own))
                    words = said.text.casefold()
                    others = [*(one.title for one in (*done, *pieces)), *_titles(piece)]
                    if means_steps(words):
                        found = () if stops_elsewhere(line) else steps_meant(words, own)
                        line.cache["again"] = True
                    elif means_first_module(words) and not any(
                        _names(words, one) for one in others
                    ):
                        found = first_module(words, own)
                    elif means_first_side(words) and not any(_names(words, one) for one in others):
                        found = first_side(own, line)
                    elif completes(words):
                        found = _complete(words, [*done, *pieces], piece, line)
                    else:
                        found = _meant(said.text, own, [*done, *pieces], piece)
                        found = from_row(found, words)
                        if stops_elsewhere(line):
                            found = up_to_count(found, line)
                        else:
                            found = up_to_length(found, line)
                        found = rows_fewer(up_to_place(found, words), words)
                        if _says_more(words, others) or _more_to_work(line, said):
                            found = ()
                    if found:
                        line.cache["given"] = found
                rows = rows_elsewhere(line, piece, pieces, section.patterns, _names)
                if rows is not None:
                    line.cache["rows of"] = rows
                lines.append(line)
            sections.append(section)
        done.append(replace(piece, sections=tuple(sections)))
    return tuple(done)


def _says_more(words: str, titles: Sequence[str]) -> bool:
    """Whether "as for back" goes on with what is worked otherwise: "... but omit"."""
    if fewer_rows(words):
        return False
    words = FROM_ROW.sub(" ", words)
    for title in sorted(titles, key=len, reverse=True):
        name = _HOW_MANY.sub("", title.casefold()).strip()
        words = words.replace(name, " ") if name else words
    return _OTHERWISE.search(words) is not None


_OTHERWISE = re.compile(
    r"\d|(?<![a-z])(?:rows?|rnds?|rounds?|sts?|stitch(?:es)?|needles?|through|thru|without|omit\w*"
    r"|except\w*|exclud\w*|instead|leav\w*|end(?:ing|s)? with|finish\w* with|then|than|only|once"
    r"|twice|cast\w*|bind\w*|inc\w*|dec\w*|knit\w*|purl\w*|but(?! (?:all )?rev)|more|fewer|less"
    r"|times|for (?:a |another )?(?:one|two|three|four|five|six|seven|eight|nine|ten|twelve))"
    r"(?![a-z])"
)
_NOT_OF_THEM = (
    ph.HowManyRows, ph.Change, ph.Schedule, ph.EveryRow, ph.RepeatRows, ph.To, ph.RepeatFrom,
    BindOff, CastOn, PickUp, TurnWork, Work,
)  # fmt: skip
"""What would change the rows that are meant, and is not done."""


def _more_to_work(line: Prepared, said: ph.AsGiven) -> bool:
    """Whether a line "as for back" says more that is to be worked, and would be lost."""
    phrases = line.phrases
    end = next(n for n, phrase in enumerate(phrases) if phrase is said)
    begun = any(isinstance(phrase, Hold | TakeUp) for phrase in phrases[:end])
    return any(isinstance(one, _NOT_OF_THEM) for one in phrases[end if begun else 0 :])


def _complete(
    words: str, pieces: Sequence[PieceText], piece: PieceText, line: Prepared
) -> tuple[Prepared, ...]:
    """Return what "as for back until armhole shaping is complete" means."""
    for other in pieces:
        if other is not piece and _names(words, other.title):
            sections = ((one.title, one.lines) for one in other.sections)
            return until_complete(sections, words, stated=line.stated is not None)
    return ()


def _titles(piece: PieceText) -> Iterator[str]:
    return (section.title for section in piece.sections)


def _meant(
    text: str, own: Sequence[Prepared], pieces: Sequence[PieceText], piece: PieceText
) -> tuple[Prepared, ...]:
    words = text.casefold()
    marks = _MARK.findall(words)
    sources: list[Sequence[Prepared]] = []
    for other in pieces:
        if other is not piece and _names(words, other.title):
            sources.append([line for section in other.sections for line in section.lines])
        sources.extend(one.lines for one in other.sections if _names(words, one.title))
    if " for " not in f" {words} " or not sources:
        sources.append(own)
    for source in sources:
        found = tuple(_between(source, marks))
        if found:
            return found
    return ()


def _names(words: str, title: str) -> bool:
    """Whether words name a piece by its title, but for how often it is made: "Strip 1 (make 3)"."""
    name = _HOW_MANY.sub("", title.casefold()).strip()
    if not name:
        return False
    many = "" if name[-1].isdigit() else "s?"
    return re.search(rf"(?<![a-z0-9]){re.escape(name)}{many}(?![a-z0-9])", words) is not None


def _between(lines: Sequence[Prepared], marks: list[str]) -> Iterator[Prepared]:
    """Yield the lines up to a mark, or from one mark to the next, or all of them."""
    begun = len(marks) < 2  # noqa: PLR2004 (from a mark and to a mark)
    first, last = (marks[0], marks[-1]) if marks else ("", "")
    if marks and not any(last in line.marks for line in lines):
        return
    for line in lines:
        at_beginning = line.line.text.strip().startswith(last) if last else False
        if not begun:
            if first not in line.marks:
                continue
            begun = True
            if at_beginning and line.kind is not LineKind.MARK:
                yield line
            continue
        if last and last in line.marks:
            if not at_beginning:
                yield line
            return
        if line.kind is not LineKind.GIVEN or "given" in line.cache:
            yield line
