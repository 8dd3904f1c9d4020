"""TOML texts other than patterns (phrases, keys, settings, tables), read within their limits."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from engine.limits import DEEPEST_NESTING, LONGEST_OWN_TEXT, LONGEST_WORD

if TYPE_CHECKING:
    from collections.abc import Callable

_STRING = re.compile(
    r'"""(?:[^"\\]++|\\.|"{1,2}+(?!"))*+"{3,5}|\'\'\'.*?\'{3,5}'
    r'|(?P<open>"""|\'\'\')'
    r'|"(?:[^"\\\n]++|\\.)*+"?|\'[^\'\n]*\'|#[^\n]*',
    re.DOTALL,
)
_WORD = re.compile(r"[\w+-]+")
_DOTTED = re.compile(r"[\w \t.-]+")


class TomlTextError(ValueError):
    """The text cannot be read; the sentence says why."""


def toml_of(text: str, parse_float: Callable[[str], Any] = float) -> dict[str, Any]:
    """
    Return what a TOML text says; `parse_float` makes its numbers with a point.

    Raises:
        TomlTextError: it is no TOML, too long, or nested too deeply.

    """
    if len(text) > LONGEST_OWN_TEXT:
        raise TomlTextError(f"It has more than {LONGEST_OWN_TEXT:,} characters.")
    if any(found["open"] for found in _STRING.finditer(text)):
        raise TomlTextError("A text in three quotes has no end.")
    bare = _STRING.sub("s", text)  # what stands in quotes nests nothing
    depth = deepest = 0
    for sign in bare:
        depth += (sign in "[{") - (sign in "]}")
        deepest = max(deepest, depth)
    parts = max((found.group().count(".") for found in _DOTTED.finditer(bare)), default=0)
    if max(deepest, parts) > DEEPEST_NESTING:
        raise TomlTextError(f"It is nested more than {DEEPEST_NESTING} deep.")
    if any(len(word) > LONGEST_WORD for word in _WORD.findall(bare)):
        raise TomlTextError(f"A number or name has more than {LONGEST_WORD} characters.")
    try:
        return tomllib.loads(text, parse_float=parse_float)
    except (ValueError, RecursionError) as error:
        raise TomlTextError(f"It is not written as TOML: {error}.") from error
