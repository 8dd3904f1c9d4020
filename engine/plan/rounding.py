"""Lengths, weights and gauges rounded as the trade prints them, in their own or the other system.

Only what is worked out is rounded; what somebody gave stays as it was given. The steps are wide
enough that a figure worked out and worked back does not move any more: there is no drift, however
often a pattern is copied from one system into the other. Common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final, assert_never

from engine.quantities import Length, LengthUnit, Mass, MassUnit, factor, number_text

if TYPE_CHECKING:
    from collections.abc import Callable

_SMALL: Final = Fraction(10)
"""Below so many cm a length is given in eighths of an inch."""
_TINY: Final = Fraction(5)
"""Below so many cm a length is given in tenths of a centimetre."""


_COARSE_YARD: Final = Fraction(1, 8)
"""Yards are said in eighths, where a length is one within an eighth of an inch;"""
_YARD_WITHIN: Final = Fraction(1, 8 * 36)
"""else in inches: nobody says 143/144 yards."""


def companion(length: Length, *, fine: bool = False) -> Length:
    """Return a length in the other system, rounded.

    To half a centimetre, below 5 cm (or `fine`) to a millimetre; to a quarter inch, below 10 cm (or
    `fine`) to an eighth; metres and yards to whole ones.
    """
    match length.unit:
        case LengthUnit.MM | LengthUnit.CM:
            return worked_out(length.to(LengthUnit.IN), fine=fine)
        case LengthUnit.IN:
            return worked_out(length.to(LengthUnit.CM), fine=fine)
        case LengthUnit.M:
            return stepped(length.to(LengthUnit.YD), Fraction(1))
        case LengthUnit.YD:
            return stepped(length.to(LengthUnit.M), Fraction(1))
        case _:
            assert_never(length.unit)


def worked_out(length: Length, *, fine: bool = False) -> Length:
    """Return a length that was computed (not given) as a person says it in its own unit.

    Centimetres and inches as for `companion`; whole millimetres; metres to a centimetre; yards in
    eighths where they are that, else in inches.
    """
    match length.unit:
        case LengthUnit.MM:
            return stepped(length, Fraction(1))
        case LengthUnit.CM:
            tenths = fine or length.value < _TINY
            return stepped(length, Fraction(1, 10) if tenths else Fraction(1, 2))
        case LengthUnit.IN:
            eighths = fine or length.to(LengthUnit.CM).value < _SMALL
            return stepped(length, Fraction(1, 8 if eighths else 4))
        case LengthUnit.M:
            return stepped(length, Fraction(1, 100))
        case LengthUnit.YD:
            yards = stepped(length, _COARSE_YARD)
            if abs(yards.value - length.value) <= _YARD_WITHIN:
                return yards
            return worked_out(length.to(LengthUnit.IN), fine=fine)
        case _:
            assert_never(length.unit)


def length_in(length: Length, unit: LengthUnit | None) -> Length:
    """Return a length as it was given, or as a person says it in another unit."""
    if unit is None or length.unit is unit:
        return length
    return worked_out(length.to(unit), fine=True)


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


def stepped(
    length: Length, step: Fraction, rounds: Callable[[Fraction], int] | None = None
) -> Length:
    """Return a length in whole steps of its unit: the nearest, or `math.floor` or `math.ceil`."""
    if rounds is not None:
        return Length(rounds(length.value / step) * step, length.unit)
    return Length(_nearest(length.value, step), length.unit)


def _nearest(value: Fraction, step: Fraction) -> Fraction:
    """Round to a step, halves upwards; never down to nothing."""
    steps = (value / step + Fraction(1, 2)).__floor__()
    return (steps or (1 if value > 0 else 0)) * step
