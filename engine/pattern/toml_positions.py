"""
TOML with the place of every value.

The standard reader gives values without places, but a problem in a pattern must be pointed at. So
every value and key is given a numbered stand-in, the standard reader builds the tree, and the tree
is filled with the values and their places. What is valid TOML is decided by `tomllib` alone.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from engine.limits import DEEPEST_NESTING, LONGEST_STRING, LONGEST_TEXT, LONGEST_WORD, MOST_VALUES
from engine.pattern.problems import PatternError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

Scalar = str | int | float | bool


@dataclass(frozen=True, slots=True)
class Value:
    """A string, number or truth value, and where it begins (line and column from 1)."""

    value: Scalar
    line: int
    column: int
    raw: str = field(default="", repr=False)

    def place(self, offset: int = 0) -> tuple[int, int]:
        """Return line and column of the character at `offset` of a string value."""
        if not self.raw:
            return self.line, self.column
        index = 0
        for position, place in enumerate(_character_places(self.raw)):
            index = place
            if position >= offset:
                break
        before = self.raw[:index]
        newlines = before.count("\n")
        if newlines:
            return self.line + newlines, index - before.rfind("\n")
        return self.line, self.column + index


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its entries in order, and where each key of a key-value pair stands."""

    entries: dict[str, Node]
    keys: dict[str, tuple[int, int]]

    def place(self, key: str) -> tuple[int, int]:
        """Return where a key stands, or where its first value stands."""
        if key in self.keys:
            return self.keys[key]
        return first_place(self.entries[key])


@dataclass(frozen=True, slots=True)
class Array:
    """An array of values, tables or arrays."""

    items: tuple[Node, ...]


Node = Value | Table | Array


def first_place(node: Node) -> tuple[int, int]:
    """Return line and column where the first thing inside a node stands; (1, 1) if it is empty."""
    match node:
        case Value():
            return node.line, node.column
        case Table():
            for key in node.entries:
                return node.place(key)
        case Array():
            for item in node.items:
                return first_place(item)
    return 1, 1


def read_toml(text: str) -> Table:
    """Return the tree of a TOML text; raises PatternError with the place of what is wrong."""
    if len(text) > LONGEST_TEXT:
        raise PatternError(
            Problem(f"The file is too long; a pattern has at most {LONGEST_TEXT:,} characters.")
        )
    text = text.removeprefix("\ufeff")
    if _STAND_IN in text:
        line, column = _Lines(text).at(text.index(_STAND_IN))
        raise PatternError(Problem("This character belongs in no pattern.", line, column))
    cutter = _Cutter(text)
    try:
        tree = tomllib.loads(cutter.with_stand_ins())
        return _table(tree, cutter.places)
    except (ValueError, RecursionError) as error:
        if isinstance(error, PatternError):
            raise
        raise PatternError(_toml_problem(text)) from None


_STAND_IN = "\ue000"
_TOKEN = re.compile(
    r'(?P<string>"""(?:[^"\\]++|\\.|"{1,2}+(?!"))*+"{3,5}(?!")|\'\'\'.*?\'{3,5}(?!\')'
    r'|"(?:[^"\\\n]++|\\.)*+(?P<end>"?)|\'[^\'\n]*\')'
    r"|(?P<comment>#[^\n]*)|(?P<newline>\n)|(?P<space>[ \t\r]+)|(?P<mark>[\[\]{}=,.])"
    r"|(?P<bare>[^\s\[\]{}=,.#\"']+)|(?P<other>.)",
    re.DOTALL,
)
_BARE_VALUE = re.compile(r"[^\s\[\]{}=,#\"']+")


class _Lines:
    """Line and column of an offset in the text."""

    def __init__(self, text: str) -> None:
        self._starts = [0]
        self._starts.extend(found.end() for found in re.finditer("\n", text))

    def at(self, offset: int) -> tuple[int, int]:
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1


