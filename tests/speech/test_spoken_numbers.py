"""Numbers, lengths and weights are said as a knitter says them; num2words agrees on the numbers."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from app import resources
from engine.quantities import Length, LengthUnit, Mass, MassUnit, parse_length, parse_mass
from speech.words.numbers import amounts
from speech.words.phrases import read_phrases
from speech.words.wording import read_wording

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
SPELL = read_wording(resources.text("shared/phrases/replies.en.toml"), BOOK.numbers).speller


def reference(number: float | str, to: str = "cardinal") -> str:
    """Return what num2words says, without its hyphens and commas."""
    words: str = num2words(number, to=to)
    return words.replace("-", " ").replace(",", "")


@given(st.integers(-(10**12) + 1, 10**12 - 1))
def test_whole_numbers_agree_with_num2words(number: int) -> None:
    """Any whole number below a million million is said as num2words says it."""
    assert SPELL.whole(number) == reference(number)


@given(st.integers(0, 10**12 - 1))
def test_ordinals_agree_with_num2words(number: int) -> None:
    """So are "third", "twelfth" and "twenty first"."""
    assert SPELL.ordinal(number) == reference(number, "ordinal")


def test_every_number_that_a_row_can_have_agrees() -> None:
    """The numbers that are said a hundred times an evening are checked one by one."""
    for number in range(1001):
        assert SPELL.whole(number) == reference(number)
        assert SPELL.ordinal(number) == reference(number, "ordinal")


@given(st.integers(0, 999), st.integers(1, 999))
def test_decimals_agree_with_num2words(whole: int, thousandths: int) -> None:
    """Tenths of a centimetre are said digit by digit; a half is said as such."""
    value = Fraction(whole * 1000 + thousandths, 1000)
    said = SPELL.amount(value, in_parts=False)
    if value % 1 == Fraction(1, 2):
        assert said == (f"{reference(whole)} and a half" if whole else "a half")
    else:
        text = f"{whole}.{thousandths:03}".rstrip("0")
        assert said == reference(text)


@pytest.mark.parametrize(
    ("length", "said"),
    [
        ("4 3/8 in", "four and three eighths inches"),
        ("1 in", "one inch"),
        ("0 in", "zero inches"),
        ("1/2 in", "half an inch"),
        ("1 1/2 in", "one and a half inches"),
        ("1/4 in", "a quarter of an inch"),
        ("3/8 in", "three eighths of an inch"),
        ("9 3/4 in", "nine and three quarters inches"),
        ("7.5 in", "seven and a half inches"),
        ("1/3 in", "a third of an inch"),
        ("5/16 in", "five sixteenths of an inch"),
        ("11 cm", "eleven centimetres"),
        ("1 cm", "one centimetre"),
        ("11.5 cm", "eleven and a half centimetres"),
        ("0.5 cm", "half a centimetre"),
        ("11.3 cm", "eleven point three centimetres"),
        ("22.25 cm", "twenty two point two five centimetres"),
        ("0.3 cm", "zero point three centimetres"),
        ("119 mm", "one hundred and nineteen millimetres"),
        ("200 m", "two hundred metres"),
        ("1/2 yd", "half a yard"),
    ],
)
def test_lengths(length: str, said: str) -> None:
    """A length is said with its unit, in the parts that the trade uses for it."""
    found = parse_length(length)
    assert found is not None
    assert SPELL.quantity(found) == said


@pytest.mark.parametrize(
    ("mass", "said", "bare"),
    [
        ("41 g", "forty one grams", "forty one"),
        ("1 g", "one gram", "one"),
        ("0.5 g", "half a gram", "a half"),
        ("1 3/4 oz", "one and three quarters ounces", "one and three quarters"),
        ("1/2 oz", "half an ounce", "a half"),
    ],
)
def test_weights(mass: str, said: str, bare: str) -> None:
    """A weight is said with its unit, or without it where both know it."""
    found = parse_mass(mass)
    assert found is not None
    assert SPELL.quantity(found) == said
    assert SPELL.bare(found) == bare


@given(
    st.integers(0, 999).flatmap(
        lambda whole: st.sampled_from([0, 1, 2, 3, 4, 5, 6, 7]).map(
            lambda eighths: Fraction(whole * 8 + eighths, 8)
        )
    )
)
def test_what_is_said_is_what_is_understood(value: Fraction) -> None:
    """A length read back to the knitter, said by her to us, is the same length again."""
    tokens = SPELL.bare(Length(value, LengthUnit.IN)).split()
    understood = {number for number, end in amounts(tokens, 0, BOOK.numbers) if end == len(tokens)}
    assert value in understood


@given(
    st.one_of(
        st.builds(Length, st.fractions(), st.sampled_from(LengthUnit)),
        st.builds(Mass, st.fractions(), st.sampled_from(MassUnit)),
    )
)
def test_every_quantity_can_be_said(quantity: Length | Mass) -> None:
    """Whatever the fraction, there are words for it, and only words."""
    said = SPELL.quantity(quantity)
    assert said.replace(" ", "").isalpha()
    assert said == " ".join(said.split())


@given(st.integers(10**12))
def test_beyond_all_scales_digits_are_said(number: int) -> None:
    """A number beyond the words is said digit by digit, never refused."""
    assert len(SPELL.whole(number).split()) == len(str(number))
