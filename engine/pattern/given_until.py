"""Lines that another piece has given, up to a length: "work as for Back until armhole measures"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.datum import datum_of
from engine.pattern.lines import LineKind
from engine.pattern.row_text import amount_text
from engine.pattern.spelling import amount_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from engine.pattern.lines import Prepared
    from engine.quantities import Length


def up_to_length(lines: Sequence[Prepared], said: Prepared) -> tuple[Prepared, ...]:
    """
    Return the given lines up to the first that is worked as long, or longer, by the same measure.

    That one is worked to the length that is said here. Empty where no line is, in every size.
    """
    until = said.first(ph.UntilMeasures)
    if not isinstance(until, ph.UntilMeasures):
        return tuple(lines)
    datum = datum_of(said.line.text, until.where, for_length=until.for_length)
    for index, line in enumerate(lines):
        theirs = line.first(ph.UntilMeasures)
        if not isinstance(theirs, ph.UntilMeasures) or line.meanwhile:
            continue
        same = datum_of(line.line.text, theirs.where, for_length=theirs.for_length) is datum
        if same and _reaches(theirs, until):
            return (*lines[:index], _ended_here(line, theirs, until, said))
    return ()


def from_row(lines: Sequence[Prepared], words: str) -> tuple[Prepared, ...]:
    """Return the given lines from the row that the words name on: "as square one from row 1"."""
    said = FROM_ROW.search(words)
    if said is None:
        return tuple(lines)
    number = int(said[1])
    for index, line in enumerate(lines):
        heading = line.line.heading
        if heading is not None and number in heading.numbers:
            return tuple(lines[index:])
    return ()


def up_to_count(lines: tuple[Prepared, ...], said: Prepared) -> tuple[Prepared, ...]:
    """Return the given lines up to the one that stops at the same count; none if no line does."""
    until = said.first(ph.UntilCount, ph.Remaining)
    if not isinstance(until, ph.UntilCount | ph.Remaining):
        return ()
    for index, line in enumerate(lines):
        theirs = line.first(ph.UntilCount, ph.Remaining)
        if isinstance(theirs, ph.UntilCount | ph.Remaining) and theirs.amount == until.amount:
            return lines[: index + 1]
    return ()


FROM_ROW = re.compile(r"\bfrom (?:the )?(?:row|rnd|round) (\d{1,4})(?: on(?:wards)?)?\b")


def up_to_place(lines: Sequence[Prepared], words: str) -> tuple[Prepared, ...]:
    """
    Return the given lines before the one that begins what the words name: "to armhole shaping".

    All of them where the words name no place; none where no line begins so.
    """
    said = _UP_TO.search(words)
    names = [
        re.escape(word.removesuffix("s"))
        for word in (said["place"].split() if said is not None else ())
        if word not in _NO_PLACES
    ]
    if said is None or (not names and said["place"].split()[-1] in {"end", "match"}):
        return tuple(lines)
    if _AFTERWARDS & set(said["place"].split()):
        return ()
    place = " (?:the )?".join(f"{name}s?" for name in names)
    begins = re.compile(
        rf"\bshap\w* (?:of )?(?:the )?(?:[a-z]+ (?:and )?)*?{place}\b|\b{place} shap"
        rf"|^{place}\s*(?:[:.]|$)"
    )
    for index, line in enumerate(lines):
        if names and begins.search(line.line.text.casefold().strip()) is not None:
            return tuple(lines[:index])
    return ()


def until_complete(
    sections: Iterable[tuple[str, Sequence[Prepared]]], words: str, *, stated: bool
) -> tuple[Prepared, ...]:
    """
    Return the lines of sections, by their titles, up to the end of a shaping that words name.

    None where nothing begins it, or where no count is stated that would show a misunderstanding.
    """
    said = _COMPLETE.search(words)
    if said is None or not stated:
        return ()
    name = re.escape(said["place"].removesuffix("s"))
    begins = re.compile(
        rf"\bshap\w* (?:of )?(?:the )?{name}s?\b|\b{name}s? shap|^{name}s?\s*(?:[:.]|$)"
    )
    lines: list[Prepared] = []
    begun = False
    for title, own in sections:
        if begun and own:
            return tuple(lines)
        begun = begins.search(title.casefold().strip()) is not None
        for line in own:
            text = line.line.text.casefold().strip()
            if begun and (line.kind is LineKind.STRETCH or _SHAPES.search(text) is not None):
                return tuple(lines)
            begun = begun or begins.search(text) is not None
            lines.append(line)
    return tuple(lines) if begun else ()


def completes(words: str) -> bool:
    """Whether the words say up to the end of a shaping."""
    return _COMPLETE.search(words) is not None


_COMPLETE = re.compile(
    r"\buntil (?:the )?(?P<place>[a-z]+) shapings? (?:is|are|has been|have been)(?: all)? "
    r"(?:completed?|done|worked)\b"
)
_SHAPES = re.compile(r"\bshap(?:e|ing)\b", re.IGNORECASE)


def rows_fewer(lines: tuple[Prepared, ...], words: str) -> tuple[Prepared, ...]:
    """
    Return the given lines without their last rows: "until 20 rows less have been worked than on".

    None where the last line does not say how many rows it has, or has not so many.
    """
    said = _FEWER.search(words)
    if said is None:
        return lines
    fewer = amount_of(said["number"])
    rows = lines[-1].first(ph.HowManyRows) if lines else None
    if fewer is None or not isinstance(rows, ph.HowManyRows):
        return ()
    if lines[-1].kind is not LineKind.STRETCH or len({len(fewer), len(rows.amount)} - {1}) > 1:
        return ()
    sizes = max(len(fewer), len(rows.amount))
    left: list[int] = []
    for size in range(sizes):
        theirs = rows.amount[size % len(rows.amount)]
        ours = fewer[size % len(fewer)]
        if theirs is None or ours is None or theirs <= ours:
            return ()
        left.append(theirs - ours)
    amount = tuple(left) if len(set(left)) > 1 else (left[0],)
    phrases = tuple(
        replace(rows, amount=amount) if phrase is rows else phrase
        for phrase in lines[-1].phrases
        if not isinstance(phrase, ph.Ending | ph.Stated | ph.BareNumber)
    )
    line = replace(lines[-1].line, text=f"Work {amount_text(amount)} rows", phrases=phrases)
    graded = len(amount) > 1
    return (*lines[:-1], replace(lines[-1], line=line, stated=None, graded=graded, cache={}))


def fewer_rows(words: str) -> bool:
    """Whether the words say so many rows fewer than the other piece has."""
    return _FEWER.search(words) is not None


_FEWER = re.compile(
    r"\buntil (?:there are |you have worked )?(?P<number>\d+(?: ?[(\[][\d ,:/|-]+[)\]])?)"
    r" (?:rows (?:less|fewer)|(?:less|fewer) rows)\b"
)
_UP_TO = re.compile(r"\b(?:up )?(?:to|as far as) (?!match\b)(?P<place>[a-z ]+?)\s*(?:,|$)")
_NO_PLACES = frozenset(("the", "beg", "begin", "beginning", "start", "of", "shaping", "end"))
_AFTERWARDS = frozenset(("end", "completion", "completed", "complete", "after", "before"))


def stops_elsewhere(said: Prepared) -> bool:
    """Whether the given lines end at something that is no length."""
    return said.first(ph.UntilCount, ph.UntilSame, ph.UntilWorked, ph.Remaining) is not None


def _reaches(theirs: ph.UntilMeasures, ours: ph.UntilMeasures) -> bool:
    number = max(len(theirs.lengths), len(ours.lengths))
    return all(_of_size(theirs, size).cm >= _of_size(ours, size).cm for size in range(number))


def _of_size(until: ph.UntilMeasures, size: int) -> Length:
    return until.lengths[0] if len(until.lengths) == 1 else until.lengths[size]


def _ended_here(
    line: Prepared, theirs: ph.UntilMeasures, until: ph.UntilMeasures, said: Prepared
) -> Prepared:
    """Return the last of the lines with the length and the last row that are said here."""
    ending = said.first(ph.Ending)
    phrases: list[ph.Phrase] = []
    for phrase in line.phrases:
        if phrase is theirs:
            phrases.append(until)
        elif not isinstance(phrase, ph.Ending | ph.Stated | ph.BareNumber):
            phrases.append(phrase)
    if ending is not None:
        phrases.append(ending)
    return replace(line, line=replace(line.line, phrases=tuple(phrases)), stated=None, cache={})
