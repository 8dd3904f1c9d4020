"""Lengths, weights and gauges in the other system of units, rounded as the trade prints them.

Only what is worked out is rounded; what somebody gave stays as it was given. The steps are wide
enough that a figure worked out and worked back does not move any more: there is no drift, however
often a pattern is copied from one system into the other. Common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final, assert_never

from engine.quantities import Length, LengthUnit, Mass, MassUnit, factor, number_text

_SMALL: Final = Fraction(10)
"""Below so many cm a length is given in eighths of an inch."""
_TINY: Final = Fraction(5)
"""Below so many cm a length is given in tenths of a centimetre."""


def companion(length: Length) -> Length:
    """Return a length in the other system, rounded.

    To half a centimetre, below 5 cm to a millimetre; to a quarter inch, below 10 cm to an eighth;
    metres and yards to whole ones.
    """
    match length.unit:
        case LengthUnit.MM | LengthUnit.CM:
            small = length.to(LengthUnit.CM).value < _SMALL
            return _stepped(length.to(LengthUnit.IN), Fraction(1, 8 if small else 4))
        case LengthUnit.IN:
            other = length.to(LengthUnit.CM)
            return _stepped(other, Fraction(1, 10) if other.value < _TINY else Fraction(1, 2))
        case LengthUnit.M:
            return _stepped(length.to(LengthUnit.YD), Fraction(1))
        case LengthUnit.YD:
            return _stepped(length.to(LengthUnit.M), Fraction(1))
        case _:
            assert_never(length.unit)


def worked_out(length: Length) -> Length:
    """Return a length that was computed (not given) as it is printed in its own unit.

    Centimetres and inches as for `companion`; other units as they are.
    """
    match length.unit:
        case LengthUnit.CM:
            return _stepped(length, Fraction(1, 10) if length.value < _TINY else Fraction(1, 2))
        case LengthUnit.IN:
            small = length.to(LengthUnit.CM).value < _SMALL
            return _stepped(length, Fraction(1, 8 if small else 4))
        case _:
            return length


def companion_mass(mass: Mass) -> Mass:
    """Return a weight in the other system: whole grams, or quarter ounces.

    Below an ounce it is the next eighth upwards, because yarn that is short is worse than yarn
    that is left.
    """
    match mass.unit:
        case MassUnit.G:
            ounces = mass.to(MassUnit.OZ).value
            if ounces < 1:
                return Mass(Fraction((ounces * 8).__ceil__(), 8), MassUnit.OZ)
            return Mass(_nearest(ounces, Fraction(1, 4)), MassUnit.OZ)
        case MassUnit.OZ:
            return Mass(_nearest(mass.to(MassUnit.G).value, Fraction(1)), MassUnit.G)
        case _:
            assert_never(mass.unit)


def gauge_to_four_inches(per_10cm: Fraction) -> Fraction:
    """Return stitches or rows to 4 in (10.16 cm) for those to 10 cm, to a quarter."""
    return _nearest(per_10cm * 4 * factor("in", "cm") / 10, Fraction(1, 4))


def gauge_to_ten_centimetres(per_10cm: Fraction) -> Fraction:
    """Return stitches or rows to 10 cm to a quarter (18 to 4 in, exactly 17.717, is 17 3/4)."""
    return _nearest(per_10cm, Fraction(1, 4))


_SIGNS: Final = {
    (1, 2): "½", (1, 4): "¼", (3, 4): "¾", (1, 8): "⅛", (3, 8): "⅜", (5, 8): "⅝", (7, 8): "⅞",
    (1, 3): "⅓", (2, 3): "⅔",
}  # fmt: skip


def printed_number(value: Fraction, unit: str = "") -> str:
    """Write a number as print does: "6½", "16.5", "3⅛"; reading it again gives the same value."""
    mixed = unit not in {LengthUnit.MM, LengthUnit.CM, LengthUnit.M, MassUnit.G}
    whole, rest = divmod(value.numerator, value.denominator)
    sign = _SIGNS.get((rest, value.denominator)) if mixed and value > 0 else None
    if sign is None:
        return number_text(value, unit)
    return f"{whole or ''}{sign}"


def _stepped(length: Length, step: Fraction) -> Length:
    return Length(_nearest(length.value, step), length.unit)


def _nearest(value: Fraction, step: Fraction) -> Fraction:
    """Round to a step, halves upwards; never down to nothing."""
    steps = (value / step + Fraction(1, 2)).__floor__()
    return (steps or (1 if value > 0 else 0)) * step
