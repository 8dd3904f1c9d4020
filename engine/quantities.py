"""
Lengths and weights as the knitter says them, exact and in her own units.

A quantity keeps the value and the unit in which it was given; nothing is converted until somebody
asks. Values are fractions, so a round trip through another unit loses nothing (1 in = 2.54 cm and
1 oz = 28.349523125 g are exact by the international yard and pound agreement of 1959).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from engine.limits import MOST_DENOMINATOR

if TYPE_CHECKING:
    import pint


class LengthUnit(StrEnum):
    """A unit of length that the trade uses."""

    MM = "mm"
    CM = "cm"
    IN = "in"
    M = "m"
    YD = "yd"


class MassUnit(StrEnum):
    """A unit of weight on a yarn band or a kitchen scale."""

    G = "g"
    OZ = "oz"


_DEFINITIONS = (
    "metre = [length] = m",
    "millimetre = 1/1000 metre = mm",
    "centimetre = 1/100 metre = cm",
    "inch = 254/10000 metre = in",
    "yard = 36 inch = yd",
    "gram = [mass] = g",
    "ounce = 45359237/1600000 gram = oz",
)


@cache
def _registry() -> pint.UnitRegistry[Fraction]:
    """Build the one registry, of fractions and only the units needed (the default takes 0.1 s)."""
    import pint  # noqa: PLC0415 (0.3 s of a cold start that most screens never need)

    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry


@cache
def factor(source: str, target: str) -> Fraction:
    """Return how many `target` units make one `source` unit, exactly (pint does the sum)."""
    registry = _registry()
    one = registry.Quantity(Fraction(1), source)
    return Fraction(one.to(target).magnitude)


@dataclass(frozen=True, slots=True)
class Length:
    """A length in the unit in which it was given; `value` is in `unit`."""

    value: Fraction
    unit: LengthUnit

    def to(self, unit: LengthUnit) -> Length:
        """Return the same length in another unit, exactly."""
        if unit is self.unit:
            return self
        return Length(self.value * factor(self.unit, unit), unit)

    @property
    def cm(self) -> float:
        """The length in centimetres as a float, for statistics."""
        return float(self.to(LengthUnit.CM).value)

    def __str__(self) -> str:
        """Write it as the trade does: "4 3/8 in", "11 cm", "11.5 cm"."""
        return f"{number_text(self.value, self.unit)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Mass:
    """A weight in the unit in which it was given; `value` is in `unit`."""

    value: Fraction
    unit: MassUnit

    def to(self, unit: MassUnit) -> Mass:
        """Return the same weight in another unit, exactly."""
        if unit is self.unit:
            return self
        return Mass(self.value * factor(self.unit, unit), unit)

    @property
    def grams(self) -> float:
        """The weight in grams as a float, for statistics."""
        return float(self.to(MassUnit.G).value)

    def __str__(self) -> str:
        """Write it as on a scale: "41 g", "1 3/4 oz"."""
        return f"{number_text(self.value, self.unit)} {self.unit}"


def number_text(value: Fraction, unit: str = "") -> str:
    """
    Write a value exactly: inches, yards and ounces in mixed fractions, the rest in decimals.

    A value that has no finite decimal (a third of a centimetre) falls back to a mixed fraction,
    so that reading the text again always gives the same value.
    """
    if unit not in {LengthUnit.IN, LengthUnit.YD, MassUnit.OZ}:
        rest = value.denominator
        for prime in (2, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return _decimal_text(value)
    return _mixed_text(value)


def _decimal_text(value: Fraction) -> str:
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value.numerator), value.denominator)
    if rest == 0:
        return f"{sign}{whole}"
    digits = ""
    while rest:
        digit, rest = divmod(rest * 10, value.denominator)
        digits += str(digit)
    return f"{sign}{whole}.{digits}"


def _mixed_text(value: Fraction) -> str:
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value.numerator), value.denominator)
    if rest == 0:
        return f"{sign}{whole}"
    part = f"{rest}/{value.denominator}"
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_PART = rf"\d{{1,{len(str(MOST_DENOMINATOR))}}}"
_NUMBER = re.compile(
    rf"(?P<sign>-)?(?:(?P<whole>\d{{1,9}})(?:[\s-]+(?P<n1>{_PART})/(?P<d1>{_PART}))?"
    rf"|(?P<n2>{_PART})/(?P<d2>{_PART})|(?P<decimal>\d{{0,9}}[.,]\d{{1,30}}))",
    re.ASCII,
)
_THOUSANDS = re.compile(r"-?[1-9]\d{0,2},\d{3}", re.ASCII)


def parse_number(text: str) -> Fraction | None:
    """
    Read "4", "4.5", "4,5", "4 3/8", "3/8", "4⅜" exactly; None if it is not one number.

    Digits are ASCII on purpose: a full-width or circled digit in a pattern is a slip, not a
    number. "1,200" is none either: it is twelve hundred to some and one and a fifth to others.
    """
    cleaned = text.strip().replace("\N{FRACTION SLASH}", "/").replace("\N{MINUS SIGN}", "-")
    for sign, plain in _VULGAR.items():
        cleaned = cleaned.replace(sign, f" {plain}")
    found = _NUMBER.fullmatch(cleaned.strip())
    if found is None or _THOUSANDS.fullmatch(cleaned.strip()):
        return None
    part = found.groupdict()
    if part["decimal"] is not None:
        value = Fraction(part["decimal"].replace(",", "."))
    else:
        value = Fraction(int(part["whole"] or 0))
        top, bottom = part["n1"] or part["n2"], part["d1"] or part["d2"]
        if top is not None and bottom is not None:
            if not 0 < int(bottom) <= MOST_DENOMINATOR:
                return None
            value += Fraction(int(top), int(bottom))
    return -value if part["sign"] else value


_UNIT_NAMES: dict[str, LengthUnit | MassUnit] = {
    "mm": LengthUnit.MM, "millimetre": LengthUnit.MM, "millimeter": LengthUnit.MM,
    "cm": LengthUnit.CM, "centimetre": LengthUnit.CM, "centimeter": LengthUnit.CM,
    "in": LengthUnit.IN, "inch": LengthUnit.IN, "inche": LengthUnit.IN,
    '"': LengthUnit.IN, "″": LengthUnit.IN, "”": LengthUnit.IN,
    "m": LengthUnit.M, "metre": LengthUnit.M, "meter": LengthUnit.M,
    "yd": LengthUnit.YD, "yard": LengthUnit.YD,
    "g": MassUnit.G, "gram": MassUnit.G, "gramme": MassUnit.G,
    "oz": MassUnit.OZ, "ounce": MassUnit.OZ,
}  # fmt: skip


def parse_unit(text: str) -> LengthUnit | MassUnit | None:
    """Read a unit by any of its usual names and spellings ("cms", "inches", "in."), or None."""
    name = text.strip().casefold().rstrip(".")
    return _UNIT_NAMES.get(name) or _UNIT_NAMES.get(name.removesuffix("s"))


_QUANTITY = re.compile(r"(?P<number>.{1,60}?)\s*(?P<unit>[^\W\d_]+\.?|[\"″”])")


def parse_length(text: str) -> Length | None:
    """Read "4 3/8 in", "11 cm", '7"' exactly; None if it is not one length."""
    value, unit = _split(text)
    return Length(value, unit) if value is not None and isinstance(unit, LengthUnit) else None


def parse_mass(text: str) -> Mass | None:
    """Read "41 g", "1 3/4 oz" exactly; None if it is not one weight."""
    value, unit = _split(text)
    return Mass(value, unit) if value is not None and isinstance(unit, MassUnit) else None


def _split(text: str) -> tuple[Fraction | None, LengthUnit | MassUnit | None]:
    found = _QUANTITY.fullmatch(text.strip())
    if found is None:
        return None, None
    return parse_number(found["number"]), parse_unit(found["unit"])


def inches(value: Fraction | int) -> Length:
    """Return a length in inches."""
    return Length(Fraction(value), LengthUnit.IN)


def centimetres(value: Fraction | int) -> Length:
    """Return a length in centimetres."""
    return Length(Fraction(value), LengthUnit.CM)


def grams(value: Fraction | int) -> Mass:
    """Return a weight in grams."""
    return Mass(Fraction(value), MassUnit.G)
