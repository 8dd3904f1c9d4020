"""
The spoken language of a row as data: which words are which steps, read from one TOML text.

Here the ways of saying are spread out into plain sequences of words and checked; what a whole
utterance means is `speech.words.said_rows`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import product
from typing import TYPE_CHECKING, Final, cast

from engine.toml_text import TomlTextError, toml_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

NUMBER: Final = "{n}"
_PIECE = re.compile(r"\[(?P<optional>[^\[\]]+)\]|(?P<plain>[^\[\]\s]+)")


class RowLanguageError(ValueError):
    """The data of spoken rows cannot be used; the sentence says where and why."""


class Part(StrEnum):
    """What a way of saying is for; the names are those of the tables of the data."""

    OPENERS = "openers"
    AMOUNTS = "amounts"
    NUMBERED = "numbered"
    FIXED = "fixed"
    STOPS = "stops"
    REPEATS = "repeats"
    TIMES = "times"
    WHOLE = "whole"
    LIKE = "like"
    SEVERAL = "several"
    CHANGE = "change"
    ORDINALS = "ordinals"


@dataclass(frozen=True, slots=True)
class WayOfSaying:
    """Words, with `NUMBER` where a number is said, and what they stand for in which table."""

    part: Part
    means: str
    words: tuple[str, ...]
    rank: int = field(default=0, compare=False)
    """Its place among the ways of saying the same; the usual way comes first."""


@dataclass(frozen=True, slots=True)
class RowLanguage:
    """Everything that can be said of a row, in one language."""

    language: str
    ways: Mapping[Part, tuple[WayOfSaying, ...]]
    joins: frozenset[str]
    """Words between the steps that say nothing."""
    counted: frozenset[str]
    """Words behind a number that say what is counted."""
    alike: frozenset[str]
    """Words that nobody can tell apart by the ear."""

    def model_words(self) -> frozenset[str]:
        """Return every word that it has, without the numbers."""
        words = {word for ways in self.ways.values() for way in ways for word in way.words}
        return frozenset((words | self.joins | self.counted) - {NUMBER})


def read_row_language(text: str) -> RowLanguage:
    """Read the data of spoken rows; RowLanguageError with one sentence if it is not usable."""
    try:
        data = cast("dict[str, object]", toml_of(text))
    except TomlTextError as error:
        raise RowLanguageError(f"The file of spoken rows cannot be read: {error}") from error
    unknown = set(data) - {*Part, "language", "joins", "counted", "alike"}
    if unknown:
        raise RowLanguageError(f"The file of spoken rows cannot have '{min(unknown)}'.")
    ways: dict[Part, tuple[WayOfSaying, ...]] = {}
    for part in Part:
        table = data.get(part.value)
        if not isinstance(table, dict) or not table:
            raise RowLanguageError(f"The file of spoken rows lacks the table [{part}].")
        found: list[WayOfSaying] = []
        for means, said in table.items():
            for rank, way in enumerate(_texts(said, f"[{part}] {means}")):
                found += [WayOfSaying(part, means, words, rank) for words in _spread(way)]
        ways[part] = tuple(sorted(dict.fromkeys(found), key=lambda one: -len(one.words)))
    language = data.get("language")
    if not isinstance(language, str):
        raise RowLanguageError("The file of spoken rows lacks the text 'language'.")
    return RowLanguage(
        language,
        ways,
        frozenset(_texts(data.get("joins"), "joins")),
        frozenset(_texts(data.get("counted"), "counted")),
        frozenset(_texts(data.get("alike"), "alike")),
    )


def _texts(value: object, where: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(one, str) and one for one in value):
        raise RowLanguageError(f"{where} of the spoken rows has to be a list of texts.")
    return tuple(value)


def _spread(way: str) -> Iterator[tuple[str, ...]]:
    """Spread "[the] last {n}" out into the plain words that it stands for."""
    if _PIECE.sub("", way).strip():
        raise RowLanguageError(f"The brackets in '{way}' do not match.")
    pieces: list[tuple[str, ...]] = []
    for found in _PIECE.finditer(way):
        optional = found["optional"]
        pieces.append((*optional.split("|"), "") if optional is not None else (found["plain"],))
    for chosen in product(*pieces):
        words = tuple(" ".join(chosen).split())
        if not all(word == NUMBER or re.fullmatch(r"[a-z]+('[a-z]+)?", word) for word in words):
            raise RowLanguageError(f"'{way}' has to be words in small letters and {NUMBER}.")
        yield words
