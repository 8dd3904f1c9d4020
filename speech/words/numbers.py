"""Spoken and typed numbers: whole numbers to 9999, decimals, and parts from halves to sixteenths.

The words come from the phrase data; this module knows only how English strings them together
("one hundred and forty four", "four and three eighths", "point five"). It reads a number off the
front of a list of tokens and also says a number in words, so the two can be checked against each
other. Teens and tens ("thirteen", "thirty") differ by one weak syllable and are the numbers that
are misheard most; `misheard` gives the other reading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.quantities import parse_number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

LARGEST = 9999
"""The largest whole number that can be said."""


@dataclass(frozen=True, slots=True)
class NumberWords:
    """The words that numbers are made of, in one language."""

    ones: tuple[str, ...]
    """Zero to nine."""
    zeros: tuple[str, ...]
    """Other words for zero: "nought"."""
    teens: tuple[str, ...]
    """Ten to nineteen."""
    tens: tuple[str, ...]
    """Twenty to ninety."""
    hundred: str
    thousand: str
    and_word: str
    point: str
    of: str
    articles: tuple[str, ...]
    """Words that say "one" before a fraction or a hundred: "a", "an"."""
    parts: Mapping[str, Fraction]
    """Words for parts: "half", "third", "thirds", "quarter" and so on to "sixteenths"."""
    minus: tuple[str, ...] = ()
    """Words for a number below nothing; no command takes one, so none of them is listened for."""

    @property
    def everything(self) -> frozenset[str]:
        """All words a spoken number can contain."""
        single = {self.hundred, self.thousand, self.and_word, self.point, self.of}
        several = (self.ones, self.zeros, self.teens, self.tens, self.articles, self.parts)
        return frozenset(single.union(*several))


def whole_numbers(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[int, int]]:
    """Yield every whole number (0 to 9999) that begins at `start` with the place where it ends.

    The longest comes first. Typed digits count as one token, "1,200" too: counts have no decimals.
    """
    found = list(_wholes(tokens, start, words))
    yield from sorted(found, key=lambda one: -one[1])


_FIGURES = re.compile(r"\d{1,9}|\d{1,3}(?:,\d{3})+", re.ASCII)


def _wholes(tokens: Sequence[str], start: int, words: NumberWords) -> Iterator[tuple[int, int]]:
    if start >= len(tokens):
        return
    if _FIGURES.fullmatch(tokens[start]):
        number = int(tokens[start].replace(",", ""))
        if number <= LARGEST:
            yield number, start + 1
        return
    yield from _below_thousand(tokens, start, words)
    yield from _scaled(tokens, start, words, words.thousand, 1000, _below_thousand)


def _below_thousand(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[int, int]]:
    yield from _below_hundred(tokens, start, words)
    yield from _scaled(tokens, start, words, words.hundred, 100, _below_hundred)


def _scaled(
    tokens: Sequence[str],
    start: int,
    words: NumberWords,
    scale: str,
    value: int,
    below: Callable[[Sequence[str], int, NumberWords], Iterator[tuple[int, int]]],
) -> Iterator[tuple[int, int]]:
    """Read "two hundred", "a thousand", with what follows: "and one", "two hundred and one".

    Behind "and" there is less than a hundred: "a thousand and two hundred" is not English.
    """
    if start + 1 >= len(tokens) or tokens[start + 1] != scale:
        return
    if tokens[start] in words.articles:
        scaled = value
    elif tokens[start] in words.ones[1:]:
        scaled = value * words.ones.index(tokens[start])
    else:
        return
    at = start + 2
    yield scaled, at
    yield from ((scaled + rest, end) for rest, end in below(tokens, at, words) if rest)
    if at < len(tokens) and tokens[at] == words.and_word:
        for rest, end in _below_hundred(tokens, at + 1, words):
            if rest:
                yield scaled + rest, end


def _below_hundred(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[int, int]]:
    if start >= len(tokens):
        return
    token = tokens[start]
    if token in words.zeros:
        yield 0, start + 1
    elif token in words.ones:
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
    "1,250" is twelve hundred to some and one and a quarter to others: taken for neither.
    """
    if start < len(tokens) and "," in tokens[start] and parse_number(tokens[start]) is None:
        return
    found = list(_amounts(tokens, start, words))
    yield from sorted(found, key=lambda one: -one[1])


