"""
From what is said of a row to what it may mean, strictly: every word is used, or it is nothing.

"This row: knit one, knit two, purl two, to the end" has a repeat, but nobody says where it begins.
So every reading that the words allow is returned, the likeliest first, each as the trade writes
it; who knows how many stitches are on the needle picks the one that uses them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING, Final

from engine.composing import (
    CastOnStitches,
    Composing,
    RepeatRows,
    SayRow,
    ShapeRows,
    Shaping,
    Which,
)
from engine.quantities import Length
from speech.words.numbers import whole_numbers
from speech.words.row_language import NUMBER, Part, RowLanguage
from speech.words.row_structure import Atom, AtomKind, written_rows
from speech.words.signs import tokens_in
from speech.words.understand import read_quantity, tokens_of, understand

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.commands import Command
    from engine.talk import Talk
    from speech.words.phrases import PhraseBook
    from speech.words.row_language import WayOfSaying

MOST_READINGS: Final = 24
"""So many readings of one utterance are handed on; there are hardly ever more than five."""
_MOST_PARSES: Final = 12
_LATER_PARSE: Final = 1.6
"""Of two ways to take the words the one with the longer phrases is meant."""
_REPEAT: Final = "repeat_"
"""The ways of the data that name rows to be repeated begin so."""
_ORDINAL: Final = frozenset({"st", "nd", "rd", "th"})
_ROW: Final = (("row",), ("round",))


@dataclass(frozen=True, slots=True)
class _Said:
    """The words of an utterance, with the data that they are read by."""

    tokens: tuple[str, ...]
    book: PhraseBook
    language: RowLanguage

    def ways(self, part: Part, at: int) -> Iterator[tuple[WayOfSaying, tuple[int, ...], int]]:
        """Yield every way of a table that stands at a word, its numbers and where it ends."""
        for way in self.language.ways[part]:
            for numbers, end in self._match(way.words, at):
                yield way, numbers, end

    def _match(self, words: Sequence[str], at: int) -> Iterator[tuple[tuple[int, ...], int]]:
        if not words:
            yield (), at
            return
        if words[0] == NUMBER:
            for number, end in whole_numbers(self.tokens, at, self.book.numbers):
                for numbers, behind in self._match(words[1:], end):
                    yield (number, *numbers), behind
        elif at < len(self.tokens) and self.tokens[at] == words[0]:
            yield from self._match(words[1:], at + 1)

    def behind_counted(self, at: int) -> int:
        """Return the place behind "stitches", where that stands there."""
        there = at < len(self.tokens) and self.tokens[at] in self.language.counted
        return at + there


def rows_said(words: str, book: PhraseBook, *, saying: str | None = None) -> tuple[Composing, ...]:
    """
    Return what words may say of rows, the likeliest reading first; () if they say nothing of them.

    `saying` are the words of the row that is being said (None: none is); then more of it needs no
    opener.
    """
    if book.rows is None:
        return ()
    said = _Said(tokens_of(words, book), book, book.rows)
    if not said.tokens:
        return ()
    found = list(_of_several(said))
    for opened, start in _opened(said):
        found += _whole_row(said, start, opened)
    if not found and saying is not None:
        opened = SayRow(more=True)
        if saying:
            said = replace(said, tokens=(*saying.split(), *said.tokens))
        found += _whole_row(said, 0, opened)
    unique = dict.fromkeys(found)
    return tuple(sorted(unique, key=_likelihood)[:MOST_READINGS])


def understood(
    words: str, book: PhraseBook, *, saying: str | None = None
) -> tuple[Command | Talk, ...]:
    """
    Return what typed words say: a command by its form, or a row, which may have several readings.

    A row that is typed in the usual abbreviations is handed on as it is written.
    """
    rows = rows_said(words, book, saying=saying)
    opener = opener_of(words, book)
    if opener is not None:
        opened, _ = opener
        written = written_behind(words, book)
        return rows or ((replace(opened, text=written, words=written),) if written else ())
    found = understand(words, book)
    several = tuple(one for one in rows if not isinstance(one, SayRow))
    return several or found or rows


def written_behind(words: str, book: PhraseBook) -> str:
    """Return what stands behind the opener of a typed row, as it was typed."""
    opener = opener_of(words, book)
    left = len(opener[1].split()) if opener is not None else 0
    pieces = list(tokens_in(words.casefold()))
    return words[pieces[-left].start() :].strip() if left else ""


def opener_of(words: str, book: PhraseBook) -> tuple[SayRow, str] | None:
    """Return what the opener of words says and the words behind it; None without an opener."""
    if book.rows is None:
        return None
    said = _Said(tokens_of(words, book), book, book.rows)
    longest = max(_opened(said), key=lambda one: one[1], default=None)
    if longest is None:
        return None
    opened, start = longest
    return opened, " ".join(said.tokens[start:])


def repeats_rows(words: str, book: PhraseBook) -> bool:
    """Tell whether words begin with which rows come again, and say more of it behind."""
    if book.rows is None:
        return False
    said = _Said(tokens_of(words, book), book, book.rows)
    ends = [
        end
        for way, _, end in said.ways(Part.SEVERAL, 0)
        if way.means.startswith(_REPEAT) and end < len(said.tokens)
    ]
    return bool(ends)


def _likelihood(one: Composing) -> float:
    return one.behind if isinstance(one, SayRow) else 0.0


def _opened(said: _Said) -> Iterator[tuple[SayRow, int]]:
    """Yield every opener at the beginning, as the row that it says, and where it ends."""
    rounds = {word for way in said.language.ways[Part.OPENERS] if way.means == "round"
              for word in way.words}  # fmt: skip
    for way, numbers, end in said.ways(Part.OPENERS, 0):
        in_round = bool(rounds & set(way.words))
        match way.means:
            case "this":
                yield SayRow(which=Which.THIS, in_round=in_round), end
            case "next":
                yield SayRow(which=Which.NEXT, in_round=in_round), end
            case "span" if numbers[0] < numbers[1]:
                yield SayRow(rows=numbers[0], row=numbers[1], in_round=in_round), end
            case "was":
                yield SayRow(row=numbers[0], was=True, in_round=in_round), end
            case _:
                pass


def _whole_row(said: _Said, start: int, opened: SayRow) -> Iterator[SayRow]:
    """Yield the readings of everything behind an opener."""
    end = len(said.tokens)
    words = " ".join(said.tokens[start:])
    if start == end:
        if not opened.was:
            yield opened
        return
    for _, numbers, behind in said.ways(Part.LIKE, start):
        if behind == end:
            yield replace(opened, like=numbers[0] if numbers else 0, words=words)
    for way, _, behind in said.ways(Part.WHOLE, start):
        stops = [stop.means for stop, _, last in said.ways(Part.STOPS, behind) if last == end]
        if behind == end or "to end" in stops:
            yield replace(opened, text=way.means, words=words)
    for parses, atoms in enumerate(islice(_atoms(said, start), _MOST_PARSES)):
        for text, behind_first in written_rows(atoms):
            yield replace(
                opened, text=text, words=words, behind=behind_first + _LATER_PARSE * parses
            )


def _atoms(said: _Said, at: int) -> Iterator[tuple[Atom, ...]]:
    """Yield the steps of a row in every way in which its words can be taken."""
    if at == len(said.tokens):
        yield ()
        return
    if said.tokens[at] in said.language.joins and at:
        yield from _atoms(said, at + 1)
    for atom, end in _atom_at(said, at):
        for rest in _atoms(said, end):
            yield (atom, *rest)


def _atom_at(said: _Said, at: int) -> Iterator[tuple[Atom, int]]:
    for way, _, end in said.ways(Part.FIXED, at):
        yield Atom(AtomKind.STEP, way.means, way.means), end
    for way, numbers, end in said.ways(Part.NUMBERED, at):
        if numbers[0]:
            written = way.means.replace(NUMBER, str(numbers[0]))
            yield Atom(AtomKind.STEP, written, way.means), said.behind_counted(end)
    for way, _, end in said.ways(Part.AMOUNTS, at):
        for number, behind in whole_numbers(said.tokens, end, said.book.numbers):
            if number:
                work = way.means == "work"
                written = f"work {number} sts" if work else f"{way.means}{number}"
                step = Atom(AtomKind.STEP, written, way.means, number)
                yield step, said.behind_counted(behind)
        yield Atom(AtomKind.BARE, way.means, way.means), end
    for way, numbers, end in said.ways(Part.STOPS, at):
        figure = str(numbers[0]) if numbers else ""
        written = way.means.replace(NUMBER, figure).replace(" 1 sts", " 1 st")
        behind = said.behind_counted(end) if numbers else end
        yield Atom(AtomKind.STOP, written, way.means, numbers[0] if numbers else None), behind
    for way, _, end in said.ways(Part.REPEATS, at):
        yield Atom(AtomKind(way.means), "", way.means), end
    for way, numbers, end in said.ways(Part.TIMES, at):
        in_all = _times(way, numbers) + way.means.endswith("+")
        if in_all:
            yield Atom(AtomKind.TIMES, str(in_all), "times", in_all), end


def _times(way: WayOfSaying, numbers: tuple[int, ...]) -> int:
    return numbers[0] if numbers else int(way.means.removesuffix("+"))


# --- several rows in one sentence ----------------------------------------------------------------


def _of_several(said: _Said) -> Iterator[Composing]:
    """Yield what a sentence says of several rows: to repeat them, to shape, to cast on."""
    end = len(said.tokens)
    for way, numbers, at in said.ways(Part.SEVERAL, 0):
        match way.means:
            case "cast_on" if at == end and numbers[0]:
                yield CastOnStitches(numbers[0])
            case "repeat_last":
                yield from _repeated(said, at, RepeatRows(rows=numbers[0]))
            case "repeat_span" if numbers[0] < numbers[1]:
                yield from _repeated(said, at, RepeatRows(first=numbers[0], row=numbers[1]))
            case "repeat_row":
                yield from _repeated(said, at, RepeatRows(rows=1))
            case "repeat_row_of":
                yield from _repeated(said, at, RepeatRows(first=numbers[0], row=numbers[0]))
            case "again":
                yield from _repeated(said, at, RepeatRows())
            case _:
                pass
    for change, _, behind in said.ways(Part.CHANGE, 0):
        for way, numbers, at in said.ways(Part.SEVERAL, behind):
            if way.means == "shape" and numbers[0]:
                yield from _shaped(said, at, change.means, numbers[0])


def _repeated(said: _Said, at: int, repeat: RepeatRows) -> Iterator[RepeatRows]:
    """Yield a repeat with how often, or until when, if the rest of the words says that."""
    end = len(said.tokens)
    if at == end:
        yield repeat
        return
    for way, numbers, behind in said.ways(Part.TIMES, at):
        times = _times(way, numbers)
        if behind == end and times:
            yield replace(repeat, count=times)
    for way, _, behind in said.ways(Part.SEVERAL, at):
        if way.means == "until":
            length = read_quantity(" ".join(said.tokens[behind:]), said.book)
            if isinstance(length, Length):
                yield replace(repeat, length=length)


def _shaped(said: _Said, at: int, change: str, each: int) -> Iterator[ShapeRows]:
    """Yield a shaping with the rows that it falls on, and how often or to how many stitches."""
    shape = ShapeRows(Shaping(change), each)
    for at_once, start in [(False, at), *((True, end) for end in _next_and(said, at))]:
        for every, behind in _every(said, start):
            yield from _so_often(said, behind, replace(shape, every=every, at_once=at_once))


def _next_and(said: _Said, at: int) -> Iterator[int]:
    for way, _, end in said.ways(Part.SEVERAL, at):
        if way.means == "next_and":
            yield end


def _every(said: _Said, at: int) -> Iterator[tuple[int, int]]:
    """Yield how often it falls: "every fourth row", "every other row", "every row"."""
    every = [end for way, _, end in said.ways(Part.SEVERAL, at) if way.means == "every"]
    for start in (*every, at):
        if start != at and said.tokens[start : start + 1] in _ROW:
            yield 1, start + 1
        for way, _, end in said.ways(Part.ORDINALS, start):
            if said.tokens[end : end + 1] in _ROW:
                yield int(way.means), end + 1
        for number, end in whole_numbers(said.tokens, start, said.book.numbers):
            ending, row = said.tokens[end : end + 1], said.tokens[end + 1 : end + 2]
            if number and ending and ending[0] in _ORDINAL and row in _ROW:  # "4th row" is typed
                yield number, end + 2


def _so_often(said: _Said, at: int, shape: ShapeRows) -> Iterator[ShapeRows]:
    end = len(said.tokens)
    if at == end:
        yield shape
    for way, numbers, behind in said.ways(Part.TIMES, at):
        times = _times(way, numbers)
        if behind == end and times:
            yield replace(shape, count=times)
    for way, numbers, behind in said.ways(Part.SEVERAL, at):
        if way.means == "to_count" and behind == end and numbers[0]:
            yield replace(shape, stitches=numbers[0])
