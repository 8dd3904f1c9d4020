"""
Sentences with gaps, as the reply data writes them.

{name} is a value, {name:ordinal} and {name:bare} are other ways of writing it, {low~high} is a
range that shrinks to one number, and {count?stitch|stitches} is the word that goes with the number:
for one, or for several.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


class TemplateError(ValueError):
    """A template is not written as it should be; the sentence says what is wrong."""


class SentenceForm(StrEnum):
    """How a value is written."""

    PLAIN = ""
    ORDINAL = "ordinal"
    BARE = "bare"


@dataclass(frozen=True, slots=True)
class Gap:
    """A value."""

    name: str
    form: SentenceForm = SentenceForm.PLAIN


@dataclass(frozen=True, slots=True)
class Range:
    """Two values, or one if they are equal."""

    low: str
    high: str


@dataclass(frozen=True, slots=True)
class ByNumber:
    """Words for one, or words for several."""

    name: str
    one: Template
    many: Template


Piece = str | Gap | Range | ByNumber

_NAME = "[a-z]+"
_GAP = re.compile(rf"({_NAME})(?::([a-z]+))?")
_RANGE = re.compile(rf"({_NAME})~({_NAME})")
_BY_NUMBER = re.compile(rf"({_NAME})\?(.*)\|(.*)")


@dataclass(frozen=True, slots=True)
class Template:
    """A sentence with gaps."""

    pieces: tuple[Piece, ...]

    @property
    def names(self) -> frozenset[str]:
        """The names of the values that it needs."""
        found: set[str] = set()
        for piece in self.pieces:
            match piece:
                case Gap(name):
                    found.add(name)
                case Range(low, high):
                    found |= {low, high}
                case ByNumber(name, one, many):
                    found |= {name} | one.names | many.names
                case str():
                    pass
        return frozenset(found)

    @property
    def words(self) -> str:
        """The words that are written in the template itself, for checking them."""
        found: list[str] = []
        for piece in self.pieces:
            match piece:
                case str():
                    found.append(piece)
                case ByNumber(_, one, many):
                    found += [one.words, many.words]
                case _:
                    pass
        return " ".join(found)

    def reworded(self, change: Callable[[str], str]) -> Template:
        """Return the same sentence with its own words changed; the gaps stay as they are."""
        pieces: list[Piece] = []
        for piece in self.pieces:
            match piece:
                case str():
                    pieces.append(change(piece))
                case ByNumber(name, one, many):
                    pieces.append(ByNumber(name, one.reworded(change), many.reworded(change)))
                case _:
                    pieces.append(piece)
        return Template(tuple(pieces))

    def fill(
        self,
        values: Mapping[str, object],
        write: Callable[[object, SentenceForm], str],
        to: str = "to",
    ) -> str:
        """Fill the gaps: `write` writes one value, `to` stands between the ends of a range."""
        filled: list[str] = []
        for piece in self.pieces:
            match piece:
                case str():
                    filled.append(piece)
                case Gap(name, form):
                    filled.append(write(values[name], form))
                case Range(low, high):
                    ends = [write(values[name], SentenceForm.PLAIN) for name in (low, high)]
                    filled.append(ends[0] if ends[0] == ends[1] else f"{ends[0]} {to} {ends[1]}")
                case ByNumber(name, one, many):
                    filled.append((one if values[name] == 1 else many).fill(values, write, to))
        return "".join(filled)


def read_template(text: str) -> Template:
    """Read a template; TemplateError with one sentence if it is not usable."""
    pieces: list[Piece] = []
    rest = text
    while rest:
        before, opened, rest = rest.partition("{")
        if "}" in before:
            raise TemplateError(f"'{text}' closes a gap that was not opened.")
        if before:
            pieces.append(before)
        if opened:
            inside, rest = _up_to_close(rest, text)
            pieces.append(_piece(inside, text))
    return Template(tuple(pieces))


def _up_to_close(rest: str, text: str) -> tuple[str, str]:
    """Split at the sign that closes the gap; gaps in the words of a number are inside it."""
    depth = 1
    for at, sign in enumerate(rest):
        depth += (sign == "{") - (sign == "}")
        if depth == 0:
            return rest[:at], rest[at + 1 :]
    raise TemplateError(f"'{text}' opens a gap that is not closed.")


def _piece(inside: str, text: str) -> Piece:
    if found := _BY_NUMBER.fullmatch(inside):
        return ByNumber(found[1], read_template(found[2]), read_template(found[3]))
    if found := _RANGE.fullmatch(inside):
        return Range(found[1], found[2])
    if (found := _GAP.fullmatch(inside)) and (found[2] or "") in set(SentenceForm):
        return Gap(found[1], SentenceForm(found[2] or ""))
    raise TemplateError(f"'{text}' has a gap that is not understood: '{inside}'.")
