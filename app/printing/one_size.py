"""A written line as print shows it: its parts, the numbers of one size, both units, its count.

Whatever is changed in a designer's line is read again by the reader of written rows; if it does not
mean the same any more, the change is not made. So what is printed is what was checked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.printing.both_units import in_both_units
from engine.pattern.lines import Prepared, all_amounts, prepare
from engine.pattern.notation import Amount, amount_for, items_for
from engine.pattern.phrases import Stated, UntilMeasures
from engine.pattern.problems import PatternError
from engine.pattern.row_reader import LineReader, Names
from engine.pattern.row_text import amount_text, items_text
from engine.pattern.stitches import STITCHES, Kind, Stitch
from engine.pattern.toml_positions import Value

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from engine.pattern import PatternDocument, RowReader


@dataclass(frozen=True, slots=True)
class PrintedLine:
    """The parts of a line: for which sizes, its heading, what is worked, the count stated."""

    sizes: str
    label: str
    text: str
    stated: str

    def __str__(self) -> str:
        """Write it on one line, as a pattern file has it."""
        head = " ".join(
            part for part in (self.sizes, f"{self.label}:" if self.label else "") if part
        )
        tail = f": {self.stated}" if self.stated else ""
        return f"{head} {self.text}{tail}".strip()


class LinePrinter:
    """Prints the lines of one document, for all its sizes or for one (`size`, counted from 0)."""

    def __init__(self, document: PatternDocument, reader: RowReader, size: int | None) -> None:
        """Prepare to read the document's lines again."""
        self._reader = LineReader(reader, names_of(document))
        self._sizes = max(len(document.sizes), 1)
        self._size = size

    def printed(self, line: Prepared) -> PrintedLine | None:
        """Return a line as it is printed; None if the chosen size does not have it."""
        if self._size is not None and self._size not in sizes_of(line, self._sizes):
            return None
        if line.line.unchecked is not None:
            return self._unchecked(line)
        sizes, label, text = _parts(line)
        text, stated = self._without_count(line, label, text)
        if self._size is not None and line.graded:
            text = self._for_size(line, label, text)
        if self._size is not None:
            sizes = ""
        text = self._units(label, text)
        return PrintedLine(sizes, label, text, self._count(stated))

    def _unchecked(self, line: Prepared) -> PrintedLine:
        """Return a line that nobody reads as it is written, with the units beside it."""
        unchecked = line.line.unchecked
        label = unchecked.label if unchecked is not None else ""
        text = (unchecked.text if unchecked is not None else line.line.text).strip()
        if text == label:
            label = ""
        return PrintedLine("", label, in_both_units(text), self._count(line.stated))

    def _count(self, stated: Stated | None) -> str:
        if stated is None or stated.change:
            return ""
        amount = stated.amount
        if self._size is not None:
            amount = amount_for(amount, self._size)
        return stitches_text(amount)

    def _without_count(self, line: Prepared, label: str, text: str) -> tuple[str, Stated | None]:
        """Take the count off the end of a line, if the rest says the same without it."""
        tail = _COUNT.search(text)
        if line.row is None or line.row.stated is None or line.row.stated.change or tail is None:
            return text, line.stated if _stated_apart(line) else None
        head = text[: tail.start()].rstrip(" :;,.-\N{EN DASH}\N{EM DASH}")
        again = self._read(label, head)
        same = again is not None and again.row is not None and again.row.items == line.row.items
        if same and again is not None and again.row is not None and again.row.stated is None:
            return head, line.row.stated
        return text, None

    def _for_size(self, line: Prepared, label: str, text: str) -> str:
        """Put in the numbers of the chosen size."""
        size = self._size or 0
        wanted = _meaning_for(line, size)
        in_brackets = for_one_size(text, self._sizes, size)
        for changed in (in_brackets, _of_joined(in_brackets, self._sizes, size)):
            again = self._read(label, changed)
            if again is not None and _meaning_for(again, 0) == wanted:
                return changed
        if line.row is not None:
            return items_text(items_for(line.row.items, size))
        return text

    def _units(self, label: str, text: str) -> str:
        """Add the other system of units, if the line is read as before with it."""
        changed = in_both_units(text)
        if changed == text:
            return text
        before, after = self._read(label, text), self._read(label, changed)
        if before is None and after is None:
            return changed  # only the whole line can be read, of which this is a part
        if before is None or after is None or _meaning(before) != _meaning(after):
            return text
        return changed

    def _read(self, label: str, text: str) -> Prepared | None:
        whole = f"{label}: {text}" if label else text
        try:
            return prepare(_NOWHERE, self._reader.read(whole))
        except PatternError:
            return None


_NOWHERE: Final = Value("", 1, 1)
_COUNT: Final = re.compile(
    r"[\s:;,.\-\u2013\u2014]*[(\[]?(?<![\w*])(?:\d+|[-\u2013\u2014])"
    r"(?:\s*[(\[](?:\d+|[-\u2013\u2014])(?:\s*[,:;]\s*(?:\d+|[-\u2013\u2014]))*[)\]])*"
    r"\s*(?:sts?|stitch(?:es)?)?"
    r"(?:\s+(?:rem(?:ain(?:ing)?)?|left|in total|total|on needles?))?\.?[)\]]?\.?\s*$",
    re.IGNORECASE,
)


def _stated_apart(line: Prepared) -> bool:
    """Whether the count stands in the file beside the row, not in its words."""
    in_words = line.row.stated if line.row is not None else None
    return line.stated is not None and in_words is None and line.row is not None


