"""
Number words against the Unicode rules for English.

The spellings are those of CLDR, common/rbnf/en.xml ("spellout-cardinal", "-cardinal-verbose",
"spellout-ordinal"); what num2words says is checked beside the numbers themselves.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from app import resources
from app.language import phrase_book
from app.wording import reply_wording
from engine.commands import CountStitches, Measure, RowsDone
from engine.quantities import Length, LengthUnit
from speech.words.phrases import read_phrases
from speech.words.understand import understand, understand_heard

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))

CARDINALS = [
    # number, cardinal, verbose cardinal
    (21, "twenty-one", "twenty-one"),
    (40, "forty", "forty"),
    (100, "one hundred", "one hundred"),
    (101, "one hundred one", "one hundred and one"),
    (115, "one hundred fifteen", "one hundred and fifteen"),
    (199, "one hundred ninety-nine", "one hundred and ninety-nine"),
    (1001, "one thousand one", "one thousand and one"),
    (1100, "one thousand one hundred", "one thousand one hundred"),
    (
        1234,
        "one thousand two hundred thirty-four",
        "one thousand two hundred and thirty-four",
    ),
]


@pytest.mark.parametrize(("number", "plain", "verbose"), CARDINALS)
def test_every_spelling_is_understood(number: int, plain: str, verbose: str) -> None:
    """With and without "and": the same number of stitches, typed and heard."""
    for words in {plain, verbose}:
        said = f"i count {words} stitches"
        assert understand(said, BOOK) == (CountStitches(number),)
        assert understand_heard(said.replace("-", " "), BOOK)[0] == CountStitches(number)


@pytest.mark.parametrize(
    ("number", "words"),
    [
        *((number, verbose) for number, _, verbose in CARDINALS),
    ],
)
def test_what_is_spoken_is_the_verbose_cardinal(number: int, words: str) -> None:
    """The voice says numbers as CLDR spells them out, and never as a year."""
    assert reply_wording().speller.whole(number) == words.replace("-", " ")


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (1, "first"),
        (2, "second"),
        (3, "third"),
        (5, "fifth"),
        (8, "eighth"),
        (9, "ninth"),
        (12, "twelfth"),
        (20, "twentieth"),
        (21, "twenty-first"),
        (40, "fortieth"),
        (100, "one hundredth"),
        (101, "one hundred and first"),
    ],
)
def test_ordinals(number: int, words: str) -> None:
    """Ninth and twelfth, fortieth: the ordinals that are spelled unlike their numbers."""
    assert reply_wording().speller.ordinal(number) == words.replace("-", " ")


@pytest.mark.parametrize(
    ("words", "centimetres"),
    [("twelve point five", "12.5"), ("zero point seven five", "0.75")],
)
def test_decimals(words: str, centimetres: str) -> None:
    """Digit by digit behind the point."""
    length = Length(Fraction(centimetres), LengthUnit.CM)
    assert understand(f"measure {words} centimetres", phrase_book()) == (Measure(length),)


@pytest.mark.parametrize("teen", range(13, 20))
def test_teens_and_tens_are_handed_over_together(teen: int) -> None:
    """13 and 30 to 19 and 90 differ by one weak syllable: both readings go to who knows the row."""
    tens = 10 * (teen - 10)
    names = BOOK.numbers
    heard = understand_heard(f"{names.teens[teen - 10]} rows done", BOOK)
    assert heard == (RowsDone(teen), RowsDone(tens))
    heard = understand_heard(f"{names.tens[teen - 12]} rows done", BOOK)
    assert heard == (RowsDone(tens), RowsDone(teen))


def test_eleven_and_twelve_sound_like_no_ten() -> None:
    """They are heard as what they are."""
    assert understand_heard("eleven rows done", BOOK) == (RowsDone(11),)
    assert understand_heard("twelve rows done", BOOK) == (RowsDone(12),)
