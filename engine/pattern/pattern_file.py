"""
A pattern file: a title, a cast-on, rows, and whatever else the designer says.

The file is TOML and described for designers in docs/PATTERN-FILE.md. A small pattern is a title, a
cast-on and a list of rows and nothing else.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from engine.limits import (
    LONGEST_LENGTH_CM,
    MOST_LINES,
    MOST_NAMES,
    MOST_PARTS,
    MOST_PROBLEMS,
    MOST_SIZES,
    STEPS_OF_PATTERN,
    Allowance,
    TooMuchWorkError,
)
from engine.pattern.assembly_state import SectionLines
from engine.pattern.for_sizes import spread_sizes
from engine.pattern.given import with_given_lines
from engine.pattern.headings import HeadingKind
from engine.pattern.problems import PatternError, Problem
from engine.pattern.row_reader import LineReader, Names, RowReader, too_much_of
from engine.pattern.spelling import amount_of
from engine.pattern.stitches import Kind, Stitch
from engine.pattern.toml_positions import Array, Node, Table, Value, first_place, read_toml
from engine.pattern.written import WrittenLines, sizes_differ
from engine.quantities import Length, parse_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern.lines import Prepared
    from engine.pattern.notation import Amount

from engine.pattern.document import PatternDocument, PieceText

MOST_LOOPS = 1_000
"""No stitch of a designer takes or leaves more."""


def read_pattern(
    text: str, reader: RowReader, *, in_spite: bool = False
) -> PatternDocument | tuple[Problem, ...]:
    """
    Return the pattern in a text, or all the problems that keep it from being read.

    `in_spite`: rows that cannot be read keep the others from nothing. They are carried without
    being counted, every verdict holds the problem, and the counts go on where one is stated.
    """
    reading: _Reader | None = None
    allowance = Allowance(STEPS_OF_PATTERN)
    try:
        with allowance.used():
            reading = _Reader(text, reader, allowance, in_spite=in_spite)
            return reading.document()
    except PatternError as error:
        return (error.problem,)
    except (TooMuchWorkError, RecursionError):
        line, column = reading.at if reading is not None else (1, 1)
        sentence = "Up to here the file asks for more work than any pattern does; shorten it."
        return (Problem(sentence, line, column),)
    except _ProblemsError as error:
        return error.problems


class _ProblemsError(Exception):
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
    "title", "id", "sizes", "gauge", "needle", "yarn", "source", "note", "notes", "lines", "tags",
    "difficulty", "stitches", "stitch_pattern", "colours", "colors", "piece", "measurements",
    "materials", "designer", "copyright", "version", "date", "skill",
    "units", "width", "around",
    *_PIECE_KEYS,
)  # fmt: skip
_SAID = (
    "source", "designer", "copyright", "version", "date", "skill", "difficulty", "note", "notes",
    "materials",
)  # fmt: skip
_CALLED = {"difficulty": "skill"}
_ROW_KEYS = ("text", "note", "stitches", "unchecked")
_MOST = 1_000_000


class _Reader:
    def __init__(
        self, text: str, reader: RowReader, allowance: Allowance, *, in_spite: bool
    ) -> None:
        self.text = text
        self.allowance = allowance
        self.at = (1, 1)
        self.in_spite = in_spite
        self.unread: list[Problem] = []
        self.tree = read_toml(text)
        self.problems: list[Problem] = []
        self.sizes: tuple[str, ...] = ()
        self.reader = reader
        self.lines: WrittenLines | None = None
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
        names = self._names()
        self.lines = WrittenLines(LineReader(self.reader, names), self.sizes)
        pieces = with_given_lines(tuple(self._pieces()))
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
            unread=tuple(self.unread),
            names=names,
            allowance=self.allowance,
        )
        if self.problems:
            raise _ProblemsError(tuple(self.problems))
        return document

    def _say(self, sentence: str, place: tuple[int, int]) -> None:
        self._tell(Problem(sentence, *place))

    def _tell(self, problem: Problem) -> None:
        self.problems.append(problem)
        if len(self.problems) >= MOST_PROBLEMS:
            raise _ProblemsError(tuple(self.problems))

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
        for key in _SAID:
            text = self._string(self.tree, key)
            if text:
                yield _CALLED.get(key, key), text
        named = self.tree.entries.get("colours") or self.tree.entries.get("colors")
        if isinstance(named, Table):
            colours = [
                f"{name} {node.value}"
                for name, node in named.entries.items()
                if isinstance(node, Value)
            ]
            yield "colours", ", ".join(colours)
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
        named = tuple(name for name in patterns if name)
        for key, number in (
            ("stitches", len(stitches)),
            ("stitch_pattern", len(named)),
            ("colours", len(letters)),
        ):
            if number > MOST_NAMES:
                self._say(f"A pattern names at most {MOST_NAMES} in '{key}'.", (1, 1))
        return Names(stitches, named, letters)

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
                or not 0 <= value.value <= MOST_LOOPS
            ):
                self._say(f"'{key}' of {name} is a number of loops.", first_place(value))
                return None
            numbers.append(int(value.value))
        return Stitch(name, numbers[0], numbers[1], Kind.OTHER, self._string(node, "words"))

    def _tables(self, table: Table, key: str) -> Iterator[Table]:
        node = table.entries.get(key)
        match node:
            case Array():
                if len(node.items) > MOST_PARTS:
                    place = first_place(node.items[MOST_PARTS])
                    self._say(f"A pattern has at most {MOST_PARTS} parts called '{key}'.", place)
                for item in node.items[:MOST_PARTS]:
                    if isinstance(item, Table):
                        yield item
            case Table():
                yield node
            case _:
                return

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
            self._multiple(table),
            table.place("multiple") if "multiple" in table.entries else (1, 1),
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
        lines = tuple(line for item in node.items for line in self._row(item))
        doubtful = spread_sizes(lines)
        if doubtful is not None:
            place = doubtful.source.place()
            self._say(
                'Say where it goes on for all sizes: "All sizes:" as a line of its own.', place
            )
        return lines

    def _row(self, node: Node) -> tuple[Prepared, ...]:
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
            return ()
        if self.lines is None:
            raise TypeError("The names are not known yet.")
        self.at = source.line, source.column
        text_of_row = source.value
        if unchecked and "unchecked" not in text_of_row.casefold():
            text_of_row = f"{text_of_row} (unchecked)"
        try:
            return self.lines.prepared(source, text_of_row, stated, note)
        except PatternError as error:
            line, column = source.place((error.problem.column or 1) - 1)
            problem = replace(error.problem, line=line, column=column)
            if not self.in_spite or too_much_of(text_of_row) is not None:
                self._tell(problem)
                return ()
            carried = self.lines.unread(source, text_of_row, stated)
            self.unread.append(replace(problem, row=carried.label))
            return (carried,)

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
            self._say(sizes_differ(amount, self.sizes), table.place(key))
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
        known = tuple(length for length in lengths if length is not None)
        if not all(0 < length.cm <= LONGEST_LENGTH_CM for length in known):
            self._say(
                f"'{key}' is longer than nothing, and no longer than a kilometre.", table.place(key)
            )
            return ()
        return known

    def _multiple(self, table: Table) -> tuple[int, int] | None:
        node = table.entries.get("multiple")
        match node:
            case None:
                return None
            case Value(value=int() as number) if not isinstance(number, bool) and number > 0:
                return number, 0
            case Table():
                numbers = [node.entries.get("n"), node.entries.get("plus", Value(0, 1, 1))]
                values = [one.value for one in numbers if isinstance(one, Value)]
                match values:
                    case [int() as number, int() as plus] if number > 0 and plus >= 0:
                        return number, plus
            case _:
                pass
        self._say("Write multiple = { n = 4, plus = 2 }.", table.place("multiple"))
        return None

    def _stated(self, table: Table) -> Iterator[tuple[str, Amount, Value]]:
        for entry in self._tables(table, "stated"):
            amount = self._amount(entry, "count")
            after = entry.entries.get("after_row", entry.entries.get("after"))
            if amount is not None and isinstance(after, Value):
                yield str(after.value), amount, after


def _slug(title: str) -> str:
    return "-".join(re.findall(r"[a-z0-9]+", title.casefold())) or "section"
