"""Yarn counts: how heavy a length of yarn is, as cones state it instead of a length.

Definitions: ISO 1144 (tex), ASTM D861, and the customary hanks per pound; lengths and pounds are
exact by the international yard and pound agreement of 1959 (documents from memory, definitions
second hand). "Worsted weight", the yarn category 4, has nothing to do with the worsted count.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import Final

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


_METRES_PER_UNIT: Final = {
    CountSystem.TEX: 1000,
    CountSystem.DTEX: 10_000,
    CountSystem.DENIER: 9000,
}
"""The direct systems: grams of so many metres."""

_METRES_PER_GRAM: Final = {
    CountSystem.NM: Fraction(1),
    CountSystem.NE_COTTON: 840 * YARD_M / POUND_G,
    CountSystem.NEK_WORSTED: 560 * YARD_M / POUND_G,
}
"""The indirect systems: one of the unit is so many metres per gram."""


def tex(value: Fraction | int, system: CountSystem) -> Fraction:
    """Return a count in tex (grams of 1000 m), exactly. Raises ValueError unless positive."""
    if value <= 0:
        raise ValueError("A yarn count is more than nothing.")
    if system in _METRES_PER_UNIT:
        return Fraction(value) * 1000 / _METRES_PER_UNIT[system]
    return 1000 / (Fraction(value) * _METRES_PER_GRAM[system])
