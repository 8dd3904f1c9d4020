"""
Numbers, lengths and weights in words, as one knitter says them to another.

The words are data; this module knows how English strings them together: "one hundred and forty
four", "four and three eighths inches", "three eighths of an inch", "eleven and a half centimetres",
"third".
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.quantities import Length, LengthUnit, Mass, MassUnit
from speech.words.numbers import say_whole

if TYPE_CHECKING:
    from collections.abc import Mapping

    from speech.words.numbers import NumberWords

_IN_PARTS = {LengthUnit.IN, LengthUnit.YD, MassUnit.OZ}
"""Units that the trade divides into halves, quarters and eighths; the others into tenths."""
_FINEST_PART = 100
_MOST_DECIMALS = 3


@dataclass(frozen=True, slots=True)
class Speller:
    """Says numbers in the words of one language."""

    numbers: NumberWords
    """The words below a thousand."""
    minus: str
    about: str
    scales: tuple[str, ...]
    """Thousand, million and so on."""
    ordinals: Mapping[str, str]
    """Last words that have an ordinal of their own: one, first."""
    ordinal_ending: str
    parts: Mapping[int, tuple[str, str]]
    """By what a whole is divided into: the words for one part and for several."""
    units: Mapping[LengthUnit | MassUnit, tuple[str, str]]
    """The words for one of a unit and for several."""

    def whole(self, number: int) -> str:
        """Say a whole number of any size; beyond the scales, digit by digit."""
        if number < 0:
            return f"{self.minus} {self.whole(-number)}"
        if number >= 1000 ** (len(self.scales) + 1):
            return " ".join(self.numbers.ones[int(digit)] for digit in str(number))
        said = []
        rest = number
        for power in range(len(self.scales), 0, -1):
            group, rest = divmod(rest, 1000**power)
            if group:
                said += [say_whole(group, self.numbers), self.scales[power - 1]]
        if rest or not said:
            if said and rest < 100:  # noqa: PLR2004 (a hundred)
                said.append(self.numbers.and_word)
            said.append(say_whole(rest, self.numbers))
        return " ".join(said)

    def ordinal(self, number: int) -> str:
        """Say a whole number as a place in a row: "third", "twenty first"."""
        *before, last = self.whole(number).split()
        if last in self.ordinals:
            last = self.ordinals[last]
        elif last.endswith("y"):
            last = f"{last[:-1]}ie{self.ordinal_ending}"
        else:
            last += self.ordinal_ending
        return " ".join([*before, last])

    def amount(self, value: Fraction, *, in_parts: bool = True) -> str:
        """Say a number: "four and three eighths", "a half", "eleven point three"."""
        if value < 0:
            return f"{self.minus} {self.amount(-value, in_parts=in_parts)}"
        whole, rest = divmod(value, 1)
        if not rest:
            return self.whole(int(whole))
        decimals = _decimals(rest)
        if (rest == Fraction(1, 2) or in_parts or decimals is None) and (
            rest.denominator <= _FINEST_PART
        ):
            part = self._part(rest)
            return f"{self.whole(int(whole))} {self.numbers.and_word} {part}" if whole else part
        if decimals is None:
            return f"{self.about} {self.amount(round(value, _MOST_DECIMALS), in_parts=False)}"
        digits = " ".join(self.numbers.ones[int(digit)] for digit in decimals)
        return f"{self.whole(int(whole))} {self.numbers.point} {digits}"

    def quantity(self, quantity: Length | Mass) -> str:
        """Say a length or a weight with its unit: "one inch", "three eighths of an inch"."""
        value = quantity.value
        one, many = self.units[quantity.unit]
        said = self.bare(quantity)
        if value == 1:
            return f"{said} {one}"
        below_one = 0 < value < 1 and value.denominator <= _FINEST_PART
        if below_one and said == self._part(value):
            half = self.parts[2][0]
            if value == Fraction(1, 2):
                return f"{half} {self._article(one)} {one}"
            return f"{said} {self.numbers.of} {self._article(one)} {one}"
        return f"{said} {many}"

    def bare(self, quantity: Length | Mass) -> str:
        """Say a length or a weight without its unit, where both know it."""
        return self.amount(quantity.value, in_parts=quantity.unit in _IN_PARTS)

    def _part(self, rest: Fraction) -> str:
        if rest.denominator in self.parts:
            one, many = self.parts[rest.denominator]
        else:
            one = self.ordinal(rest.denominator)
            many = f"{one}s"
        if rest.numerator == 1:
            return f"{self._article(one)} {one}"
        return f"{self.whole(rest.numerator)} {many}"

    def _article(self, noun: str) -> str:
        return self.numbers.articles[1 if noun[0] in "aeiou" else 0]


def _decimals(rest: Fraction) -> str | None:
    """Return the digits after the point, or None if there are more than a few."""
    for places in range(1, _MOST_DECIMALS + 1):
        shifted = rest * 10**places
        if shifted.denominator == 1:
            return str(shifted.numerator).zfill(places)
    return None
