"""
The word layer: a line is put into the trade's usual words before the grammar reads it.

Which spellings a word has, and in which other order a phrase is said, is data
(`shared/words.toml`); here they are replaced, and it is kept where every sign stood, so that
whatever is said of a line points at the designer's own text.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from engine.toml_text import toml_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

_BLANKS = r"(?<=\S)  +(?=[^\s,;:.)\]])|^  +| +(?=[,;:)])"
_AGAIN = 6
"""So often a phrase is tried that can stand several times in a list."""
_NUMBER = r"\d+(?: ?[(\[{][\d ,:;/|-]*[)\]}])?"
_LENGTH = r"\d[\d ¼½¾⅓⅔⅛⅜⅝⅞.,/()\[\]-]*(?:cms?|in|inch|inches|mm|\")"
_GROUP = re.compile(r"\\(\d)")


@dataclass(frozen=True, slots=True)
class Places:
    """Where each sign of a line in the usual words began and ended before; none: where it is."""

    starts: list[int] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)

    def start(self, place: int) -> int:
        """Return where the sign at a place began before."""
        if not self.starts:
            return place
        return self.starts[place] if place < len(self.starts) else self.ends[-1]

    def end(self, place: int) -> int:
        """Return where what ends at a place ended before."""
        return self.ends[place - 1] if self.ends and place else place


class Words:
    """The spellings of the trade's words; made once from the product's data."""

    def __init__(self, data: str) -> None:
        """Take the table of words; raises TomlTextError or KeyError for other texts."""
        read = toml_of(data)
        table: Mapping[str, list[str]] = read["words"]
        self._usual = {words: words for words in read["stays"]}
        for usual, spelled_so in table.items():
            self._usual.update(dict.fromkeys(spelled_so, usual))
        spelled = sorted(self._usual, key=lambda words: -len(words))
        one = "|".join(re.escape(words).replace(r"\ ", " +") for words in spelled)
        self._found = re.compile(rf"(?<![a-z0-9'])(?:{one})(?![a-z0-9'])|{_BLANKS}")
        self._phrases = [
            phrase
            for each in read["phrase"]
            for phrase in [_Phrase(each["say"], each["for"])] * (_AGAIN if "again" in each else 1)
        ]

    def usual(self, text: str) -> tuple[str, Places]:
        """Return a line of small letters in the usual words, and where its signs stood before."""
        text, places = _replaced(self._found, self._word, text, Places())
        for phrase in self._phrases:
            if phrase.found.search(text) is not None:
                text, places = _replaced(phrase.found, phrase.parts, text, places)
        return text, places

    def _word(self, found: re.Match[str]) -> list[str | int]:
        words = found.group()
        if words.isspace():
            inside = found.start() and found.string[found.end()] not in ",;:)"
            return [" " if inside else ""]
        return [self._usual[words if "  " not in words else " ".join(words.split())]]


class _Phrase:
    """A phrase as it is said, and as the grammar has it; its groups keep their places."""

    def __init__(self, said: str, usual: str) -> None:
        said = said.replace("{n}", _NUMBER).replace("{l}", _LENGTH)
        self.found = re.compile(rf"(?<![a-z0-9])(?:{said})(?![a-z])")
        parts = _GROUP.split(usual)
        self._parts = [int(p) if n % 2 else p for n, p in enumerate(parts) if p]

    def parts(self, _: re.Match[str]) -> list[str | int]:
        return self._parts


def _replaced(
    pattern: re.Pattern[str],
    parts_of: Callable[[re.Match[str]], list[str | int]],
    text: str,
    places: Places,
) -> tuple[str, Places]:
    """Return a text with what a pattern finds replaced, and where its signs stood at first."""
    pieces: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    last = 0

    def keep(start: int, end: int) -> None:
        pieces.append(text[start:end])
        starts.extend(places.starts[start:end] or range(start, end))
        ends.extend(places.ends[start:end] or range(start + 1, end + 1))

    for found in pattern.finditer(text):
        start, end = found.span()
        keep(last, start)
        for part in parts_of(found):
            if isinstance(part, int):
                if found.start(part) >= 0:
                    keep(*found.span(part))
                continue
            pieces.append(part)
            starts.extend([places.start(start)] * len(part))
            ends.extend([places.end(end)] * len(part))
        last = end
    if not pieces:
        return text, places
    keep(last, len(text))
    return "".join(pieces), Places(starts, ends)
