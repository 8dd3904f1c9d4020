"""Lengths, weights and gauges in the other system: rounded as print does, without drift."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.plan.rounding import (
    companion,
    companion_mass,
    gauge_to_four_inches,
    gauge_to_ten_centimetres,
    printed_number,
    worked_out,
)
from engine.quantities import (
    Length,
    LengthUnit,
    Mass,
    MassUnit,
    centimetres,
    inches,
    parse_length,
    parse_number,
)


# Both figures as they are printed for these sleeves; 1 in is 2.54 cm (agreement of 1959).
@pytest.mark.parametrize(
    ("cm", "inch"),
    [
        ("24", "9 1/2"),
        ("26", "10 1/4"),
        ("32", "12 1/2"),
        ("8", "3 1/8"),
        ("18", "7"),
        ("14", "5 1/2"),
    ],
)
def test_centimetres_become_the_inches_that_are_printed(cm: str, inch: str) -> None:
    """To a quarter inch, below 10 cm to an eighth."""
    value, other = parse_number(cm), parse_number(inch)
    assert value is not None
    assert other is not None
    assert companion(centimetres(value)) == inches(other)


@pytest.mark.parametrize(
    ("inch", "cm"),
    [("4", "10"), ("10", "25.5"), ("1", "2.5"), ("1/2", "1.3"), ("1/4", "0.6"), ("3", "7.5")],
)
def test_inches_become_the_centimetres_that_are_printed(inch: str, cm: str) -> None:
    """To half a centimetre, below 5 cm to a millimetre."""
    value, other = parse_number(inch), parse_number(cm)
    assert value is not None
    assert other is not None
    assert companion(inches(value)) == centimetres(other)


LENGTHS = st.builds(
    Length,
    st.fractions(Fraction(1, 2), 500, max_denominator=64),
    st.sampled_from([LengthUnit.CM, LengthUnit.IN]),
)


@given(LENGTHS)
def test_copying_back_and_forth_does_not_drift(length: Length) -> None:
    """After one round trip the figure has settled: a hundred more do not move it."""
    there = companion(length)
    settled = companion(there)
    now = settled
    for _ in range(100):
        now = companion(companion(now))
    settled_again = companion(companion(settled))
    assert now in {settled, settled_again}
    assert now == settled_again


@given(LENGTHS)
def test_a_companion_is_within_half_a_step_of_the_truth(length: Length) -> None:
    """Nothing is farther off than rounding explains: 1/8 in (0.32 cm) or 0.25 cm."""
    other = companion(length)
    off = abs(other.to(LengthUnit.CM).value - length.to(LengthUnit.CM).value)
    assert off <= (Fraction("0.3175") if other.unit is LengthUnit.IN else Fraction("0.25"))


@given(LENGTHS)
def test_what_is_given_stays_as_it_is(length: Length) -> None:
    """An exact conversion and back is the same value; only the printed companion is rounded."""
    other = LengthUnit.IN if length.unit is LengthUnit.CM else LengthUnit.CM
    assert length.to(other).to(length.unit) == length


@given(LENGTHS)
def test_what_is_worked_out_is_rounded_once(length: Length) -> None:
    """Rounding a rounded figure changes nothing."""
    assert worked_out(worked_out(length)) == worked_out(length)


@pytest.mark.parametrize(
    ("length", "said", "fine"),
    [
        ("24.26 cm", "24.5 cm", "24.3 cm"),
        ("9.45 in", "9 1/2 in", "9 1/2 in"),
        ("4.15 in", "4 1/4 in", "4 1/8 in"),
        ("1.234 m", "1.23 m", "1.23 m"),
        ("495 5/11 mm", "495 mm", "495 mm"),
        ("8375/8382 yd", "1 yd", "1 yd"),
        ("1 3/8 yd", "1 3/8 yd", "1 3/8 yd"),
        ("1.3 yd", "46 3/4 in", "46 3/4 in"),
    ],
)
def test_a_length_is_said_as_a_person_says_it(length: str, said: str, fine: str) -> None:
    """Half centimetres and quarter inches, finer for small things; never elevenths of anything."""
    exact = parse_length(length)
    assert exact is not None
    assert str(worked_out(exact)) == said
    assert str(worked_out(exact, fine=True)) == fine


@given(st.fractions(min_value=Fraction(1, 100), max_value=500), st.sampled_from(LengthUnit))
def test_every_unit_is_rounded_once(value: Fraction, unit: LengthUnit) -> None:
    """Whatever the unit and however fine: what was rounded stays, and has no odd parts."""
    for fine in (False, True):
        said = worked_out(Length(value, unit), fine=fine)
        assert worked_out(said, fine=fine) == said
        assert said.value.denominator in {1, 2, 4, 5, 8, 10, 20, 25, 50, 100}


def test_metres_and_yards_are_whole() -> None:
    """200 m are 219 yd, 125 yd are 114 m (1 yd is 0.9144 m)."""
    assert companion(Length(Fraction(200), LengthUnit.M)) == Length(Fraction(219), LengthUnit.YD)
    assert companion(Length(Fraction(125), LengthUnit.YD)) == Length(Fraction(114), LengthUnit.M)


# The usual balls: 50 g is sold as 1 3/4 oz, 100 g as 3 1/2 oz (exactly 1.7637 and 3.5274).
@pytest.mark.parametrize(
    ("grams", "ounces"), [(50, "1 3/4"), (100, "3 1/2"), (12, "1/2"), (28, "1")]
)
def test_grams_become_the_ounces_of_a_ball_band(grams: int, ounces: str) -> None:
    """To a quarter ounce; below one ounce upwards, so that the yarn lasts."""
    value = parse_number(ounces)
    assert value is not None
    assert companion_mass(Mass(Fraction(grams), MassUnit.G)) == Mass(value, MassUnit.OZ)
    assert companion_mass(Mass(Fraction("3.5"), MassUnit.OZ)) == Mass(Fraction(99), MassUnit.G)


# Stitches to 4 in and to 10 cm, by the factor 10.16 / 10 (exact to three places).
@pytest.mark.parametrize(
    ("four_inches", "ten_cm"),
    [("18", "17.717"), ("20", "19.685"), ("22", "21.654"), ("24", "23.622"), ("28", "27.559")],
)
def test_gauges_know_that_4_inches_are_more_than_10_cm(four_inches: str, ten_cm: str) -> None:
    """To a quarter of a stitch of the exact value."""
    exact = Fraction(four_inches) / Fraction("1.016")
    assert float(exact) == pytest.approx(float(ten_cm), abs=5e-4)
    rounded = gauge_to_ten_centimetres(exact)
    assert abs(rounded - exact) <= Fraction(1, 8)
    assert rounded.denominator in {1, 2, 4}
    assert gauge_to_four_inches(exact) == Fraction(four_inches)


@given(st.fractions(0, 1000, max_denominator=8), st.sampled_from(["in", "cm", "oz", "g", ""]))
def test_a_printed_number_reads_as_itself(value: Fraction, unit: str) -> None:
    """Whatever sign it is printed with, the reader of numbers finds the same value."""
    assert parse_number(printed_number(value, unit)) == value
