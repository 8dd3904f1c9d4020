"""
When two pieces are the same: the trade's tolerances, and the knitter's own in their place.

The trade's (common practice, no source): equal stitches and rows; half a centimetre (a quarter
inch) up to 30 cm, a whole one (half an inch) beyond; half a stitch and a row to 10 cm; five per
cent of the weight. Lengths and widths are compared washed.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.quantities import Length, LengthUnit
from engine.stages import Trait
from engine.state import Tolerance

if TYPE_CHECKING:
    from collections.abc import Iterable

LARGE_CM: Final = 30.0
_SMALL: Final = {
    False: Length(Fraction(1, 2), LengthUnit.CM),
    True: Length(Fraction(1, 4), LengthUnit.IN),
}
_LARGE: Final = {
    False: Length(Fraction(1), LengthUnit.CM),
    True: Length(Fraction(1, 2), LengthUnit.IN),
}
_USUAL: Final = {
    Trait.ROWS: None,
    Trait.WEIGHT: Fraction(5),
    Trait.STITCH_GAUGE: Fraction(1, 2),
    Trait.ROW_GAUGE: Fraction(1),
}
_INCHES: Final = frozenset({LengthUnit.IN, LengthUnit.YD})
_READ: Final = 1e-6  # what is just at the tolerance is within it


@dataclass(frozen=True, slots=True)
class Difference:
    """A trait of a piece beside the wanted one, in centimetres, grams or counts; `by` is signed."""

    trait: Trait
    mine: float
    wanted: float
    allowed: float

    @property
    def by(self) -> float:
        """How much more it is than wanted."""
        return self.mine - self.wanted

    @property
    def within(self) -> bool:
        """Whether that is still the same."""
        return abs(self.by) <= self.allowed + _READ


def usual(trait: Trait, wanted: float, unit: LengthUnit) -> Tolerance:
    """Return the trade's tolerance for a trait, for lengths in the kind of unit she uses."""
    if trait in {Trait.LENGTH, Trait.WIDTH}:
        by_size = _SMALL if wanted <= LARGE_CM else _LARGE
        return Tolerance(trait, by_size[unit in _INCHES], None)
    return Tolerance(trait, None, _USUAL[trait])


def holding(trait: Trait, wanted: float, unit: LengthUnit, own: Iterable[Tolerance]) -> Tolerance:
    """Return the tolerance that holds: her own where she set one, else the trade's."""
    mine = next((one for one in own if one.trait is trait), None)
    return mine if mine is not None else usual(trait, wanted, unit)


def allowed(tolerance: Tolerance, wanted: float) -> float:
    """Return how far from `wanted` is still the same, in its unit (cm, g, counts)."""
    if tolerance.length is not None:
        return tolerance.length.cm
    if tolerance.number is None:
        return 0.0
    if tolerance.trait is Trait.WEIGHT:
        return float(tolerance.number) / 100 * wanted
    return float(tolerance.number)


def compare(
    trait: Trait, mine: float, wanted: float, unit: LengthUnit, own: Iterable[Tolerance]
) -> Difference:
    """Return a trait beside the wanted one."""
    return Difference(trait, mine, wanted, allowed(holding(trait, wanted, unit, own), wanted))
