"""Lengths and weights: exact, in the knitter's own units, read as they are written."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.quantities import (
    Length,
    LengthUnit,
    Mass,
    MassUnit,
    factor,
    inches,
    number_text,
    parse_length,
    parse_mass,
    parse_number,
    parse_unit,
)

# NIST Special Publication 811, appendix B, and the international yard and pound agreement of 1959.
EXACT = [
    ("in", "cm", Fraction(254, 100)),
    ("yd", "m", Fraction(9144, 10000)),
    ("oz", "g", Fraction(45359237, 1600000)),
    ("m", "mm", Fraction(1000)),
    ("yd", "in", Fraction(36)),
]


@pytest.mark.parametrize(("source", "target", "exact"), EXACT)
def test_factors_are_the_defined_ones(source: str, target: str, exact: Fraction) -> None:
    """Every factor is the one of the definition, as a fraction, and its inverse too."""
    assert factor(source, target) == exact
    assert factor(target, source) == 1 / exact


@pytest.mark.parametrize("unit", list(LengthUnit))
def test_lengths_agree_with_pints_own_registry(unit: LengthUnit) -> None:
    """Our registry of a few units says what pint's full one says."""
    ours = Length(Fraction(7, 2), unit).cm
    theirs = pint.UnitRegistry().Quantity(3.5, unit.value).to("cm").magnitude
    assert ours == pytest.approx(theirs, rel=1e-12)


def test_four_inches_are_not_ten_centimetres() -> None:
    """Treating 4 in as 10 cm is an error of 1.6 %."""
    assert inches(4).to(LengthUnit.CM).value == Fraction(1016, 100)


@given(
    st.fractions(min_value=0, max_value=1000, max_denominator=64),
    st.sampled_from(LengthUnit),
    st.sampled_from(LengthUnit),
)
def test_there_and_back_again_loses_nothing(
    value: Fraction, unit: LengthUnit, other: LengthUnit
) -> None:
    """A round trip through any other unit gives exactly the same length."""
    length = Length(value, unit)
    assert length.to(other).to(unit) == length


@given(
    st.fractions(min_value=-1000, max_value=1000, max_denominator=999),
    st.sampled_from([*LengthUnit, *MassUnit, ""]),
)
def test_a_number_that_is_written_is_read_again(value: Fraction, unit: str) -> None:
    """Whatever the value and unit, the text says exactly the value."""
    assert parse_number(number_text(value, unit)) == value


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("4 3/8 in", Fraction(35, 8), LengthUnit.IN),
        ("4⅜ inches", Fraction(35, 8), LengthUnit.IN),
        ('7"', Fraction(7), LengthUnit.IN),
        ("11 cm", Fraction(11), LengthUnit.CM),
        ("11.5cm", Fraction(23, 2), LengthUnit.CM),
        ("3,5 centimetres", Fraction(7, 2), LengthUnit.CM),
        ("0,125 in", Fraction(1, 8), LengthUnit.IN),
        ("5/16 in", Fraction(5, 16), LengthUnit.IN),
        ("½ yd", Fraction(1, 2), LengthUnit.YD),
        ("12 millimeters", Fraction(12), LengthUnit.MM),
    ],
)
def test_lengths_are_read_as_people_write_them(
    text: str, value: Fraction, unit: LengthUnit
) -> None:
    """Fractions, decimal commas, quotes and both spellings are read exactly."""
    assert parse_length(text) == Length(value, unit)


@pytest.mark.parametrize(
    "text", ["", "cm", "four cm", "4 cm 3", "1/0 in", "4 parsec", "-", "1e3 cm", "1,200 mm"]
)
def test_what_is_no_length_is_none(text: str) -> None:
    """Nothing is guessed: what is not one length is None."""
    assert parse_length(text) is None


def test_a_weight_is_no_length() -> None:
    """Grams are not read as a length, nor centimetres as a weight."""
    assert parse_length("40 g") is None
    assert parse_mass("40 cm") is None
    assert parse_mass("1 3/4 oz") == Mass(Fraction(7, 4), MassUnit.OZ)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text makes the readers fail."""
    parse_number(text)
    parse_length(text)
    parse_mass(text)
    parse_unit(text)