class _Cutter:
    """Cuts a text into tokens and puts stand-ins for its values and keys."""

    def __init__(self, text: str) -> None:
        self.places: list[Value] = []
        self._text = text
        self._lines = _Lines(text)
        self._nesting: list[str] = []
        self._wants_value = False
        self._parts = 0

    def with_stand_ins(self) -> str:
        text = self._text
        pieces: list[str] = []
        last_key: tuple[int, str, int] | None = None  # where in pieces, its text, its offset
        position, line_start, header = 0, True, False
        while position < len(text):
            if self._wants_value and (bare := _BARE_VALUE.match(text, position)):
                kind, token = "bare", bare.group()
            else:
                found = _TOKEN.match(text, position)
                if (
                    found is None or found.lastgroup is None
                ):  # pragma: no cover (any character fits)
                    raise AssertionError("A character fits no token.")
                kind, token = found.lastgroup, found.group()
                if found["end"] == "" and token[:2] != '""':
                    raise ValueError("A text in quotes has no end.")
                self._closed(token, position)
            start, position = position, position + len(token)
            self._count(kind, token, start)
            if kind == "newline":
                if not self._nesting:
                    self._wants_value, header, line_start = False, False, True
            elif kind == "mark" and not (header or (token == "[" and line_start)):
                self._mark(token, start)
                if token == "=" and last_key is not None:
                    index, key, offset = last_key
                    pieces[index] = self._key_stand_in(key, offset)
            elif kind == "mark":
                header = True
            elif kind in {"string", "bare"} and self._wants_value:
                token = self._stand_in(token, start)
            elif kind in {"string", "bare"}:
                last_key = (len(pieces), token, start)
            if kind not in {"space", "newline"}:
                line_start = False
            pieces.append(token)
        return "".join(pieces)

    def _closed(self, token: str, start: int) -> None:
        """Complain of a text in three quotes that has no end: all after it would belong to it."""
        three = self._text[start : start + 3]
        if three in {'"""', "'''"} and not token.startswith(three):
            sentence = "The text that begins here with three quotes has no end."
            raise PatternError(Problem(sentence, *self._lines.at(start)))

    def _count(self, kind: str, token: str, start: int) -> None:
        """Keep keys short and values few enough to be held."""
        if token == "." and not self._wants_value:
            self._parts += 1
        elif token in _ENDS_KEY:
            self._parts = 0
        if self._parts > DEEPEST_NESTING:
            sentence = f"A key has at most {DEEPEST_NESTING} parts."
            raise PatternError(Problem(sentence, *self._lines.at(start)))
        if kind == "bare" and self._wants_value and len(token) > LONGEST_WORD:
            sentence = f"A number has at most {LONGEST_WORD} digits."
            raise PatternError(Problem(sentence, *self._lines.at(start)))
        if kind == "string" and len(token) > LONGEST_STRING:
            sentence = f"A text has at most {LONGEST_STRING:,} characters."
            raise PatternError(Problem(sentence, *self._lines.at(start)))
        if len(self.places) > MOST_VALUES:
            sentence = f"The file holds more than {MOST_VALUES:,} keys and values."
            raise PatternError(Problem(sentence, *self._lines.at(start)))

    def _mark(self, token: str, start: int) -> None:
        if token in "[{":
            self._nesting.append(token)
            if len(self._nesting) > DEEPEST_NESTING:
                raise PatternError(
                    Problem("Brackets are nested too deeply.", *self._lines.at(start))
                )
        elif token in "]}" and self._nesting:
            self._nesting.pop()
        in_array = bool(self._nesting) and self._nesting[-1] == "["
        self._wants_value = token == "=" or (in_array and token in "[,")

    def _stand_in(self, raw: str, start: int) -> str:
        line, column = self._lines.at(start)
        if raw[0] in "\"'":
            simple = "\\" not in raw and raw[:3] not in {'"""', "'''"}
            decoded: object = raw[1:-1] if simple else _decoded(raw)
            if decoded is None or (simple and _CONTROL.search(raw)):
                return raw  # not valid: the standard reader will say so
            value = Value(str(decoded), line, column, raw)
        else:
            decoded = _decoded(raw) if len(raw) <= LONGEST_WORD else None
            if not isinstance(decoded, bool | int | float):
                return raw
            value = Value(decoded, line, column)
        self.places.append(value)
        return f'"{_STAND_IN}{len(self.places) - 1}"'

    def _key_stand_in(self, raw: str, start: int) -> str:
        key = raw
        if raw[0] in "\"'":
            decoded = _decoded(raw)
            if not isinstance(decoded, str):
                return raw
            key = decoded
        elif not _BARE_KEY.fullmatch(raw):
            return raw
        self.places.append(Value(key, *self._lines.at(start)))
        return f'"{_STAND_IN}{len(self.places) - 1}"'


