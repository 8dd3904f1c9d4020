"""Spoken and typed numbers: whole numbers to 999, decimals, halves, quarters and eighths.

The words come from the phrase data; this module knows only how English strings them together
("one hundred and forty four", "four and three eighths", "point five"). It reads a number off the
front of a list of tokens and also says a number in words, so the two can be checked against each
other. Teens and tens ("thirteen", "thirty") differ by one weak syllable and are the numbers that
are misheard most; `misheard` gives the other reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.quantities import parse_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

LARGEST = 999
"""The largest whole number that can be said."""


@dataclass(frozen=True, slots=True)
class NumberWords:
    """The words that numbers are made of, in one language."""

    ones: tuple[str, ...]
    """Zero to nine."""
    teens: tuple[str, ...]
    """Ten to nineteen."""
    tens: tuple[str, ...]
    """Twenty to ninety."""
    hundred: str
    and_word: str
    point: str
    of: str
    articles: tuple[str, ...]
    """Words that say "one" before a fraction or a hundred: "a", "an"."""
    parts: Mapping[str, Fraction]
    """Words for parts: "half", "quarter", "quarters", "eighth", "eighths"."""

    @property
    def everything(self) -> frozenset[str]:
        """All words a spoken number can contain."""
        single = {self.hundred, self.and_word, self.point, self.of}
        return frozenset(
            {*self.ones, *self.teens, *self.tens, *self.articles, *self.parts, *single}
        )


def whole_numbers(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[int, int]]:
    """Yield every whole number (0 to 999) that begins at `start` with the place where it ends.

    The longest comes first. Typed digits count as one token.
    """
    found = list(_wholes(tokens, start, words))
    yield from sorted(found, key=lambda one: -one[1])


def _wholes(tokens: Sequence[str], start: int, words: NumberWords) -> Iterator[tuple[int, int]]:
    if start >= len(tokens):
        return
    token = tokens[start]
    if token.isascii() and token.isdigit():
        if int(token) <= LARGEST:
            yield int(token), start + 1
        return
    yield from _below_hundred(tokens, start, words)
    hundreds = _hundreds(tokens, start, words)
    if hundreds is None:
        return
    value, at = hundreds
    yield value, at
    yield from ((value + rest, end) for rest, end in _below_hundred(tokens, at, words) if rest)
    if at < len(tokens) and tokens[at] == words.and_word:
        for rest, end in _below_hundred(tokens, at + 1, words):
            if rest:
                yield value + rest, end


def _hundreds(tokens: Sequence[str], start: int, words: NumberWords) -> tuple[int, int] | None:
    if start + 1 >= len(tokens) or tokens[start + 1] != words.hundred:
        return None
    if tokens[start] in words.articles:
        return 100, start + 2
    if tokens[start] in words.ones[1:]:
        return 100 * words.ones.index(tokens[start]), start + 2
    return None


def _below_hundred(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[int, int]]:
    if start >= len(tokens):
        return
    token = tokens[start]
    if token in words.ones:
        yield words.ones.index(token), start + 1
    elif token in words.teens:
        yield 10 + words.teens.index(token), start + 1
    elif token in words.tens:
        value = 20 + 10 * words.tens.index(token)
        yield value, start + 1
        if start + 1 < len(tokens) and tokens[start + 1] in words.ones[1:]:
            yield value + words.ones.index(tokens[start + 1]), start + 2


def amounts(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[Fraction, int]]:
    """Yield every number (whole, decimal or with parts) that begins at `start`, the longest first.

    "half an", "three quarters of an" count as numbers before a unit: the article belongs to them.
    """
    found = list(_amounts(tokens, start, words))
    yield from sorted(found, key=lambda one: -one[1])


def _amounts(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[Fraction, int]]:
    if start >= len(tokens):
        return
    yield from _typed(tokens, start)
    yield from _part(tokens, start, words, alone=True)
    if tokens[start] == words.point:
        yield from _decimals(Fraction(0), tokens, start + 1, words)
    for whole, at in _wholes(tokens, start, words):
        yield Fraction(whole), at
        if at >= len(tokens):
            continue
        if tokens[at] == words.point:
            yield from _decimals(Fraction(whole), tokens, at + 1, words)
        elif tokens[at] == words.and_word:
            for part, end in _part(tokens, at + 1, words, alone=False):
                yield whole + part, end


def _typed(tokens: Sequence[str], start: int) -> Iterator[tuple[Fraction, int]]:
    """Typed figures: "4.5", "3/8", "4 3/8", "4½"."""
    for end in (start + 2, start + 1):
        if end > len(tokens):
            continue
        value = parse_number(" ".join(tokens[start:end]))
        if value is not None and value <= LARGEST:
            yield value, end


def _decimals(
    whole: Fraction, tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[Fraction, int]]:
    """One or two digits after "point"."""
    value = whole
    for place in (1, 2):
        at = start + place - 1
        if at >= len(tokens) or tokens[at] not in words.ones:
            return
        value += Fraction(words.ones.index(tokens[at]), 10**place)
        yield value, at + 1


def _part(
    tokens: Sequence[str], start: int, words: NumberWords, *, alone: bool
) -> Iterator[tuple[Fraction, int]]:
    """Read "a half", "three eighths"; alone also "half an", "three quarters of an"."""
    at, top = start, 1
    if at < len(tokens) and tokens[at] in words.articles:
        at += 1
    elif at < len(tokens) and tokens[at] in words.ones[1:]:
        top = words.ones.index(tokens[at])
        at += 1
    if at >= len(tokens) or tokens[at] not in words.parts:
        return
    value = top * words.parts[tokens[at]]
    if value >= 1:
        return
    at += 1
    yield value, at
    if not alone:
        return
    if at < len(tokens) and tokens[at] == words.of:
        at += 1
    if at < len(tokens) and tokens[at] in words.articles:
        yield value, at + 1


def say_whole(number: int, words: NumberWords, *, with_and: bool = True) -> str:
    """Say a whole number (0 to 999); ValueError beyond."""
    if not 0 <= number <= LARGEST:
        raise ValueError(f"{number} cannot be said: numbers go from 0 to {LARGEST}.")
    hundreds, rest = divmod(number, 100)
    spoken = [words.ones[hundreds], words.hundred] if hundreds else []
    if hundreds and rest and with_and:
        spoken.append(words.and_word)
    if rest or not hundreds:
        spoken.append(_say_below_hundred(rest, words))
    return " ".join(spoken)


def _say_below_hundred(number: int, words: NumberWords) -> str:
    if number < len(words.ones):
        return words.ones[number]
    if number < len(words.ones) + len(words.teens):
        return words.teens[number - 10]
    tens, one = divmod(number, 10)
    return words.tens[tens - 2] + (f" {words.ones[one]}" if one else "")


def say_quantity(value: Fraction, one: str, many: str, words: NumberWords) -> str:
    """Say a value with its unit (`one` inch, `many` inches); ValueError if its parts have no words.

    Halves, quarters and eighths are said as such, other tenths and hundredths as decimals.
    """
    whole, rest = divmod(value, 1)
    if not rest:
        return f"{say_whole(int(whole), words)} {one if whole == 1 else many}"
    part = _say_part(rest, words)
    if part is not None and whole:
        return f"{say_whole(int(whole), words)} {words.and_word} {part} {many}"
    if part is not None:
        return f"{part} {words.of} {_article(one, words)} {one}"
    for places in (1, 2):
        if (rest * 10**places).denominator == 1:
            digits = str(int(rest * 10**places)).zfill(places)
            spoken = " ".join(words.ones[int(digit)] for digit in digits)
            return f"{say_whole(int(whole), words)} {words.point} {spoken} {many}"
    raise ValueError(f"{value} cannot be said in halves, quarters, eighths or hundredths.")


def _say_part(rest: Fraction, words: NumberWords) -> str | None:
    for name, part in words.parts.items():
        if rest == part:
            return f"{_article(name, words)} {name}"
    names = [name for name, part in words.parts.items() if part.denominator == rest.denominator]
    return f"{words.ones[rest.numerator]} {names[-1]}" if names else None


def _article(noun: str, words: NumberWords) -> str:
    return words.articles[-1] if noun[0] in "aeiou" else words.articles[0]


def misheard(tokens: Sequence[str], words: NumberWords) -> tuple[tuple[str, ...], ...]:
    """Return the same words with one teen heard as its tens, or the other way round.

    Thirteen and thirty differ in one weak syllable. A tens word with a digit after it ("thirty
    one") has no teen beside it.
    """
    other: list[tuple[str, ...]] = []
    for at, token in enumerate(tokens):
        swapped: str | None = None
        if token in words.teens[3:]:
            swapped = words.tens[words.teens.index(token) - 2]
        elif token in words.tens[1:]:
            follows = tokens[at + 1] if at + 1 < len(tokens) else ""
            if follows not in words.ones[1:]:
                swapped = words.teens[words.tens.index(token) + 2]
        if swapped is not None:
            other.append((*tokens[:at], swapped, *tokens[at + 1 :]))
    return tuple(other)
