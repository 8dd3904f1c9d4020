"""
From the text of a row in the file to its prepared lines: one, or one for each of its sentences.

Designers put several things into one paragraph: "Row 2: Purl. Rep rows 1 and 2 until piece measures
8 cm. Change to larger needles." As long as the text can be read in one, it is one line (old books
write "K1. P1. Rep from * to end."); otherwise its sentences are read one by one, each at its own
place in the file.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.headings import Heading, Unchecked
from engine.pattern.lines import LineKind, Prepared, all_amounts, prepare
from engine.pattern.notation import CastOn, Remark
from engine.pattern.problems import PatternError, Problem
from engine.pattern.prose import is_prose, is_scope
from engine.pattern.row_and_repeat import repeat_of_row, row_then_repeat, row_then_side
from engine.pattern.row_reader import too_much_of
from engine.pattern.rows_apart import rows_apart

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern.notation import Amount
    from engine.pattern.row_reader import LineReader
    from engine.pattern.toml_positions import Value

MOST_SENTENCES = 40

_BOUNDARY = re.compile(r"(?<=[.!;)\]])[ \t]+(?=[A-Z])|[ \t]*\n\s*(?=\S)")
_NUMBERED = re.compile(r"\s*(?:(?:step|stage)\s+)?\d{1,2}[.)]$", re.IGNORECASE)
_COUNT_ALONE = re.compile(r"(?<=\d) (?=[(\[]\d+[)\]]\s*\.?\s*$)")
_GOES_ON = re.compile(r"\s*(?:rep(?:eat)?\.? from|work from|psso|end )", re.IGNORECASE)
_WHOLE = {
    LineKind.ROW, LineKind.EVENT, LineKind.REMARK, LineKind.COUNT, LineKind.MARK,
    LineKind.UNCHECKED,
}  # fmt: skip
_LASTING = (ph.Ending, ph.Stated, ph.BareNumber, ph.ShapingManner, Remark)
_TAILS = (ph.Stated, ph.BareNumber, ph.Ending, ph.PhraseTimes, ph.Evenly, ph.ShapingManner)


class WrittenLines:
    """Prepares the rows of one pattern file, which has these sizes."""

    def __init__(self, lines: LineReader, sizes: tuple[str, ...]) -> None:
        """Keep the reader of lines and the sizes' names."""
        self._lines = lines
        self._sizes = sizes

    def prepared(
        self, source: Value, text: str, stated: Amount | None, note: str
    ) -> tuple[Prepared, ...]:
        """Return what a row of the file means; raises PatternError at what cannot be read."""
        if (much := too_much_of(text)) is not None:
            raise PatternError(much)
        spans = list(_sentences(text))
        error: PatternError | None = None
        whole: Prepared | None = None
        try:
            whole = self._one(source, text, stated, note)
        except PatternError as problem:
            error = problem
        apart = self._stretches_apart(source, text, whole) if len(spans) == 1 else ()
        if apart:
            parts = [replace(part, note=note if part.part == 0 else "") for part in apart]
            return self._stated_last(parts, stated)
        if whole is not None and (len(spans) == 1 or whole.kind in _WHOLE):
            return (whole,)
        lasting = self._row_that_lasts(source, text, note) if whole is None else ()
        if lasting:
            return lasting
        try:
            parts = self._sentence_by_sentence(source, text, spans, note)
        except PatternError as problem:
            if whole is not None:
                return (whole,)
            raise _further(problem, error) from None
        return self._stated_last(parts, stated)

    def _stated_last(self, parts: list[Prepared], stated: Amount | None) -> tuple[Prepared, ...]:
        parts[-1] = parts[-1] if stated is None else replace(parts[-1], stated=ph.Stated(stated))
        if "sizes" in parts[0].cache:
            for part in parts[1:]:
                part.cache.setdefault("sizes", parts[0].cache["sizes"])
        return tuple(parts)

    def _stretches_apart(
        self, source: Value, text: str, whole: Prepared | None
    ) -> tuple[Prepared, ...]:
        """Return the stretches that a line says one after the other; nothing for others."""
        if whole is not None and whole.kind not in {LineKind.STRETCH, LineKind.SHAPING}:
            return ()
        try:
            line = whole.line if whole is not None else self._lines.read(text)
            apart = rows_apart(line)
            if len(apart) == 1:
                return ()
            made = [self._of_line(source, replace(line, phrases=each), None, "") for each in apart]
        except PatternError:
            return ()
        return tuple(replace(each, part=number) for number, each in enumerate(made))

    def unread(self, source: Value, text: str, stated: Amount | None) -> Prepared:
        """Return a row that cannot be read as one that is carried and not counted."""
        heading: Heading | None = None
        head = _HEAD.match(text)
        if head is not None:
            try:
                heading = self._lines.read(f"{head.group().rstrip(' :')}: k").heading
            except PatternError:
                heading = None
        if heading is not None and heading.span is not None:
            heading = None  # how many rows these are is not known
        label = heading.label if heading is not None else " ".join(text.split())[:60]
        words = text[head.end() :] if heading is not None and head is not None else text
        line = ph.PhraseLine(text, (), heading, None, Unchecked(label, words.strip()))
        made = prepare(source, line, stated=stated)
        said = made.stated
        if said is not None and len(said.amount) not in {1, max(len(self._sizes), 1)}:
            made = replace(made, stated=None)
        made.cache["unread"] = True
        return made

    def _row_that_lasts(self, source: Value, text: str, note: str) -> tuple[Prepared, ...]:
        """Return a row and its repeating: "*k2, p2; rep from * for 7 cm"; nothing for others."""
        try:
            line = self._lines.read(text)
        except PatternError:
            return ()
        if line.unchecked is None and (both := self._row_and_repeat(source, line, note)):
            return both
        lasts = (ph.UntilMeasures, ph.UntilSame, ph.HowManyRows, ph.EveryRow)
        starts = [n for n, phrase in enumerate(line.phrases) if isinstance(phrase, lasts)]
        if not starts or line.unchecked is not None:
            return ()
        if not all(isinstance(phrase, (*lasts, *_LASTING)) for phrase in line.phrases[starts[0] :]):
            return ()
        begun, told = line.phrases[: starts[0]], line.phrases[starts[0] :]
        if any(isinstance(phrase, CastOn) for phrase in begun):
            return ()  # cast on once, however often the rows after it are worked
        if not any(isinstance(phrase, lasts[:3]) for phrase in told):
            return ()  # "every row": how often is not said
        if any(isinstance(phrase, ph.HowManyRows) for phrase in told) and len(told) > 1:
            more = next(phrase for phrase in told if isinstance(phrase, ph.HowManyRows))
            fewer = tuple(n and max(n - 1, 0) for n in more.amount)
            told = tuple(replace(p, amount=fewer) if p is more else p for p in told)
        elif isinstance(told[0], ph.HowManyRows):
            told = (replace(told[0], amount=tuple(n and max(n - 1, 0) for n in told[0].amount)),)
        again = ph.RepeatRows(last=(1,), at=told[0].at if hasattr(told[0], "at") else 0)
        try:
            row = self._of_line(source, replace(line, phrases=begun), None, note)
            rest = self._of_line(
                source, replace(line, phrases=(again, *told), heading=None, sizes=None), None, ""
            )
        except PatternError:
            return ()
        if row.kind is not LineKind.ROW:
            return ()
        return (row, replace(rest, part=1))

    def _row_and_repeat(
        self, source: Value, line: ph.PhraseLine, note: str
    ) -> tuple[Prepared, ...]:
        """Return a row and how it is repeated, said in one sentence; nothing for other lines."""
        apart = row_then_repeat(line.phrases) or row_then_side(line.phrases)
        named = repeat_of_row(line.phrases) if apart is None else None
        try:
            if apart is not None:
                row = self._of_line(source, replace(line, phrases=apart[0]), None, note)
                told = replace(line, phrases=apart[1], heading=None, sizes=None)
                rest = self._of_line(source, told, None, "")
            elif named is not None:
                name, stitches, repeating = named
                row = self._of_line(source, replace(line, phrases=stitches), None, note)
                row.cache["called"] = name
                rest = self._of_line(source, replace(line, phrases=repeating), None, "")
            else:
                return ()
        except PatternError:
            return ()
        return (row, replace(rest, part=1)) if row.kind is LineKind.ROW else ()

    def _sentence_by_sentence(
        self, source: Value, text: str, spans: list[tuple[int, int]], note: str
    ) -> list[Prepared]:
        parts: list[Prepared] = []
        starts: list[int] = []
        for start, end in spans:
            alone = _only(text, start, end)
            try:
                made = self._one(source, alone, None, note if not parts else "")
            except PatternError:
                if apart := self._stretches_apart(source, alone, None):
                    parts.extend(replace(one, part=len(parts) + one.part) for one in apart)
                    starts.extend(start for _ in apart)
                    continue
                if parts and not is_prose(alone) and (joined := self._with_last(
                    source, text, parts, starts, end
                )):  # fmt: skip
                    parts[-1] = joined
                    continue
                made = self._prose(source, alone)
            else:
                tail = all(isinstance(phrase, _TAILS) for phrase in made.phrases)
                if parts and made.line.heading is None and (tail or _GOES_ON.match(alone)):
                    joined = self._with_last(source, text, parts, starts, end)
                    if joined is not None:
                        parts[-1] = joined
                        continue
                if apart := self._stretches_apart(source, alone, made):
                    parts.extend(replace(one, part=len(parts) + one.part) for one in apart)
                    starts.extend(start for _ in apart)
                    continue
            parts.append(replace(made, part=len(parts)))
            starts.append(start)
        return parts

    def _with_last(
        self, source: Value, text: str, parts: list[Prepared], starts: list[int], end: int
    ) -> Prepared | None:
        """Return the sentence before together with one more, if that can be read."""
        last = parts[-1]
        if "prose" in last.cache or starts.count(starts[-1]) > 1:
            return None
        try:
            made = self._one(source, _only(text, starts[-1], end), None, last.note)
        except PatternError:
            return None
        return replace(made, part=last.part)

    def _prose(self, source: Value, text: str) -> Prepared:
        """Return words in which nothing of the trade stands as a remark; else raise again."""
        if not is_prose(text) or is_scope(text):
            return self._one(source, text, None, "")
        start = len(text) - len(text.lstrip())
        words = " ".join(text.split())
        made = prepare(source, ph.PhraseLine(text, (Remark(words, start),)))
        made.cache["prose"] = start
        return made

    def _one(self, source: Value, text: str, stated: Amount | None, note: str) -> Prepared:
        if len(self._sizes) <= 1:
            # With one size "k8 (19)" is no number for each size: it is a count at the row's end.
            text = _COUNT_ALONE.sub(";", text)
        return self._of_line(source, self._lines.read(text), stated, note)

    def _of_line(
        self, source: Value, line: ph.PhraseLine, stated: Amount | None, note: str
    ) -> Prepared:
        prepared = prepare(source, line, stated=stated, note=note)
        for amount, at in _amounts_of(prepared):
            if len(amount) > 1 and len(amount) != max(len(self._sizes), 1):
                if (
                    len(self._sizes) <= 1
                    and prepared.stated is not None
                    and amount == prepared.stated.amount
                ):
                    continue
                raise PatternError(Problem(sizes_differ(amount, self._sizes), 1, at + 1))
        for phrase in prepared.phrases:
            if isinstance(phrase, Remark) and phrase.text[:1] in {"(", "["}:
                self._no_size_in(phrase)
        if line.sizes is not None:
            prepared.cache["sizes"] = self._sizes_named(line.sizes.text, line.sizes.at)
            prepared.cache["all sizes"] = _ALL_SIZES.search(line.sizes.text) is not None
        return prepared

    def _no_size_in(self, aside: Remark) -> None:
        """Raise at "(for S and M)": for which sizes the stitch before it is worked."""
        words = set(re.findall(r"[\w-]+", aside.text.casefold()))
        named = {name.casefold() for name in self._sizes}
        if len(named) > 1 and words & named and words <= named | {"and", "for", "size", "sizes"}:
            sentence = "Write what some sizes work as a line of its own: 'Sizes S and M only: ...'."
            raise PatternError(Problem(sentence, 1, aside.at + 1))

    def _sizes_named(self, text: str, at: int) -> frozenset[int]:
        if _ALL_SIZES.search(text) is not None:
            return frozenset(range(max(len(self._sizes), 1)))
        words = text.casefold()
        found = {
            number
            for number, name in enumerate(self._sizes)
            if re.search(rf"(?<![\w]){re.escape(name.casefold())}(?![\w])", words)
        }
        if not found:
            for place, ordinal in enumerate(_ORDINALS[: len(self._sizes)]):
                if re.search(rf"\b{ordinal}\b", words):
                    found.add(place)
            for ordinal in re.findall(r"(\d+)(?:st|nd|rd|th)", words):
                if 1 <= int(ordinal) <= len(self._sizes):
                    found.add(int(ordinal) - 1)
        if not found:
            names = ", ".join(self._sizes) or "none"
            sentence = f"No size of the pattern is named here; it has {names}."
            raise PatternError(Problem(sentence, 1, at + 1))
        return frozenset(found)