_ENDS_KEY = frozenset("=\n[]{},")
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def _decoded(raw: str) -> object:
    try:
        return tomllib.loads(f"v = {raw}\n")["v"]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return None


def _table(tree: dict[str, object], places: list[Value]) -> Table:
    entries: dict[str, Node] = {}
    keys: dict[str, tuple[int, int]] = {}
    for written, content in tree.items():
        key = written
        if written.startswith(_STAND_IN):
            place = places[int(written[1:])]
            key = str(place.value)
            keys[key] = place.line, place.column
            if key in entries:
                raise PatternError(
                    Problem(f"'{key}' stands here a second time.", place.line, place.column)
                )
        elif key in entries:
            raise PatternError(Problem(f"'{key}' stands here a second time.", *keys[key]))
        entries[key] = _node(content, places)
    return Table(entries, keys)


def _node(content: object, places: list[Value]) -> Node:
    match content:
        case dict():
            return _table(content, places)
        case list():
            return Array(tuple(_node(item, places) for item in content))
        case str() if content.startswith(_STAND_IN):
            return places[int(content[1:])]
        case bool() | int() | float() | str():
            return Value(content, 1, 1)
        case _:
            return Value(str(content), 1, 1)


_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


_TOML_LINE = re.compile(r"""^[ \t]*(?:[\w."'-]+[ \t]*=|\[)""", re.MULTILINE)
_PLAIN_TEXT = (
    "This is plain text; a pattern file says what its lines are. Write above the rows "
    'title = "Coaster" and cast_on = 20, then rows = [, each row as "Row 1: k all", with quotation '
    "marks and a comma, and ] at the end."
)


def _toml_problem(text: str) -> Problem:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        if not _TOML_LINE.search(text):
            return Problem(_PLAIN_TEXT)
        said = str(error)
        found = _AT.search(said)
        reason = said[: found.start()] if found else said
        sentence = f"This is not a TOML file: {reason[:1].lower()}{reason[1:]}."
        if found and found[1]:
            return Problem(sentence, int(found[1]), int(found[2]))
        return Problem(sentence, text.count("\n") + 1, 1)
    except ValueError:
        return Problem("A number in this file is far too long.")
    except RecursionError:
        return Problem("Brackets are nested too deeply.")
    return Problem("This TOML file uses a form that a pattern does not need; write it more simply.")


_ESCAPE = re.compile(r"\\(?:u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)")
_LINE_JOIN = re.compile(r"\\[ \t\r]*\n\s*")


def _character_places(raw: str) -> Iterator[int]:
    """Where in the raw token each character of the string begins."""
    multiline = raw[:3] in {'"""', "'''"}
    basic = raw[0] == '"'
    quote = 3 if multiline else 1
    position = quote
    if multiline and raw[quote : quote + 1] == "\n":
        position += 1
    while position < len(raw):
        if basic and multiline and (join := _LINE_JOIN.match(raw, position)):
            position = join.end()
            continue
        yield position
        escape = _ESCAPE.match(raw, position) if basic else None
        position = escape.end() if escape else position + 1
