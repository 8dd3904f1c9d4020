"""The many ways in which a knitter types the same thing, and the hint where none fits."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app import resources
from engine import commands
from engine.commands import Feel
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.talk import Help, No, SayAgain, Yes
from speech.words.nearest import near
from speech.words.phrases import Way, read_phrases
from speech.words.understand import example, read_quantity, understand, understand_heard

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
TWELVE_CM = Length(Fraction(12), LengthUnit.CM)
FORTY_FOUR_G = Mass(Fraction(44), MassUnit.G)


INCH_AND_HALF = Length(Fraction(3, 2), LengthUnit.IN)


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("measure an inch and a half", commands.Measure(INCH_AND_HALF)),
        ("it's an inch and a half long", commands.Measure(INCH_AND_HALF)),
        ("measure two inches and a half", commands.Measure(Length(Fraction(5, 2), LengthUnit.IN))),
        ("measure an inch and three quarters wide",
         commands.MeasureWidth(Length(Fraction(7, 4), LengthUnit.IN))),
        ("measure a centimetre and a half",
         commands.Measure(Length(Fraction(3, 2), LengthUnit.CM))),
        ("an inch", commands.Measure(Length(Fraction(1), LengthUnit.IN))),
        ("yarn weighs an ounce and a half", commands.WeighYarn(Mass(Fraction(3, 2), MassUnit.OZ))),
        ("measure nought point five centimetres",
         commands.Measure(Length(Fraction(1, 2), LengthUnit.CM))),
        ("measure two thirds of an inch", commands.Measure(Length(Fraction(2, 3), LengthUnit.IN))),
        ("measure five and eleven sixteenths inches",
         commands.Measure(Length(Fraction(91, 16), LengthUnit.IN))),
        ("i count one thousand and twelve stitches", commands.CountStitches(1012)),
        ("i count a thousand stitches", commands.CountStitches(1000)),
        ("1,200 stitches", commands.CountStitches(1200)),
    ],
)  # fmt: skip
def test_quantities_as_people_say_them(words: str, means: commands.Command) -> None:
    """An inch and a half, nought point five, thirds, sixteenths and thousands are one command."""
    assert understand(words, BOOK) == (means,)


@pytest.mark.parametrize(
    "words",
    [
        "measure a half and a half inches", "measure an inch and two",
        "measure half an inch and a half", "measure an inch and a", "i count ten thousand stitches",
        "an and a half",
    ],
)  # fmt: skip
def test_quantities_that_nobody_says_are_refused(words: str) -> None:
    """What only looks like a quantity is none: nothing is guessed."""
    assert understand(words, BOOK) == ()


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("I've done three rows", commands.RowsDone(3)),
        ("done 3 rows", commands.RowsDone(3)),
        ("three more rows", commands.RowsDone(3)),
        ("one more round", commands.RowsDone(1)),
        ("another row", commands.RowsDone(1)),
        ("row sixty done", commands.RowsDone(row=60)),
        ("row 60 is done", commands.RowsDone(row=60)),
        ("I've finished row twelve", commands.RowsDone(row=12)),
        ("I have done round 12", commands.RowsDone(row=12)),
        ("row number", commands.WhichRow()),
        ("did you count that?", commands.WhichRow()),
        ("what do I do in this row", commands.WhatNext()),
        ("cast on done", commands.WhatNext()),
        ("I'm back", commands.Lost()),
        ("never mind", No()),
        ("finished the row", commands.RowsDone(1)),
        ("two more ridges", commands.RidgesDone(2)),
        ("oops", commands.Undo()),
        ("Oops, undo that!", commands.Undo()),
        ("undo that", commands.Undo()),
        ("no, take that back", commands.Undo()),
        ("put it back", commands.Redo()),
        ("I'm on row 12", commands.Recount(12)),
        ("rip back to row 12", commands.Recount(12)),
        ("frogged five rows", commands.RipBack(5)),
        ("ripped out 5 rows", commands.RipBack(5)),
        ("unpick this row", commands.Unpick()),
        ("stopped after 23", commands.StopInRow(23)),
        ("put in a lifeline", commands.PlaceLifeline()),
        ("place a marker", commands.PlaceMarker()),
        ("joined a new ball", commands.JoinBall()),
        ("bound off", commands.FinishPiece()),
        ("it's 12 cm long", commands.Measure(TWELVE_CM)),
        ("it measures 12 cm", commands.Measure(TWELVE_CM)),
        ("it's 12 cm wide", commands.MeasureWidth(TWELVE_CM)),
        ("I have 50 stitches", commands.CountStitches(50)),
        ("counted 50", commands.CountStitches(50)),
        ("the yarn weighs 44 grams", commands.WeighYarn(FORTY_FOUR_G)),
        ("44 g of yarn left", commands.WeighYarn(FORTY_FOUR_G)),
        ("too tight", commands.HandFelt(Feel.TIGHT)),
        ("I've dropped a stitch", commands.DroppedStitch()),
        ("I made a mistake", commands.Mistake()),
        ("there's a mistake in row 31", commands.Mistake(31)),
        ("where am I?", commands.WhichRow()),
        ("what row am I on", commands.WhichRow()),
        ("what's next", commands.WhatNext()),
        ("what do I do now", commands.WhatNext()),
        ("how many more rows", commands.HowFar()),
        ("how many stitches should I have", commands.HowManyStitches()),
        ("do I have enough yarn", commands.YarnLasts()),
        ("when is the next shaping", commands.NextChange()),
        ("ok", Yes()),
        ("nope", No()),
        ("repeat that", SayAgain()),
        ("help me", Help()),
        ("will the yarn last?", commands.YarnLasts()),
        ("how far left??", commands.HowFar()),
        ("?", Help()),
    ],
)
def test_the_ways_of_typing_it_mean_one_thing(words: str, means: object) -> None:
    """Each everyday way of typing a command is that command and nothing else."""
    assert understand(words, BOOK) == (means,)


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("i've done three rows", commands.RowsDone(3)),
        ("i've dropped a stitch", commands.DroppedStitch()),
    ],
)
def test_some_of_them_can_be_said_aloud(words: str, means: object) -> None:
    """The longer ones are spoken forms too."""
    assert understand_heard(words, BOOK)[0] == means


@pytest.mark.parametrize("words", ["oops", "undo that", "another row", "ok", "3 rows", "too tight"])
def test_short_ones_are_for_the_keyboard_only(words: str) -> None:
    """What is said in any talk is not listened for."""
    assert understand_heard(words, BOOK) == ()


def test_each_form_means_its_own_command_only(subtests: pytest.Subtests) -> None:
    """No way of saying one thing is also a way of saying another."""
    for form in BOOK.all_forms:
        with subtests.test(way=form.way, form=form.text):
            said = {one.name for one in understand(example(form, BOOK), BOOK)}
            assert said == {form.kind.name}


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        ("rwo done", "row done"),
        ("mesure 12 cm", "measure eleven centimetres"),
        ("count stiches 50", "count fifty stitches"),
        ("weight 40 grams", "weighed forty one grams"),
    ],
)
def test_a_slip_of_the_keys_is_answered_with_what_was_nearly_said(words: str, hint: str) -> None:
    """A misspelt command gets an example of the right one, and what it hints at is understood."""
    assert near(words, BOOK) == hint
    assert len(understand(hint, BOOK)) == 1


@pytest.mark.parametrize("words", ["", "3", "++", "the dog ate it", "wash", "louder"])
def test_no_hint_is_better_than_a_misleading_one(words: str) -> None:
    """Words that are like nothing get no hint."""
    assert near(words, BOOK) is None


def test_what_is_typed_only_is_listed_as_it_is_written() -> None:
    """The list of words shows the choices together, not each way for itself."""
    assert "undo" in BOOK.typed["undo"]
    typed = [form for form in BOOK.all_forms if form.way is Way.TYPED]
    assert sum(map(len, BOOK.typed.values())) < len(typed)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("an inch and a half", INCH_AND_HALF),
        ("two and three quarter inches", Length(Fraction(11, 4), LengthUnit.IN)),
        ("twenty four centimetres", Length(Fraction(24), LengthUnit.CM)),
        ("1½ in", INCH_AND_HALF),
        ("two and a half ounces", Mass(Fraction(5, 2), MassUnit.OZ)),
        ("two and a half", None),
        ("an inch and a half and a half", None),
    ],
)
def test_a_quantity_alone_is_read_too(words: str, said: Length | Mass | None) -> None:
    """A length or weight typed into a field is read as it would be in a sentence."""
    assert read_quantity(words, BOOK) == said