def _amounts_of(prepared: Prepared) -> Iterator[tuple[Amount, int]]:
    yield from all_amounts(prepared.line, prepared.row)
    heading = prepared.line.heading
    for amount in (heading.span or ()) if heading is not None else ():
        yield amount, heading.at if heading is not None else 0
    if heading is not None:
        yield heading.count, heading.at
    if prepared.kind is LineKind.UNCHECKED and prepared.stated is not None:
        yield prepared.stated.amount, prepared.stated.at


def sizes_differ(amount: Amount, sizes: tuple[str, ...]) -> str:
    """Say that so many numbers stand where the pattern has another number of sizes."""
    there = len(sizes)
    names = "one size; list the sizes: sizes = [...]" if there <= 1 else f"{there} sizes"
    return f"{len(amount)} numbers stand here, but the pattern has {names}."


_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
_ALL_SIZES = re.compile(r"\b(?:all|both|each) sizes?\b", re.IGNORECASE)
_HEAD = re.compile(r"\s*[A-Za-z0-9][A-Za-z0-9 ,&-]{0,40}(?:[(\[][^()\[\]]*[)\]])?\s*:")


def _sentences(text: str) -> Iterator[tuple[int, int]]:
    start = 0
    for number, found in enumerate(_BOUNDARY.finditer(text)):
        if number >= MOST_SENTENCES:
            break
        if text[start : found.start()].strip() and not _NUMBERED.match(text, 0, found.start()):
            yield start, found.start()
            start = found.end()
    yield start, len(text)


def _only(text: str, start: int, end: int) -> str:
    """Return a piece of a text with blanks before it, so that it keeps its place."""
    return f"{' ' * start}{text[start:end]}"


def _further(one: PatternError, other: PatternError | None) -> PatternError:
    """Return the error that came further in the line: what stands before it could be read."""
    if other is None or (one.problem.column or 0) >= (other.problem.column or 0):
        return one
    return other
