"""The words of the printed pattern, read from the product's data."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from engine.pattern.crossings import crossing_of
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from engine.pattern.crossings import Crossing

_CROSSINGS: Final = re.compile(
    r"(?<![\w/])(?:(?:cr|c|t|tw|cable) ?\d{1,2} ?(?:front|back|left|right|[lrfb]p?)"
    r"|\d+/\d+(?:/\d+)? ?[lr][a-z]{0,3}|[lr]t)(?![\w])",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Abbreviation:
    """An abbreviation as the list shows it, and what it means in plain words."""

    sign: str
    means: str


@dataclass(frozen=True, slots=True)
class _Known:
    form: re.Pattern[str]
    sign: str
    means: str


@dataclass(frozen=True)
class PrintWording:
    """Headings, labels, sentences and lists of words of one language."""

    language: str
    headings: Mapping[str, str]
    labels: Mapping[str, str]
    sentences: Mapping[str, str]
    notions: Mapping[str, str]
    notion_words: Mapping[str, tuple[str, ...]]
    baby_words: Mapping[str, tuple[str, ...]]
    _abbreviations: tuple[_Known, ...]
    crossing: Mapping[str, str]
    _signs: tuple[_Known, ...]

    def say(self, sentence: str, /, **values: object) -> str:
        """Return a sentence with its values filled in; KeyError if there is no such sentence."""
        return self.sentences[sentence].format(**values)

    @cached_property
    def _baby(self) -> re.Pattern[str]:
        return _words(self.baby_words["words"])

    def for_a_small_child(self, text: str) -> bool:
        """Tell whether a title or the name of a size speaks of a small child."""
        return self._baby.search(text) is not None

    def rule_applies(self, about: str, text: str) -> bool:
        """Tell whether a rule on things for small children is about what a pattern speaks of."""
        words = self.baby_words.get(about)
        return words is None or _words(words).search(text) is not None

    def crossing_words(self, crossing: Crossing) -> str:
        """Say how a crossing is worked, with its numbers."""
        words = self.crossing
        others, middle, waited = ("purl" if purled else "knit" for purled in crossing.purls)
        parts = [words["front" if crossing.front else "back"].format(count=crossing.moved)]
        if crossing.middle:
            parts.append(words["middle"].format(count=crossing.middle))
        parts.append(words[others].format(count=crossing.other))
        if crossing.middle:
            parts.append(f"{words[middle].format(count=crossing.middle)} {words['from_middle']}")
        parts.append(f"{words[waited].format(count=crossing.moved)} {words['from_cable']}")
        return f"{words['left' if crossing.front else 'right']}: {', '.join(parts)}"

    def notions_in(self, text: str) -> tuple[str, ...]:
        """Return what else is needed to work the lines of a pattern, in the order of the data."""
        return tuple(
            name for name in self.notion_words if _words(self.notion_words[name]).search(text)
        )

    def abbreviations_in(self, text: str) -> tuple[Abbreviation, ...]:
        """Return the abbreviations that stand in a text, in the order of the alphabet."""
        found = {
            known.sign: Abbreviation(known.sign, known.means)
            for known in self._abbreviations
            if known.form.search(text)
        }
        for place in _CROSSINGS.finditer(text):
            sign = " ".join(place.group().split())
            crossing = crossing_of(sign)
            if crossing is not None:
                found.setdefault(sign.casefold(), Abbreviation(sign, self.crossing_words(crossing)))
        listed = sorted(found.values(), key=lambda one: (one.sign.casefold(), one.sign))
        signs = [
            Abbreviation(known.sign, known.means)
            for known in self._signs
            if known.form.search(text)
        ]
        return (*listed, *signs)


def read_wording(words: str, abbreviations: str) -> PrintWording:
    """Read `print/words.*.toml` and `print/abbreviations.*.toml`. Raises KeyError if damaged."""
    data: dict[str, Any] = toml_of(words)
    known: dict[str, Any] = toml_of(abbreviations)
    return PrintWording(
        language=data["language"],
        headings=data["headings"],
        labels=data["labels"],
        sentences=data["sentences"],
        notions=data["notions"],
        notion_words={name: tuple(words) for name, words in data["notion_words"].items()},
        baby_words={name: tuple(words) for name, words in data["baby"].items()},
        _abbreviations=_known(known["abbreviation"]),
        crossing=known["crossing"],
        _signs=tuple(
            _Known(re.compile(row["form"], re.IGNORECASE), row["sign"], row["means"])
            for row in known["sign"]
        ),
    )


def _known(rows: list[dict[str, Any]]) -> tuple[_Known, ...]:
    return tuple(
        _Known(
            re.compile(
                rf"(?<![\w&/])(?:{row.get('form') or re.escape(row['sign'])})(?![\w&])",
                re.NOFLAG if row.get("exact") else re.IGNORECASE,
            ),
            row.get("sign", ""),
            row["means"],
        )
        for row in rows
    )


def _words(words: Iterable[str]) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, words))})\b", re.IGNORECASE)
