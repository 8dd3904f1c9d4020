"""Free text with the other system of units put behind what it gives in one.

A pattern's own words stay as they are. A figure that already has its companion ("24 cm, 9 1/2 in")
is left alone. Needle sizes are in millimetres everywhere, so millimetres are never converted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.plan.rounding import companion, companion_mass, printed_number
from engine.quantities import Length, LengthUnit, Mass, MassUnit, parse_number, parse_unit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

_VULGAR: Final = "¼½¾⅓⅔⅛⅜⅝⅞"
_ONE: Final = rf"(?:\d+[.,]\d+|\d+[ -]\d+/\d+|\d+/\d+|\d+[{_VULGAR}]|\d+|[{_VULGAR}])"
_DASH: Final = r"[-\u2013\u2014]"
_FIGURE: Final = re.compile(
    rf"(?<![\w.{_VULGAR}])(?<!\d/)(?P<numbers>{_ONE}(?:\s*[(\[](?:{_ONE}|{_DASH})"
    rf"(?:\s*[,:;]\s*(?:{_ONE}|{_DASH}))*[)\]])*)"
    r"[ -]?(?P<unit>cms?|centimet(?:re|er)s?|in(?:s|ch(?:es)?)?|\"|″|yds?|yards?|m|met(?:re|er)s?"
    r"|g|gram(?:me)?s?|oz|ounces?)(?P<short>\.(?= +[a-z(]| ?[,;]))?"
    r"(?!\w|(?<=in) (?:an?|the|one|each|every|next|first|last|same|this|patt"
    r"|rib|garter|seed|moss|st|sts|row|rows|rnd|rnds|front|back|colou?r|total of)\b)",
)
_BETWEEN: Final = re.compile(r"[\s,/(\[=.]*(?:(?:or|that is|about)\s+)?")

_METRIC: Final = frozenset({LengthUnit.MM, LengthUnit.CM, LengthUnit.M, MassUnit.G})


@dataclass(frozen=True, slots=True)
class Figure:
    """A quantity in a text: where it stands and its values, one or one a size (None: a dash)."""

    start: int
    end: int
    values: tuple[Fraction | None, ...]
    unit: LengthUnit | MassUnit

    @property
    def metric(self) -> bool:
        """Whether it is in metric units."""
        return self.unit in _METRIC

    def companion(self) -> str:
        """Write the same quantity in the other system: "5 (5½, 6) in"."""
        others = [_other(value, self.unit) for value in self.values]
        units = [unit for _, unit in filter(None, others)]
        texts = ["-" if one is None else printed_number(*one) for one in others]
        return f"{graded(texts)} {units[0]}"


def _other(
    value: Fraction | None, unit: LengthUnit | MassUnit
) -> tuple[Fraction, LengthUnit | MassUnit] | None:
    if value is None:
        return None
    match unit:
        case LengthUnit():
            length = companion(Length(value, unit))
            return length.value, length.unit
        case MassUnit():
            mass = companion_mass(Mass(value, unit))
            return mass.value, mass.unit


def graded(texts: list[str]) -> str:
    """Write one text, or one a size: "24 (28, 32)"; the same for all sizes stands once."""
    if len(set(texts)) == 1:
        return texts[0]
    return f"{texts[0]} ({', '.join(texts[1:])})"


def figures(text: str) -> Iterator[Figure]:
    """Yield the lengths and weights in a text, in order."""
    for found in _FIGURE.finditer(text):
        unit = parse_unit(found["unit"].replace("ins", "in"))
        values = tuple(
            parse_number(word) if re.fullmatch(_ONE, word) else None
            for word in re.findall(rf"{_ONE}|{_DASH}", found["numbers"])
        )
        if unit is not None and any(value is not None for value in values):
            yield Figure(found.start(), found.end(), values, unit)


_FRACTION: Final = re.compile(
    r"(?<![\d/.,])(?:(?P<whole>\d+)[ -](?P<mixed>\d/\d)|(?P<part>\d/\d)"
    r"(?=[ -]?(?:in|inch|inches|cm|yds?|yards?|oz|\"|of)\b))(?![\d/]| ?[lrLR][pP]?[cCtT]\b)"
)


def typeset(text: str) -> str:
    """Return a text with its fractions as print has them: "9 1/2 in" as "9½ in"."""

    def sign(found: re.Match[str]) -> str:
        value = parse_number(found["mixed"] or found["part"])
        shown = printed_number(value) if value is not None else ""
        return f"{found['whole'] or ''}{shown}" if shown and shown in _VULGAR else found[0]

    return _FRACTION.sub(sign, text)


def in_both_units(text: str) -> str:
    """Return a typeset text with the other system's figure behind every one that stands alone."""
    text = typeset(text)
    pieces: list[str] = []
    done = 0
    found = list(figures(text))
    index = 0
    while index < len(found):
        one = found[index]
        if index + 1 < len(found) and _belongs(text, one, found[index + 1]):
            index += 2
            continue
        index += 1
        pieces.append(text[done : one.end])
        joined = " / {}" if len(one.values) > 1 else " ({})"
        pieces.append(joined.format(one.companion()))
        done = one.end
    return "".join([*pieces, text[done:]])


def _belongs(text: str, one: Figure, following: Figure) -> bool:
    """Whether the next figure says the same in the other system."""
    return (
        one.metric != following.metric
        and isinstance(one.unit, LengthUnit) == isinstance(following.unit, LengthUnit)
        and _BETWEEN.fullmatch(text[one.end : following.start]) is not None
    )
