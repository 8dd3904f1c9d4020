"""Yarn counts: how heavy a length of yarn is, in the systems that bands and handbooks use.

Definitions: ISO 1144 (tex), ASTM D861, and the customary hanks per pound; lengths and pounds are
exact by the international yard and pound agreement of 1959 (documents from memory, definitions
second hand). "Worsted weight", the yarn category 4, has nothing to do with the worsted count.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import Final

from engine.quantities import Length, LengthUnit, Mass, MassUnit

POUND_G: Final = Fraction("453.59237")
YARD_M: Final = Fraction("0.9144")


class CountSystem(StrEnum):
    """A system of yarn counts."""

    TEX = "tex"
    DTEX = "dtex"
    DENIER = "denier"
    NM = "Nm"
    """Metres per gram."""
    NE_COTTON = "Ne"
    """Hanks of 840 yards per pound."""
    NEK_WORSTED = "NeK"
    """Hanks of 560 yards per pound."""
    LINEN_LEA = "lea"
    """Leas of 300 yards per pound."""
    WOOLLEN_YORKSHIRE = "skein"
    """Skeins of 256 yards per pound."""
    WOOLLEN_RUN = "run"
    """Runs of 1600 yards per pound."""
    YARDS_PER_POUND = "yd/lb"
    METRES_PER_100_G = "m/100 g"


_METRES_PER_UNIT: Final = {
    CountSystem.TEX: 1000,
    CountSystem.DTEX: 10_000,
    CountSystem.DENIER: 9000,
}
"""The direct systems: grams of so many metres."""

_METRES_PER_GRAM: Final = {
    CountSystem.NM: Fraction(1),
    CountSystem.METRES_PER_100_G: Fraction(1, 100),
    CountSystem.YARDS_PER_POUND: YARD_M / POUND_G,
    CountSystem.NE_COTTON: 840 * YARD_M / POUND_G,
    CountSystem.NEK_WORSTED: 560 * YARD_M / POUND_G,
    CountSystem.LINEN_LEA: 300 * YARD_M / POUND_G,
    CountSystem.WOOLLEN_YORKSHIRE: 256 * YARD_M / POUND_G,
    CountSystem.WOOLLEN_RUN: 1600 * YARD_M / POUND_G,
}
"""The indirect systems: one of the unit is so many metres per gram."""


def tex(value: Fraction | int, system: CountSystem) -> Fraction:
    """Return a count in tex (grams of 1000 m), exactly. Raises ValueError unless positive."""
    if value <= 0:
        raise ValueError("A yarn count is more than nothing.")
    if system in _METRES_PER_UNIT:
        return Fraction(value) * 1000 / _METRES_PER_UNIT[system]
    return 1000 / (Fraction(value) * _METRES_PER_GRAM[system])


def convert_count(value: Fraction | int, source: CountSystem, target: CountSystem) -> Fraction:
    """Return a yarn count in another system, exactly."""
    fineness = tex(value, source)
    if target in _METRES_PER_UNIT:
        return fineness * _METRES_PER_UNIT[target] / 1000
    return 1000 / (fineness * _METRES_PER_GRAM[target])


def band_tex(mass: Mass, length: Length) -> Fraction:
    """Return the tex of a ball from its band ("100 g, 200 m" is 500 tex), exactly."""
    if mass.value <= 0 or length.value <= 0:
        raise ValueError("A ball has some weight and some length.")
    metres = length.to(LengthUnit.M).value
    return mass.to(MassUnit.G).value * 1000 / metres
