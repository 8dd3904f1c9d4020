"""Units are exact: inch, yard and ounce as they are defined, and what a package prints of them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.quantities import Length, LengthUnit, Mass, MassUnit, factor


@pytest.mark.parametrize(
    ("source", "target", "exactly"),
    [
        # The international yard and pound: Federal Register notice of 1 July 1959, as used in
        # NIST SP 811, appendix B, and NIST Handbook 44, appendix C.
        ("in", "cm", "2.54"),
        ("in", "mm", "25.4"),
        ("yd", "m", "0.9144"),
        ("yd", "in", "36"),
        ("yd", "cm", "91.44"),
        ("oz", "g", "28.349523125"),  # a sixteenth of the pound of 453.59237 g
    ],
)
def test_one_unit_in_another(source: str, target: str, exactly: str) -> None:
    """Definitions, not roundings: no digit is lost."""
    assert factor(source, target) == Fraction(exactly)
    assert factor(target, source) == 1 / Fraction(exactly)


def test_a_pound_is_sixteen_ounces() -> None:
    """453.59237 g, the avoirdupois pound of the same notice."""
    assert 16 * factor("oz", "g") == Fraction("453.59237")


@pytest.mark.parametrize(
    ("ounces", "grams"),
    # Computed from the definitions: the ball "of 50 g" is not exactly 1 3/4 oz.
    [("1.75", "49.61166546875"), ("3.5", "99.2233309375")],
)
def test_a_ball_in_ounces_is_not_quite_one_in_grams(ounces: str, grams: str) -> None:
    """50 g and 100 g balls, with the ounces that their bands print."""
    assert Mass(Fraction(ounces), MassUnit.OZ).to(MassUnit.G).value == Fraction(grams)


def test_four_inches_are_longer_than_ten_centimetres() -> None:
    """10.16 cm: the difference that makes a gauge 1.6 % wrong."""
    four = Length(Fraction(4), LengthUnit.IN).to(LengthUnit.CM)
    assert four.value == Fraction("10.16")
    assert Length(Fraction(10), LengthUnit.CM).to(LengthUnit.IN).value == Fraction(500, 127)
