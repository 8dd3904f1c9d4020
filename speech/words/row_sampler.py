"""
The sentences that a decoder listens for while a row is said, sampled from the language of rows.

As for the commands, the decoder makes pairs of words of them (`speech.words.sampler`); so steps
follow each other by chance, the same way every time, until every step has stood beside many others.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING, Final

from engine.quantities import LengthUnit
from speech.words.numbers import say_quantity, say_whole
from speech.words.row_language import NUMBER, Part, RowLanguage, WayOfSaying

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from speech.words.phrases import PhraseBook

SENTENCES: Final = 1_200
_STEPS: Final = (3, 9)
_PLAIN_SHARE: Final = 0.6
"""So large a share of all steps is "knit four" or "purl two" (a guess from written rows)."""
_USUAL_STOPS: Final = frozenset({"to end", "to last {n} sts"})
_REPEAT_SHARE: Final = 0.12
_REPEATED: Final = frozenset({"repeat_last", "repeat_span", "repeat_row", "repeat_row_of"})
_TAPE: Final = (LengthUnit.CM, LengthUnit.CM, LengthUnit.IN)
_LONGEST: Final = 60
_SMALL_SHARE: Final = 0.75
_SMALL: Final = 12
_LARGE: Final = 150


def row_sentences(book: PhraseBook, knows: Callable[[str], bool]) -> tuple[str, ...]:
    """
    Return sentences of rows, with and without their opener, in the words of the speech model.

    `knows` tells which words it has; ways of saying with others are left out.
    """
    language = book.rows
    if language is None:
        return ()
    sampler = _Sampler(language, book, knows)
    return tuple(sampler.sentence() for _ in range(SENTENCES))


class _Sampler:
    """Makes rows by chance, always the same."""

    def __init__(
        self, language: RowLanguage, book: PhraseBook, knows: Callable[[str], bool]
    ) -> None:
        self._dice = Random(17)  # noqa: S311 (no secret: the same sentences every time)
        self._book = book
        self._ways = {
            part: [way for way in ways if all(map(knows, self._model_words(way.words)))]
            for part, ways in language.ways.items()
        }
        self._joins = sorted(word for word in language.joins if knows(word))

    def _model_words(self, words: Sequence[str]) -> Iterator[str]:
        for word in words:
            if word != NUMBER:
                yield from self._book.aliases.get(word, (word,))

    def sentence(self) -> str:
        """Return one sentence."""
        if self._dice.random() < _REPEAT_SHARE:
            return self._in_model_words(self._repeat())
        words: list[str] = []
        if self._dice.random() < 0.7:  # noqa: PLR2004 (the others are more of a row)
            meant = self._dice.choices(["this", "next", "span", "was"], [6, 2, 1, 1])[0]
            openers = [way for way in self._ways[Part.OPENERS] if way.means == meant]
            words += self._said(self._usual(openers))
        if words and self._dice.random() < 0.12:  # noqa: PLR2004
            part = self._dice.choice([Part.WHOLE, Part.LIKE])
            return self._in_model_words([*words, *self._said(self._one(part))])
        for _ in range(self._dice.randint(*_STEPS)):
            words += self._step()
            if self._dice.random() < 0.3:  # noqa: PLR2004
                words += self._after()
        return self._in_model_words(words)

    def _repeat(self) -> list[str]:
        """Return which rows come again, and how often or until they measure something."""
        several = self._ways[Part.SEVERAL]
        which = self._dice.choice([way for way in several if way.means in _REPEATED])
        if self._dice.random() < 0.4:  # noqa: PLR2004
            return [*self._said(which), *self._said(self._one(Part.TIMES))]
        until = self._usual([way for way in several if way.means == "until"])
        return [*self._said(which), *until.words, *self._length()]

    def _length(self) -> list[str]:
        """Return a length as a tape is read: whole, a half or quarter, tenths of a centimetre."""
        unit = self._dice.choice(_TAPE)
        one, many = self._book.units[unit][:2]
        parts = (2, 10) if unit is LengthUnit.CM else (2, 4, 8)
        part = self._dice.choice(parts)
        rest = Fraction(self._dice.randrange(part), part) if self._dice.random() < 0.6 else 0  # noqa: PLR2004
        whole = self._dice.randint(1, _LONGEST)
        return say_quantity(whole + Fraction(rest), one, many, self._book.numbers).split()

    def _step(self) -> list[str]:
        if self._dice.random() < 0.06:  # noqa: PLR2004
            marked = [way for way in self._ways[Part.REPEATS] if way.means in {"begin", "maybe"}]
            return self._said(self._dice.choice(marked))
        if self._dice.random() < _PLAIN_SHARE:
            way = self._dice.choice(self._ways[Part.AMOUNTS][:4])
            bare = self._dice.random() < 0.15  # noqa: PLR2004
            if bare:
                return [*way.words, *self._stop()]
            return [*way.words, *self._number()]
        return self._said(self._one(self._dice.choice([Part.NUMBERED, Part.FIXED])))

    def _after(self) -> list[str]:
        part = self._dice.choice([Part.STOPS, Part.STOPS, Part.TIMES, Part.REPEATS])
        if part is Part.STOPS:
            return self._stop()
        said = self._said(self._one(part))
        if part is Part.REPEATS:
            often = self._dice.random() < 0.5  # noqa: PLR2004
            said += self._stop() if often else self._said(self._one(Part.TIMES))
        return said

    def _stop(self) -> list[str]:
        """Return to where something is worked: mostly to the end, or to the last few stitches."""
        if self._dice.random() < 0.8:  # noqa: PLR2004
            usual = [way for way in self._ways[Part.STOPS] if way.means in _USUAL_STOPS]
            return self._said(self._usual(usual))
        return self._said(self._one(Part.STOPS))

    def _one(self, part: Part) -> WayOfSaying:
        """Choose first what is meant, then how it is said: no step is crowded out by another."""
        meant = self._dice.choice(sorted({way.means for way in self._ways[part]}))
        return self._usual([way for way in self._ways[part] if way.means == meant])

    def _usual(self, ways: Sequence[WayOfSaying]) -> WayOfSaying:
        """Choose a way of saying, the usual ones more often than those far down in the list."""
        weights = [1 / (1 + way.rank) ** 2 for way in ways]
        return self._dice.choices(ways, weights)[0]

    def _said(self, way: WayOfSaying) -> list[str]:
        words: list[str] = []
        for word in way.words:
            words += self._number() if word == NUMBER else [word]
        return words

    def _number(self) -> list[str]:
        small = self._dice.random() < _SMALL_SHARE
        number = self._dice.randint(1, _SMALL if small else _LARGE)
        return say_whole(number, self._book.numbers).split()

    def _in_model_words(self, words: Sequence[str]) -> str:
        return " ".join(self._model_words(words))
