"""
The words of a line, one after the other, as the parser's state allows them.

Lark's own lexer compiles one big expression for every state of the parser, a second of work before
the first row is read. Here every kind of word is compiled by itself when it is first needed, and
only those are tried that can begin with the letter that stands there.
"""

from __future__ import annotations

import re
import re._constants as code  # type: ignore[import-not-found]
import re._parser as regex_parser  # type: ignore[import-not-found]
from typing import TYPE_CHECKING, Any

from lark import Token
from lark.exceptions import UnexpectedCharacters
from lark.lexer import Lexer

from engine.limits import spend

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from lark.common import LexerConf
    from lark.lexer import LexerState, TerminalDef

FirstLetters = dict[str, frozenset[str] | None]
"""With which ASCII letters a kind of word can begin, by its name; None where any may stand."""

_BLANKS = " \t\n"
_STEPS_OF_WORD = 10
_WIDEST_RANGE = 200
_DIGITS = frozenset("0123456789")
_SPACES = frozenset(" \t\n\r\f\v")


class _Word:
    """One kind of word: its name, its pattern (compiled when first needed), what it begins with."""

    def __init__(self, terminal: TerminalDef, first: FirstLetters) -> None:
        self.name = terminal.name
        self.pattern = terminal.pattern.to_regexp()
        self._match: Any = None
        self._first = first

    @property
    def match(self) -> Any:  # noqa: ANN401 (a bound method of a compiled pattern)
        if self._match is None:
            self._match = re.compile(self.pattern).match
        return self._match

    def may_begin_with(self, letter: str) -> bool:
        if self.name not in self._first:
            self._first[self.name] = first_letters(self.pattern)
        letters = self._first[self.name]
        return letters is None or not letter.isascii() or letter in letters


class RowLexer(Lexer):
    """Takes the place of lark's contextual lexer; the same words come out."""

    def __init__(
        self,
        conf: LexerConf,
        states: Mapping[int, Collection[str]],
        always_accept: Collection[str] = (),
        first: FirstLetters | None = None,
    ) -> None:
        """
        Keep for each state of the parser which words it accepts, the most urgent first.

        `first` are the letters that words can begin with, as far as they are known already.
        """
        ignored = set(conf.ignore)
        order = sorted(
            (terminal for terminal in conf.terminals if terminal.name not in ignored),
            key=lambda one: (
                -one.priority, -one.pattern.max_width, -len(one.pattern.value), one.name
            ),
        )  # fmt: skip
        letters = {} if first is None else first
        self._words = [_Word(terminal, letters) for terminal in order]
        always = frozenset(always_accept)
        self._accepts = {state: frozenset(names) | always for state, names in states.items()}
        self._tried: dict[tuple[frozenset[str], str], tuple[_Word, ...]] = {}

    def lex(self, lexer_state: LexerState, parser_state: Any) -> Iterator[Token]:  # noqa: ANN401
        """Yield the words of a line; raises UnexpectedCharacters where none fits."""
        text, end = lexer_state.text.text, lexer_state.text.end
        place = lexer_state.line_ctr
        while place.char_pos < end:
            position = place.char_pos
            token = self._token(text, position, parser_state.position)
            if token is not None:
                place.char_pos = position + len(token)
                lexer_state.last_token = token
                yield token
            elif text[position] in _BLANKS:
                place.char_pos = position + 1
            else:
                allowed = set(self._accepts[parser_state.position])
                raise UnexpectedCharacters(  # type: ignore[no-untyped-call]
                    text, position, 1, position + 1, allowed=allowed, state=parser_state
                )

    def _token(self, text: str, position: int, state: int) -> Token | None:
        spend(_STEPS_OF_WORD)
        accepted = self._accepts[state]
        key = accepted, text[position]
        words = self._tried.get(key)
        if words is None:
            words = tuple(
                word
                for word in self._words
                if word.name in accepted and word.may_begin_with(text[position])
            )
            self._tried[key] = words
        for word in words:
            found = word.match(text, position)
            if found is not None and found.end() > position:
                return Token(
                    word.name, found.group(), position, 1, position + 1, 1, found.end() + 1,
                    found.end(),
                )  # fmt: skip
        return None


def first_letters(pattern: str) -> frozenset[str] | None:
    """Return with which ASCII letters a match can begin; None where that is not known."""
    letters, empty = _first(regex_parser.parse(pattern))
    return None if empty else letters


def _first(items: Any) -> tuple[frozenset[str] | None, bool]:  # noqa: ANN401 (the parsed form)
    """Return the letters a sequence can begin with (None: any) and whether it can be empty."""
    letters: frozenset[str] = frozenset()
    for kind, value in items:
        here, empty = _first_of(kind, value)
        if here is None:
            return None, False
        letters |= here
        if not empty:
            return letters, False
    return letters, True


def _first_of(kind: Any, value: Any) -> tuple[frozenset[str] | None, bool]:  # noqa: ANN401
    if kind is code.LITERAL:
        return frozenset(chr(value)), False
    if kind is code.IN:
        return _in_class(value), False
    if kind is code.BRANCH:
        letters: frozenset[str] = frozenset()
        empty = False
        for branch in value[1]:
            here, nothing = _first(branch)
            if here is None:
                return None, False
            letters, empty = letters | here, empty or nothing
        return letters, empty
    if kind is code.ATOMIC_GROUP:
        return _first(value)
    if kind is code.SUBPATTERN:
        return _first(value[-1])
    if kind in {code.MAX_REPEAT, code.MIN_REPEAT}:
        least, _most, inner = value
        here, empty = _first(inner)
        return here, empty or least == 0
    if kind in {code.ASSERT, code.ASSERT_NOT, code.AT}:
        return frozenset(), True
    return None, False


def _in_class(parts: Any) -> frozenset[str] | None:  # noqa: ANN401
    letters: set[str] = set()
    for kind, value in parts:
        if kind is code.LITERAL:
            letters.add(chr(value))
        elif kind is code.RANGE and value[1] - value[0] <= _WIDEST_RANGE:
            letters.update(chr(number) for number in range(value[0], value[1] + 1))
        elif kind is code.RANGE and value[0] > 127:  # noqa: PLR2004 (beyond ASCII)
            continue
        elif kind is code.CATEGORY and value is code.CATEGORY_DIGIT:
            letters |= _DIGITS
        elif kind is code.CATEGORY and value is code.CATEGORY_SPACE:
            letters |= _SPACES
        else:
            return None
    return frozenset(letters)
