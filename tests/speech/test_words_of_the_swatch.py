"""Swatch, needle, balls, hand, hours, partner and rest: how they are said and typed."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from app.language import phrase_book
from app.wording import reply_wording
from engine import commands
from engine.fabric import Fabric
from engine.quantities import Length, LengthUnit, centimetres, grams, inches
from engine.talk import RemindLater, Talk
from speech.words.phrases import Way
from speech.words.understand import readings, understand, understand_heard

BOOK = phrase_book()
TEN = centimetres(10)


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (
            "swatch 20 stitches 28 rows over 10 cm washed",
            commands.CountSwatch(20, 28, TEN, Fabric.WASHED),
        ),
        ("swatch 20 sts 28 rows", commands.CountSwatch(20, 28)),
        ("swatch 18 sts 24 rows over 4 in", commands.CountSwatch(18, 24, inches(4))),
        ("swatch 20 sts 28 rows needle 4.5", commands.CountSwatch(20, 28, text="4.5")),
        (
            "swatch 41 rows over 15 cm rested",
            commands.CountSwatch(None, 41, centimetres(15), Fabric.RESTED),
        ),
        ("swatch 30 sts 40 rows weighs 7 g", commands.WeighSwatch(grams(7), 30, 40)),
        ("changed to needle 4.5", commands.ChangeNeedle(text="4.5")),
        ("needle US 7", commands.ChangeNeedle(text="US 7")),
        ("needle 5 mm", commands.ChangeNeedle(Length(Fraction(5), LengthUnit.MM))),
        ("joining another ball lot 4711", commands.JoinBall(text="4711")),
        ("join ball after 23 lot B 4107/2", commands.JoinBall(23, "B 4107/2")),
        ("how is my tension", commands.HowIsHand()),
        ("is my hand steady", commands.HowIsHand()),
        ("how long will it take", commands.HowLong()),
        ("same as the first", commands.SameAsPartner()),
        ("remind me later", RemindLater()),
    ],
)
def test_typed_words_mean_one_thing(words: str, meant: commands.Command | Talk) -> None:
    """Each typed line is exactly one command, with everything that was said."""
    assert understand(words, BOOK) == (meant,)


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("swatch has twenty eight rows", commands.CountSwatch(rows=28)),
        ("swatch has twenty stitches rested", commands.CountSwatch(20, fabric=Fabric.RESTED)),
        (
            "swatch of thirty stitches and forty rows weighs seven grams",
            commands.WeighSwatch(grams(7), 30, 40),
        ),
        ("joining another ball after twenty three stitches", commands.JoinBall(23)),
        (
            "changing to four and a half millimetre needles",
            commands.ChangeNeedle(Length(Fraction(9, 2), LengthUnit.MM)),
        ),
        ("how is my hand now", commands.HowIsHand()),
        ("hours of knitting left", commands.HowLong()),
        ("same as the first", commands.SameAsPartner()),
        ("remind me later", RemindLater()),
    ],
)
def test_spoken_words_come_first_among_what_was_heard(
    words: str, meant: commands.Command | Talk
) -> None:
    """What was said is the first candidate; other numbers that sound alike come after it."""
    assert understand_heard(words, BOOK)[0] == meant


def test_a_swatch_of_thirteen_may_be_one_of_thirty() -> None:
    """Both numbers are handed over, so that the piece can decide or ask."""
    heard = understand_heard("swatch has thirteen stitches", BOOK)
    assert set(heard) == {commands.CountSwatch(13), commands.CountSwatch(30)}


def test_a_swatch_of_no_stitches_is_no_command() -> None:
    """Nothing cannot be counted."""
    assert understand("swatch 0 sts 28 rows", BOOK) == ()


def test_what_the_board_tells_her_to_say_is_understood() -> None:
    """Words in quotation marks in an answer are words that work, spoken or as an answer."""
    said = [
        words
        for template in reply_wording().board.values()
        for words in re.findall(r'"([^"]+)"', template.words)
        if words.strip()  # a name or an example is filled in there
    ]
    assert len(said) >= 3
    for words in said:
        assert list(readings(words, BOOK, {Way.SPOKEN, Way.ANSWER})), words