def sizes_of(line: Prepared, sizes: int) -> frozenset[int]:
    """Return for which sizes, counted from 0, a line is."""
    named = line.cache.get("sizes")
    return named if isinstance(named, frozenset) else frozenset(range(sizes))


def stitches_text(amount: Amount) -> str:
    """Write a count of stitches: "80 (88, 96) sts"."""
    if len(set(amount)) == 1:
        amount = amount[:1]
    return f"{amount_text(amount)} {'st' if amount == (1,) else 'sts'}"


def names_of(document: PatternDocument) -> Names:
    """Return the names that the designer gave to stitches, stitch patterns and colours."""
    stitches: dict[str, Stitch] = {}
    patterns: dict[str, None] = {}
    colours: dict[str, None] = {}
    for line in lines_of(document):
        for stitch, colour in _stitches_in(line.row.items if line.row is not None else ()):
            if colour:
                colours[colour] = None
            if stitch.kind is Kind.OTHER and stitch.name not in STITCHES:
                stitches[stitch.name] = stitch
    for piece in document.pieces:
        for section in piece.sections:
            patterns |= dict.fromkeys(section.patterns)
    usual = {letter.upper() for letter in colours} <= _USUAL
    return Names(stitches, tuple(patterns), () if usual else tuple(colours))


_USUAL: Final = frozenset(("A", "B", "C", "D", "E", "F", "G", "H", "MC", "CC", "CC1", "CC2", "CC3"))


def lines_of(document: PatternDocument) -> Iterator[Prepared]:
    """Yield every written line of a document, those of its stitch patterns first."""
    seen: set[str] = set()
    for piece in document.pieces:
        for section in piece.sections:
            for name, lines in section.patterns.items():
                if name not in seen:
                    seen.add(name)
                    yield from lines
    for piece in document.pieces:
        for section in piece.sections:
            yield from section.lines


def _stitches_in(items: Iterable[object]) -> Iterator[tuple[Stitch, str]]:
    for item in items:
        stitch = getattr(item, "stitch", None)
        if isinstance(stitch, Stitch):
            yield stitch, str(getattr(item, "colour", ""))
        yield from _stitches_in(getattr(item, "body", ()))


def stitches_used(document: PatternDocument) -> tuple[Stitch, ...]:
    """Return the stitches that the read rows of a document work, each once, in order."""
    found: dict[str, Stitch] = {}
    for line in lines_of(document):
        for stitch, _ in _stitches_in(line.row.items if line.row is not None else ()):
            found.setdefault(stitch.name, stitch)
    return tuple(found.values())


def _parts(line: Prepared) -> tuple[str, str, str]:
    """Return the words for the sizes, the heading, and the rest of a line."""
    text = " ".join(line.line.text.split())
    sizes = ""
    if line.line.sizes is not None:
        sizes = " ".join(line.line.sizes.text.split())
        if text.startswith(sizes):
            text = text[len(sizes) :].lstrip()
    heading = line.line.heading
    if heading is None:
        return sizes, "", text
    label, colon, rest = text.partition(":")
    return (sizes, label.strip(), rest.strip()) if colon else (sizes, "", text)


def _meaning(line: Prepared) -> tuple[object, ...]:
    if line.row is not None:
        return line.kind, line.row.items
    return line.kind, line.phrases


def _meaning_for(line: Prepared, size: int) -> tuple[object, ...]:
    """Return what a line means for a size: its items, or its kinds of phrases and their numbers."""
    if line.row is not None:
        return line.kind, items_for(line.row.items, size)
    numbers = [amount_for(amount, size) for amount, _ in all_amounts(line.line, None)]
    lengths = [
        phrase.lengths[size if len(phrase.lengths) > 1 else 0]
        for phrase in line.phrases
        if isinstance(phrase, UntilMeasures)
    ]
    return line.kind, tuple(map(type, line.phrases)), tuple(numbers), tuple(lengths)


_ENTRY: Final = r"(?:\d+[.,]\d+|\d+ \d/\d|\d*[¼½¾⅓⅔⅛⅜⅝⅞]|\d+|[-\u2013\u2014])"


def _graded_number(sizes: int) -> re.Pattern[str]:
    """Return what a number for so many sizes looks like: "24 (28, 32)", "6[7:8]"."""
    more = rf"(?:\s*[,:;/]\s*{_ENTRY})*"
    return (
        re.compile(rf"(?<![\d.,]){_ENTRY}(?:\s*[(\[]\s*{_ENTRY}{more}\s*[)\]])+")
        if sizes > 1
        else _NEVER
    )


def for_one_size(text: str, sizes: int, size: int) -> str:
    """Return a text with every number for so many sizes replaced by that of one of them."""
    return _graded_number(sizes).sub(lambda found: _chosen(found, sizes, size), text)


def _of_joined(text: str, sizes: int, size: int) -> str:
    """Return a text with one of so many numbers that are joined: "15/19/23", "26-27-28"."""
    if sizes == 1:
        return text
    joined = "|".join(
        rf"{_ENTRY}(?:{sign}{_ENTRY}){{{sizes - 1}}}" for sign in ("/", "-", "\N{EN DASH}")
    )
    numbers = re.compile(rf"(?<![\d.,/\-\u2013])(?:{joined})(?![\d/\-\u2013])")
    return numbers.sub(lambda found: _chosen(found, sizes, size), text)


_NEVER: Final = re.compile(r"(?!)")


def _chosen(found: re.Match[str], sizes: int, size: int) -> str:
    entries = re.findall(_ENTRY, found.group())
    return entries[size] if len(entries) == sizes else found.group()
