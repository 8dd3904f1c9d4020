"""
A pattern file: a title, a cast-on, rows, and whatever else the designer says.

The file is TOML and described for designers in docs/PATTERN-FILE.md. A small pattern is a title, a
cast-on and a list of rows and nothing else.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING

from engine.pattern.assemble import Assembled, Assembler, Count, SectionLines
from engine.pattern.course import Course
from engine.pattern.lines import Prepared, all_amounts, prepare
from engine.pattern.located import Array, Node, Table, Value, first_place, read_toml
from engine.pattern.notation import Amount, amount_for
from engine.pattern.phrases import AsGiven, HeadingKind
from engine.pattern.problems import PatternError, Problem
from engine.pattern.row_reader import LineReader, Names, RowReader
from engine.pattern.spelling import amount_of
from engine.pattern.stitches import Kind, Stitch
from engine.quantities import Length, parse_length

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_SIZES = 60
MOST_LINES = 40_000


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the check of one size says: `ok` only when every row adds up."""

    size: str | None
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    counts: tuple[Count, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


@dataclass(frozen=True, slots=True)
class PieceText:
    """One piece of a pattern: its cast-on per size and its sections."""

    title: str
    cast_on: Amount | None
    in_the_round: bool
    sections: tuple[SectionLines, ...]
    length: tuple[Length, ...] = ()
    multiple: tuple[int, int] | None = None
    stated: tuple[tuple[str, Amount, Value], ...] = ()


@dataclass(frozen=True)
class PatternDocument:
    """A pattern as it was read; `course` puts in the numbers of a size."""

    title: str
    sizes: tuple[str, ...]
    cautions: tuple[str, ...]
    gauge: str
    needle: str
    yarn: str
    facts: tuple[tuple[str, str], ...]
    """What else the designer says, key and text, in order."""
    pieces: tuple[PieceText, ...]
    text_hash: str
    _made: dict[tuple[str | None, int], Assembled] = field(
        default_factory=dict, compare=False, repr=False
    )

    def course(self, size: str | None = None, piece: str | None = None) -> Course:
        """
        Return the course of a piece (the first one) for a size (the first one).

        Raises KeyError for a size or a piece that the pattern does not have.
        """
        number = self._size_number(size)
        index = self._piece_number(piece)
        text = self.pieces[index]
        cast_on = amount_for(text.cast_on, number)[0] if text.cast_on is not None else None
        made = self._assembled(number, index)
        lengths = text.length
        target = (lengths[0] if len(lengths) == 1 else lengths[number]) if lengths else None
        title = self.title if len(self.pieces) == 1 else f"{self.title}: {text.title}"
        return Course(
            title,
            self.sizes[number] if self.sizes else None,
            cast_on,
            text.in_the_round,
            made.parts,
            target,
            self.gauge,
        )

    def check(self) -> tuple[Verdict, ...]:
        """Return a verdict for every size (one, without a name, if the pattern has no sizes)."""
        verdicts = []
        for number in range(max(len(self.sizes), 1)):
            made = [self._assembled(number, index) for index in range(len(self.pieces))]
            verdicts.append(
                Verdict(
                    self.sizes[number] if self.sizes else None,
                    tuple(problem for piece in made for problem in piece.problems),
                    tuple(warning for piece in made for warning in piece.warnings),
                    tuple(count for piece in made for count in piece.counts),
                )
            )
        return tuple(verdicts)

    def _size_number(self, size: str | None) -> int:
        if size is None:
            return 0
        for number, name in enumerate(self.sizes):
            if name.casefold() == size.casefold():
                return number
        raise KeyError(
            f"The pattern has no size '{size}'; it has {', '.join(self.sizes) or 'one'}."
        )

    def _piece_number(self, piece: str | None) -> int:
        if piece is None:
            return 0
        for number, text in enumerate(self.pieces):
            if text.title.casefold() == piece.casefold():
                return number
        raise KeyError(f"The pattern has no piece '{piece}'.")

    def _assembled(self, number: int, index: int) -> Assembled:
        key = (str(number), index)
        if key not in self._made:
            self._made[key] = _assemble(self, number, self.pieces[index])
        return self._made[key]


def _assemble(document: PatternDocument, number: int, piece: PieceText) -> Assembled:
    cast_on = amount_for(piece.cast_on, number)[0] if piece.cast_on is not None else None
    name = document.sizes[number] if document.sizes else None
    assembler = Assembler(size=number, name=name, cast_on=cast_on, in_the_round=piece.in_the_round)
    for section in piece.sections:
        assembler.add_section(section)
    made = assembler.finish()
    return _with_stated(made, piece, number, name, cast_on)


def _with_stated(
    made: Assembled, piece: PieceText, number: int, name: str | None, cast_on: int | None
) -> Assembled:
    """Compare the counts with those that stand in the file apart from the rows."""
    problems = list(made.problems)
    for label, amount, source in piece.stated:
        stated = amount_for(amount, number)[0]
        count = _count_after(made.counts, label)
        total = cast_on if label == "0" else count.stitches if count is not None else None
        if stated is None or total is None or total == stated:
            continue
        row = count.row if count is not None else "cast-on"
        section = count.section if count is not None else None
        sentence = f"{total} stitches are on the needle after this, {stated} are stated."
        place = source.line, source.column
        problems.append(Problem(sentence, *place, section, row, None, name, total - stated))
    return replace(made, problems=tuple(problems))


def _count_after(counts: tuple[Count, ...], label: str) -> Count | None:
    for count in counts:
        if count.row.casefold() == label.casefold():
            return count
    wanted = amount_of(label)
    for count in counts:
        numbers = re.findall(r"\d+", count.row)
        if wanted and numbers and int(numbers[-1]) == wanted[-1]:
            return count
    return None


def read_pattern(text: str, reader: RowReader) -> PatternDocument | tuple[Problem, ...]:
    """Return the pattern in a text, or all the problems that keep it from being read."""
    try:
        return _Reader(text, reader).document()
    except PatternError as error:
        return (error.problem,)
    except _Problems as error:
        return error.problems


class _Problems(Exception):
    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(str(len(problems)))
        self.problems = problems


_PIECE_KEYS = (
    "cast_on",
    "rows",
    "section",
    "in_the_round",
    "kind",
    "length",
    "multiple",
    "stated",
    "cautions",
)
_SECTION_KEYS = ("id", "title", "rows", "note")
_TOP_KEYS = (
    "title", "id", "sizes", "gauge", "needle", "yarn", "source", "note", "notes", "lines", "tags", "difficulty",
    "stitches", "stitch_pattern", "colours", "colors", "piece", "measurements", "materials", "designer",
    "units", "width", "around",
    *_PIECE_KEYS,
)  # fmt: skip
_ROW_KEYS = ("text", "note", "stitches", "unchecked")


class _Reader:
    def __init__(self, text: str, reader: RowReader) -> None:
        self.text = text
        self.tree = read_toml(text)
        self.problems: list[Problem] = []
        self.sizes: tuple[str, ...] = ()
        self.reader = reader
        self.lines: LineReader | None = None
        self.read_lines: dict[str, object] = {}

    def document(self) -> PatternDocument:
        tree = self.tree
        self._known_keys(tree, _TOP_KEYS, "a pattern")
        title = self._string(tree, "title") or self._string(tree, "id") or ""
        if not title:
            self._say('Give the pattern a title: title = "...".', (1, 1))
        self.sizes = self._strings(tree, "sizes")
        if len(self.sizes) > MOST_SIZES:
            self._say(f"A pattern has at most {MOST_SIZES} sizes.", tree.place("sizes"))
            self.sizes = self.sizes[:MOST_SIZES]
        self.lines = LineReader(self.reader, self._names())
        pieces = tuple(self._pieces())
        document = PatternDocument(
            title,
            self.sizes,
            self._strings(tree, "cautions"),
            self._string(tree, "gauge"),
            self._string(tree, "needle"),
            self._string(tree, "yarn"),
            tuple(self._facts()),
            pieces,
            hashlib.sha256(self.text.encode()).hexdigest(),
        )
        if self.problems:
            raise _Problems(tuple(self.problems))
        return document

    # --- small parts -------------------------------------------------------------------------------

    def _say(self, sentence: str, place: tuple[int, int]) -> None:
        self.problems.append(Problem(sentence, *place))

    def _known_keys(self, table: Table, known: tuple[str, ...], where: str) -> None:
        for key in table.entries:
            if key not in known:
                near = get_close_matches(key, known, n=1)
                hint = f"; is '{near[0]}' meant?" if near else "."
                self._say(f"'{key}' is no key of {where}{hint}", table.place(key))

    def _string(self, table: Table, key: str) -> str:
        node = table.entries.get(key)
        match node:
            case None:
                return ""
            case Value(value=str() as text):
                return text
            case Value(value=value):
                return str(value)
            case _:
                return ""

    def _strings(self, table: Table, key: str) -> tuple[str, ...]:
        node = table.entries.get(key)
        match node:
            case None:
                return ()
            case Array():
                return tuple(str(item.value) for item in node.items if isinstance(item, Value))
            case Value(value=value):
                return (str(value),)
            case _:
                self._say(f"'{key}' is a list of words.", table.place(key))
                return ()

    def _facts(self) -> Iterator[tuple[str, str]]:
        for key in ("source", "designer", "note", "notes", "materials"):
            text = self._string(self.tree, key)
            if text:
                yield key, text
        for key in ("measurements",):
            table = self.tree.entries.get(key)
            if isinstance(table, Table):
                for name, node in table.entries.items():
                    if isinstance(node, Value):
                        yield name, str(node.value)

    def _names(self) -> Names:
        stitches: dict[str, Stitch] = {}
        table = self.tree.entries.get("stitches")
        if isinstance(table, Table):
            for name, node in table.entries.items():
                stitch = self._stitch(name, node, table)
                if stitch is not None:
                    stitches[name] = stitch
        patterns = tuple(
            self._string(entry, "name") or self._string(entry, "title")
            for entry in self._tables(self.tree, "stitch_pattern")
        )
        colours = self.tree.entries.get("colours") or self.tree.entries.get("colors")
        letters = tuple(colours.entries) if isinstance(colours, Table) else ()
        return Names(stitches, tuple(name for name in patterns if name), letters)

    def _stitch(self, name: str, node: Node, table: Table) -> Stitch | None:
        if not isinstance(node, Table):
            self._say(
                f'Write {name} = {{ takes = 1, leaves = 1, words = "..." }}.', table.place(name)
            )
            return None
        self._known_keys(node, ("takes", "leaves", "words", "key"), f"the stitch {name}")
        numbers = []
        for key in ("takes", "leaves"):
            value = node.entries.get(key, Value(1, *table.place(name)))
            if (
                not isinstance(value, Value)
                or not isinstance(value.value, int)
                or not 0 <= value.value <= 1000
            ):  # noqa: PLR2004
                self._say(f"'{key}' of {name} is a number of loops.", first_place(value))
                return None
            numbers.append(int(value.value))
        return Stitch(name, numbers[0], numbers[1], Kind.OTHER, self._string(node, "words"))

    def _tables(self, table: Table, key: str) -> Iterator[Table]:
        node = table.entries.get(key)
        match node:
            case Array():
                for item in node.items:
                    if isinstance(item, Table):
                        yield item
            case Table():
                yield node
            case _:
                return

    # --- pieces, sections, rows ----------------------------------------------------------------------

    def _pieces(self) -> Iterator[PieceText]:
        tables = list(self._tables(self.tree, "piece"))
        own = "rows" in self.tree.entries or "section" in self.tree.entries
        if own or not tables:
            yield self._piece(self.tree, "")
        for table in tables:
            self._known_keys(table, ("title", "id", *_PIECE_KEYS), "a piece")
            yield self._piece(table, self._string(table, "title") or self._string(table, "id"))

    def _piece(self, table: Table, title: str) -> PieceText:
        cast_on = self._amount(table, "cast_on")
        patterns = self._stitch_patterns()
        sections: list[SectionLines] = []
        if "rows" in table.entries:
            lines = self._rows(table)
            sections.append(SectionLines("rows", "", lines, patterns))
        for number, entry in enumerate(self._tables(table, "section"), 1):
            self._known_keys(entry, _SECTION_KEYS, "a section")
            name = self._string(entry, "title") or self._string(entry, "id") or f"Section {number}"
            own = self._string(entry, "id") or _slug(name)
            sections.append(SectionLines(own, name, self._rows(entry), patterns))
        if not sections:
            self._say('Give the pattern its rows: rows = [ "Row 1: ..." ].', (1, 1))
        return PieceText(
            title,
            cast_on,
            self._in_the_round(table, sections),
            tuple(sections),
            self._lengths(table, "length"),
            stated=tuple(self._stated(table)),
        )

    def _in_the_round(self, table: Table, sections: list[SectionLines]) -> bool:
        said = table.entries.get("in_the_round")
        if isinstance(said, Value) and isinstance(said.value, bool):
            return said.value
        kind = self._string(table, "kind")
        if kind:
            return kind == "round"
        for section in sections:
            for prepared in section.lines:
                heading = prepared.line.heading
                if heading is not None and heading.kind is not HeadingKind.NEXT:
                    return heading.in_the_round
        return False

    def _stitch_patterns(self) -> dict[str, tuple[Prepared, ...]]:
        return {
            self._string(entry, "name") or self._string(entry, "title"): self._rows(entry)
            for entry in self._tables(self.tree, "stitch_pattern")
        }

    def _rows(self, table: Table) -> tuple[Prepared, ...]:
        node = table.entries.get("rows")
        if not isinstance(node, Array):
            if node is not None:
                self._say("'rows' is a list: rows = [ \"Row 1: ...\", ... ].", first_place(node))
            return ()
        if len(node.items) > MOST_LINES:
            self._say(f"A part has at most {MOST_LINES} written rows.", first_place(node))
            return ()
        lines = [self._row(item) for item in node.items]
        return tuple(line for line in lines if line is not None)

    def _row(self, node: Node) -> Prepared | None:
        stated: Amount | None = None
        note = ""
        unchecked = False
        source: Value | None = None
        match node:
            case Value(value=str()):
                source = node
            case Table():
                self._known_keys(node, _ROW_KEYS, "a row")
                text = node.entries.get("text")
                source = text if isinstance(text, Value) and isinstance(text.value, str) else None
                stated = self._amount(node, "stitches")
                note = self._string(node, "note")
                flag = node.entries.get("unchecked")
                unchecked = isinstance(flag, Value) and flag.value is True
            case _:
                pass
        if source is None or not isinstance(source.value, str):
            self._say('A row is a text: "Row 1: k to end".', first_place(node))
            return None
        text_of_row = source.value
        if unchecked and "unchecked" not in text_of_row.casefold():
            head, colon, rest = text_of_row.partition(":")
            text_of_row = f"{head} (unchecked): {rest}" if colon else f"unchecked: {head}"
        try:
            return self._prepared(source, text_of_row, stated, note)
        except PatternError as error:
            line, column = source.place((error.problem.column or 1) - 1)
            self.problems.append(replace(error.problem, line=line, column=column))
            return None

    def _prepared(self, source: Value, text: str, stated: Amount | None, note: str) -> Prepared:
        if self.lines is None:
            raise TypeError("The names are not known yet.")
        line = self.lines.read(text)
        prepared = prepare(source, line, stated=stated, note=note)
        for amount, at in all_amounts(line, prepared.row):
            if len(amount) > 1 and len(amount) != max(len(self.sizes), 1):
                if (
                    len(self.sizes) < 2
                    and prepared.stated is None
                    and amount == _last_amount(prepared)
                ):  # noqa: PLR2004
                    continue
                raise PatternError(Problem(self._sizes_differ(amount), 1, at + 1))
        if line.sizes is not None:
            prepared.cache["sizes"] = self._sizes_named(line.sizes.text, line.sizes.at)
        return prepared

    def _sizes_differ(self, amount: Amount) -> str:
        there = len(self.sizes)
        names = "one size; list the sizes: sizes = [...]" if there <= 1 else f"{there} sizes"
        return f"{len(amount)} numbers stand here, but the pattern has {names}."

    def _sizes_named(self, text: str, at: int) -> frozenset[int]:
        words = text.casefold()
        found = {
            number
            for number, name in enumerate(self.sizes)
            if re.search(rf"(?<![\w]){re.escape(name.casefold())}(?![\w])", words)
        }
        if not found:
            for ordinal in re.findall(r"(\d+)(?:st|nd|rd|th)", words):
                if 1 <= int(ordinal) <= len(self.sizes):
                    found.add(int(ordinal) - 1)
        if not found:
            raise PatternError(
                Problem(
                    f"No size of the pattern is named here; it has {', '.join(self.sizes) or 'none'}.",
                    1,
                    at + 1,
                )
            )
        return frozenset(found)

    def _amount(self, table: Table, key: str) -> Amount | None:
        node = table.entries.get(key)
        amount: Amount | None = None
        match node:
            case None:
                return None
            case Value(value=bool()):
                amount = None
            case Value(value=int() as number):
                amount = (number,) if 0 <= number <= _MOST else None
            case Value(value=str() as text):
                amount = amount_of(text)
            case Array():
                numbers = [item.value if isinstance(item, Value) else None for item in node.items]
                if numbers and all(isinstance(n, int) and 0 <= n <= _MOST for n in numbers):
                    amount = tuple(int(n) for n in numbers if isinstance(n, int))
            case _:
                pass
        if amount is None:
            self._say(f"'{key}' is a number of stitches, or one for each size.", table.place(key))
            return None
        if len(amount) > 1 and len(amount) != max(len(self.sizes), 1):
            self._say(self._sizes_differ(amount), table.place(key))
            return None
        return amount

    def _lengths(self, table: Table, key: str) -> tuple[Length, ...]:
        node = table.entries.get(key)
        texts: list[str] = []
        match node:
            case None:
                return ()
            case Value(value=value):
                texts = [str(value)]
            case Array():
                texts = [str(item.value) for item in node.items if isinstance(item, Value)]
            case _:
                pass
        lengths = [parse_length(text) for text in texts]
        if not lengths or None in lengths or len(lengths) not in {1, max(len(self.sizes), 1)}:
            self._say(f"'{key}' is a length (\"18 cm\"), or one for each size.", table.place(key))
            return ()
        return tuple(length for length in lengths if length is not None)

    def _stated(self, table: Table) -> Iterator[tuple[str, Amount, Value]]:
        for entry in self._tables(table, "stated"):
            amount = self._amount(entry, "count")
            after = entry.entries.get("after_row", entry.entries.get("after"))
            if amount is not None and isinstance(after, Value):
                yield str(after.value), amount, after


_MOST = 1_000_000


def _last_amount(prepared: Prepared) -> Amount | None:
    return prepared.stated.amount if prepared.stated is not None else None


def _slug(title: str) -> str:
    return "-".join(re.findall(r"[a-z0-9]+", title.casefold())) or "section"


_ = cache, AsGiven
