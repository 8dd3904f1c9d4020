"""
The grammar's tables as text, so that they are built once and not at every start.

Building them takes most of the time before the first row is read. As text they can be kept beside
the grammar they were made from: the text says which grammar and which version of lark that was and
carries a checksum, and whatever does not fit is built anew. It is JSON: reading it runs no code.
"""

from __future__ import annotations

import hashlib
import json
from functools import partial
from typing import TYPE_CHECKING, Any, Protocol

import lark
from lark import Lark
from lark.grammar import Rule
from lark.lexer import TerminalDef

from engine.pattern.row_lexer import FirstLetters, RowLexer, first_letters

if TYPE_CHECKING:
    from lark import Transformer

_PAIRS = "pairs"


class KeptTables(Protocol):
    """Where the tables' text is kept between two starts; nothing is lost if it never is."""

    def load(self) -> str | None:
        """Return the text that was kept last, or None."""

    def save(self, text: str) -> None:
        """Keep a text, if that can be done."""


def parser_of(
    grammar: str,
    transformer: Transformer[Any, Any],
    postlex: Any,  # noqa: ANN401 (lark's protocol has no public name)
    kept: KeptTables | None,
) -> Lark:
    """Return the parser of a grammar, from the kept tables if they are of this grammar."""
    name = _name_of(grammar)
    first: FirstLetters = {}
    options = {
        "transformer": transformer,
        "postlex": postlex,
        "_plugins": {"ContextualLexer": partial(RowLexer, first=first)},
    }
    if kept is not None:
        parser = _from_text(kept.load() or "", name, options, first)
        if parser is not None:
            return parser
    parser = Lark(grammar, parser="lalr", lexer="contextual", maybe_placeholders=False, **options)
    if kept is not None:
        kept.save(_as_text(parser, name))
    return parser


def _name_of(grammar: str) -> str:
    """Return what the tables depend on: the grammar and the version of lark."""
    return f"{hashlib.sha256(grammar.encode()).hexdigest()} lark {lark.__version__}"


def _as_text(parser: Lark, name: str) -> str:
    data, memo = parser.memo_serialize([TerminalDef, Rule])
    data["options"] = {
        key: value
        for key, value in data["options"].items()
        if key not in {"transformer", "postlex", "_plugins", "lexer_callbacks", "edit_terminals"}
    }
    first = {
        one.name: None if (letters := first_letters(one.pattern.to_regexp())) is None
        else "".join(sorted(letters))
        for one in parser.terminals
    }  # fmt: skip
    whole = _plain({"data": data, "memo": memo, "first": first})
    body = json.dumps(whole, separators=(",", ":"))
    return f"{name}\n{hashlib.sha256(body.encode()).hexdigest()}\n{body}"


def _from_text(text: str, name: str, options: dict[str, Any], first: FirstLetters) -> Lark | None:
    made_for, _, rest = text.partition("\n")
    checksum, _, body = rest.partition("\n")
    if made_for != name or hashlib.sha256(body.encode()).hexdigest() != checksum:
        return None
    try:
        kept = json.loads(body, object_hook=_whole)
        for word, letters in kept["first"].items():
            first[word] = None if letters is None else frozenset(letters)
        load = Lark._load_from_dict  # noqa: SLF001 (what lark's own saving and loading is made of)
        loaded = load(kept["data"], kept["memo"], **options)  # type: ignore[no-untyped-call]
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, lark.exceptions.LarkError):
        return None
    return loaded if isinstance(loaded, Lark) else None


def _plain(value: object) -> object:
    """Return a value as JSON can hold it: keys that are numbers stand in pairs."""
    match value:
        case dict():
            if all(isinstance(key, str) for key in value):
                return {key: _plain(inner) for key, inner in value.items()}
            return {_PAIRS: [[key, _plain(inner)] for key, inner in value.items()]}
        case list() | tuple() | set() | frozenset():
            return [_plain(inner) for inner in value]
        case _:
            return value


def _whole(value: dict[str, Any]) -> dict[Any, Any]:
    """Return an object as it was before `_plain`."""
    pairs = value.get(_PAIRS)
    return dict(pairs) if isinstance(pairs, list) and len(value) == 1 else value
