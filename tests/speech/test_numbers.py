"""Spoken numbers, checked in both directions against num2words."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from app import resources
from speech.words.numbers import (
    LARGEST,
    amounts,
    misheard,
    say_quantity,
    say_whole,
    whole_numbers,
)
from speech.words.phrases import read_phrases

WORDS = read_phrases(resources.text("shared/phrases/en.toml")).numbers


def spoken_by_others(number: int) -> str:
    """Say a number as the library num2words does, in our spelling."""
    return str(num2words(number)).replace("-", " ").replace(",", "")


def test_every_number_is_said_as_others_say_it(subtests: pytest.Subtests) -> None:
    """All thousand numbers are said exactly as num2words says them, and are read back."""
    for number in range(1000):
        with subtests.test(number=number):
            said = spoken_by_others(number)
            assert say_whole(number, WORDS) == said
            assert next(whole_numbers(said.split(), 0, WORDS)) == (number, len(said.split()))


@pytest.mark.parametrize("thousand", range(1, 10))
def test_a_thousand_and_more_is_said_as_others_say_it(thousand: int) -> None:
    """A shawl's last rows have more than a thousand stitches: num2words agrees on every number."""
    for number in range(1000 * thousand, 1000 * thousand + 1000):
        said = spoken_by_others(number)
        assert say_whole(number, WORDS) == said, number
        assert next(whole_numbers(said.split(), 0, WORDS)) == (number, len(said.split()))


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("a thousand", 1000),
        ("a thousand and four", 1004),
        ("a thousand four", 1004),
        ("one thousand two hundred thirty four", 1234),
        ("1200", 1200),
        ("1,200", 1200),
        ("nought", 0),
        ("naught", 0),
    ],
)
def test_other_ways_of_saying_a_number(said: str, number: int) -> None:
    """A thousand is one thousand, "and" may be left out, and nought is zero."""
    tokens = said.split()
    assert next(whole_numbers(tokens, 0, WORDS)) == (number, len(tokens))


@given(st.integers(0, LARGEST))
def test_and_may_be_left_out(number: int) -> None:
    """A number without its "and" is the same number."""
    said = say_whole(number, WORDS, with_and=False)
    assert " and " not in said
    assert next(whole_numbers(said.split(), 0, WORDS)) == (number, len(said.split()))


@given(st.integers(0, 99), st.integers(0, 99))
def test_decimals_are_said_digit_by_digit_as_others_do(whole: int, hundredths: int) -> None:
    """One or two digits after the point are said and read as num2words says them."""
    value = Fraction(whole) + Fraction(hundredths, 100)
    said = str(num2words(float(value))).replace("-", " ").split()
    if hundredths % 10 == 0 and hundredths:
        assert len(said) - said.index("point") == 2
    assert next(amounts(said, 0, WORDS)) == (value, len(said))


@given(st.integers(0, 199), st.sampled_from([3, 8, 16]), st.integers(0, 15))
def test_parts_come_back_as_they_were_said(whole: int, parts: int, top: int) -> None:
    """Every length in thirds, eighths or sixteenths of an inch is said and read back exactly."""
    value = Fraction(whole) + Fraction(top % parts, parts)
    said = say_quantity(value, "inch", "inches", WORDS).split()
    found = {taken: number for number, taken in amounts(said, 0, WORDS)}
    assert found[len(said) - 1] == value


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("half an inch", "1/2"),
        ("a half inch", "1/2"),
        ("three quarters of an inch", "3/4"),
        ("a quarter of an inch", "1/4"),
        ("an eighth of an inch", "1/8"),
        ("four and three eighths inches", "35/8"),
        ("one hundred and one and a half inches", "203/2"),
        ("point five inches", "1/2"),
        ("zero point two five inches", "1/4"),
        ("a hundred and four inches", "104"),
        ("4 3/8 in", "35/8"),
        ("4.5 in", "9/2"),
        ("½ in", "1/2"),
        ("nought point five inches", "1/2"),
        ("two point nought five inches", "41/20"),
        ("two thirds of an inch", "2/3"),
        ("one and a third inches", "4/3"),
        ("a sixteenth of an inch", "1/16"),
        ("three sixteenths of an inch", "3/16"),
        ("four and eleven sixteenths inches", "75/16"),
        ("fifteen sixteenths of an inch", "15/16"),
        ("half inch", "1/2"),
    ],
)
def test_the_ways_a_length_is_said(said: str, value: str) -> None:
    """The usual ways to say a length are read exactly, in words and in figures."""
    tokens = said.split()
    found = {taken: number for number, taken in amounts(tokens, 0, WORDS)}
    assert found[len(tokens) - 1] == Fraction(value)


@pytest.mark.parametrize(
    "said",
    [
        "thirty forty", "eight eighths", "four quarters", "one one", "hundred", "and four",
        "three thirds", "sixteen sixteenths", "nineteen sixteenths", "thousand", "twenty thousand",
        "a thousand and two hundred", "one hundred thousand", "nought thousand",
        "nineteen ninety", "one thousand thousand",
    ],
)  # fmt: skip
def test_what_is_no_number_is_not_read_as_one(said: str) -> None:
    """Number words that do not make one number are not taken for one."""
    tokens = said.split()
    assert len(tokens) not in {taken for _, taken in amounts(tokens, 0, WORDS)}


@pytest.mark.parametrize(
    ("heard", "other"),
    [
        ("thirteen rows done", "thirty rows done"),
        ("fifty stitches", "fifteen stitches"),
        ("one hundred and seventeen", "one hundred and seventy"),
    ],
)
def test_teens_and_tens_stand_for_each_other(heard: str, other: str) -> None:
    """A teen may have been its tens and the other way round."""
    assert misheard(heard.split(), WORDS) == (tuple(other.split()),)


@pytest.mark.parametrize("heard", ["thirty one rows", "ten rows", "twelve rows", "twenty rows"])
def test_other_numbers_stand_for_themselves(heard: str) -> None:
    """Thirty-one has no teen beside it, and ten, eleven, twelve and twenty no double."""
    assert misheard(heard.split(), WORDS) == ()


def test_numbers_that_cannot_be_said_are_refused() -> None:
    """A number beyond 9999 and a seventh of an inch raise an error with a sentence."""
    with pytest.raises(ValueError, match="numbers go from 0 to 9999"):
        say_whole(LARGEST + 1, WORDS)
    with pytest.raises(ValueError, match="cannot be said"):
        say_quantity(Fraction(1, 7), "inch", "inches", WORDS)


def test_figures_beyond_what_can_be_said_are_no_number() -> None:
    """9999 typed in figures is a number, 10000 is not; nor is what only looks like a number."""
    assert list(whole_numbers(["9999"], 0, WORDS)) == [(9999, 1)]
    assert list(whole_numbers(["10000"], 0, WORDS)) == []
    assert list(whole_numbers(["1,20"], 0, WORDS)) == []
    assert list(whole_numbers(["\N{SUPERSCRIPT TWO}"], 0, WORDS)) == []