def _amounts(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[Fraction, int]]:
    if start >= len(tokens):
        return
    yield from _typed(tokens, start)
    yield from _parts_alone(tokens, start, words)
    if tokens[start] == words.point:
        yield from _decimals(Fraction(0), tokens, start + 1, words)
    for whole, at in _wholes(tokens, start, words):
        yield Fraction(whole), at
        if at >= len(tokens):
            continue
        if tokens[at] == words.point:
            yield from _decimals(Fraction(whole), tokens, at + 1, words)
        elif tokens[at] == words.and_word:
            for part, end in parts(tokens, at + 1, words):
                yield whole + part, end


def _typed(tokens: Sequence[str], start: int) -> Iterator[tuple[Fraction, int]]:
    """Typed figures: "4.5", "3/8", "4 3/8", "4½"."""
    for end in (start + 2, start + 1):
        if end > len(tokens):
            continue
        figures = " ".join(tokens[start:end])
        value = parse_number(figures)
        if value is not None and value <= LARGEST:
            yield value, end


def _decimals(
    whole: Fraction, tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[Fraction, int]]:
    """One or two digits after "point"."""
    value = whole
    for place in (1, 2):
        at = start + place - 1
        if at >= len(tokens) or tokens[at] not in {*words.ones, *words.zeros}:
            return
        digit = 0 if tokens[at] in words.zeros else words.ones.index(tokens[at])
        value += Fraction(digit, 10**place)
        yield value, at + 1


def parts(tokens: Sequence[str], start: int, words: NumberWords) -> Iterator[tuple[Fraction, int]]:
    """Read "a half", "three eighths", "eleven sixteenths": less than one of a whole."""
    at = start
    tops: Iterator[tuple[int, int]] = iter([(1, at)])
    if at < len(tokens) and tokens[at] in words.articles:
        tops = iter([(1, at + 1)])
    elif at < len(tokens) and tokens[at] in {*words.ones[1:], *words.teens}:
        tops = _below_hundred(tokens, at, words)
    for top, behind in tops:
        if behind < len(tokens) and tokens[behind] in words.parts:
            value = top * words.parts[tokens[behind]]
            if value < 1:
                yield value, behind + 1


def _parts_alone(
    tokens: Sequence[str], start: int, words: NumberWords
) -> Iterator[tuple[Fraction, int]]:
    """Read what `parts` reads, also with what stands before a unit: "half an", "thirds of a"."""
    for value, at in parts(tokens, start, words):
        yield value, at
        behind = at + (at < len(tokens) and tokens[at] == words.of)
        if behind < len(tokens) and tokens[behind] in words.articles:
            yield value, behind + 1


def say_whole(number: int, words: NumberWords, *, with_and: bool = True) -> str:
    """Say a whole number (0 to 9999); ValueError beyond."""
    if not 0 <= number <= LARGEST:
        raise ValueError(f"{number} cannot be said: numbers go from 0 to {LARGEST}.")
    thousands, below = divmod(number, 1000)
    hundreds, rest = divmod(below, 100)
    spoken = [words.ones[thousands], words.thousand] if thousands else []
    spoken += [words.ones[hundreds], words.hundred] if hundreds else []
    if spoken and rest and with_and:
        spoken.append(words.and_word)
    if rest or not spoken:
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

    Parts that have words (halves to sixteenths) are said as such, others as decimals.
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
    raise ValueError(f"{value} cannot be said in parts that have words, or in hundredths.")


def _say_part(rest: Fraction, words: NumberWords) -> str | None:
    for name, part in words.parts.items():
        if rest == part:
            return f"{_article(name, words)} {name}"
    names = [name for name, part in words.parts.items() if part.denominator == rest.denominator]
    return f"{say_whole(rest.numerator, words)} {names[-1]}" if names else None


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
