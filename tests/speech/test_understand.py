"""From words to commands: what knitters say, what they type, and what is not for us."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import resources
from engine.commands import (
    COMMANDS,
    CountStitches,
    Feel,
    HandFelt,
    Measure,
    MeasureHow,
    MeasureWidth,
    Mistake,
    NoteRow,
    Recount,
    RipBack,
    RowsDone,
    Since,
    StopInRow,
    WeighYarn,
)
from engine.fabric import Fabric
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.talk import TALK, Dictate, value_of
from speech.words.nearest import near
from speech.words.phrases import Way, read_phrases
from speech.words.understand import example, readings, understand, understand_heard

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))


def cm(value: str) -> Length:
    """Return a length in centimetres."""
    return Length(Fraction(value), LengthUnit.CM)


def inches(value: str) -> Length:
    """Return a length in inches."""
    return Length(Fraction(value), LengthUnit.IN)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("row done", "rows_done"),
        ("round done", "rows_done"),
        ("three rows done", "rows_done"),
        ("two ridges done", "ridges_done"),
        ("which row now", "which_row"),
        ("what comes next", "what_next"),
        ("next bit", "next_bit"),
        ("say it again", "say_again"),
        ("where in the repeat", "where_in_repeat"),
        ("when's the next decrease", "next_change"),
        ("how far left", "how_far"),
        ("will the yarn last", "yarn_lasts"),
        ("measure eleven centimetres", "measure"),
        ("i count fifty stitches", "count_stitches"),
        ("that felt tight", "hand_felt"),
        ("note this row", "note_row"),
        ("joining another ball", "join_ball"),
        ("lifeline in here", "place_lifeline"),
        ("take that back", "undo"),
        ("i'm really on row thirty eight", "recount"),
        ("ripped back five rows", "rip_back"),
        ("back to the lifeline", "back_to_lifeline"),
        ("unpicking this row", "unpick"),
        ("same as the first", "same_as_partner"),
        ("dropped a stitch", "dropped_stitch"),
        ("mistake in row thirty one", "mistake"),
        ("stopping in this row", "stop_in_row"),
        ("switch to the second sleeve", "work_on"),
        ("tones only", "tones_only"),
        ("stop listening", "stop_listening"),
    ],
)
def test_what_knitters_say_is_understood(words: str, name: str) -> None:
    """Every everyday sentence of one piece is its command, heard and typed alike."""
    assert [said.name for said in understand(words, BOOK)] == [name]
    assert understand_heard(words, BOOK)[0].name == name


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("Row done.", RowsDone(1)),
        ("three rounds done", RowsDone(3)),
        ("13 rows done", RowsDone(13)),
        ("one hundred and forty four rows done", RowsDone(144)),
        ("measure 4 3/8 in", Measure(inches("35/8"))),
        ("Measure 4⅜ inches", Measure(inches("35/8"))),
        ('7"', Measure(inches("7"))),
        ("11,5 cm", Measure(cm("23/2"))),
        ("11cm from the marker", Measure(cm("11"), Since.MARKER)),
        ("measure half an inch", Measure(inches("1/2"))),
        ("measure eleven centimeters washed", Measure(cm("11"), fabric=Fabric.WASHED)),
        ("measure nine and a half inches wide", MeasureWidth(inches("19/2"))),
        ("measuring on the needle", MeasureHow(fabric=Fabric.ON_NEEDLE)),
        ("I\u2019m really on row thirty-eight", Recount(38)),
        ("ripped back one row", RipBack(1)),
        ("stopping after twenty three stitches", StopInRow(23)),
        ("i count zero stitches", CountStitches(0)),
        ("yarn weighs forty one grams", WeighYarn(Mass(Fraction(41), MassUnit.G))),
        ("that felt loose", HandFelt(Feel.LOOSE)),
        ("note row 31: Cable crossed wrong.", NoteRow(31, "Cable crossed wrong.")),
        ("note: Left needle is 4.5 mm", NoteRow(None, "Left needle is 4.5 mm")),
        ("mistake in row thirty one", Mistake(31)),
        ("take a note on row 12", Dictate(12)),
    ],
)
def test_values_are_read_exactly(words: str, means: object) -> None:
    """Numbers, lengths in both unit systems, circumstances and free text come through exactly."""
    assert understand(words, BOOK) == (means,)


@pytest.mark.parametrize(
    "words",
    [
        "",
        "the row done",
        "row done row done",
        "rows done",
        "measure eleven",
        "measure centimetres",
        "measure zero centimetres",
        "zero rows done",
        "i count fifty",
        "three hundred thousand rows done",
        "i count fifty stitches please",
        "how much is left",
        "what comes next for the prime minister",
        "measure twice and cut once",
    ],
)
def test_only_the_whole_utterance_counts(words: str) -> None:
    """Less than a command, more than a command, or nearly a command is nothing."""
    assert understand_heard(words, BOOK) == ()


def test_a_teen_is_handed_over_with_its_tens() -> None:
    """What was heard as thirteen may be thirty: both are handed over, the one heard first."""
    heard = understand_heard("measure thirteen centimetres", BOOK)
    assert heard == (Measure(cm("13")), Measure(cm("30")))


def test_typed_numbers_are_certain() -> None:
    """What was typed stands for nothing else."""
    assert understand("thirteen rows done", BOOK) == (RowsDone(13),)


def test_short_answers_count_only_when_something_was_asked() -> None:
    """A bare yes is heard when a question stands and not otherwise; typed it always counts."""
    assert understand_heard("yes", BOOK) == ()
    assert [said.name for said in understand_heard("yes", BOOK, asked=True)] == ["yes"]
    assert [said.name for said in understand("yes", BOOK)] == ["yes"]


def test_abbreviations_are_only_for_the_keyboard() -> None:
    """A typed "undo" counts, a spoken one is too short to be trusted."""
    assert [said.name for said in understand("undo", BOOK)] == ["undo"]
    assert understand_heard("undo", BOOK) == ()


def test_no_form_says_two_things(subtests: pytest.Subtests) -> None:
    """An example of every form is understood as its own command and as no other."""
    for form in BOOK.all_forms:
        with subtests.test(way=form.way, form=form.text):
            found = readings(example(form, BOOK), BOOK)
            assert {one.said.name for one in found} == {form.kind.name}
            assert len({one.said for one in found}) == 1


def test_every_command_can_be_typed_and_nearly_every_one_said(subtests: pytest.Subtests) -> None:
    """Each has forms; three are typed: "listen again" would not be heard, shaping is a row's.

    A lesson's short words are said too, but only while the lesson waits for them.
    """
    for name in [*COMMANDS, *TALK]:
        with subtests.test(command=name):
            ways = {form.way for form in BOOK.all_forms if form.kind.name == name}
            assert ways
            said = {Way.SPOKEN, Way.ANSWER} if name == "in_lesson" else {Way.SPOKEN}
            assert said & ways or name in {"start_listening", "weigh_swatch", "shape_rows"}


@given(st.lists(st.sampled_from(sorted(BOOK.model_words())), max_size=9))
def test_any_words_give_at_most_one_command(words: list[str]) -> None:
    """However words are strung together, they mean one command at most."""
    assert len(understand(" ".join(words), BOOK)) <= 1


@given(st.text(max_size=40))
def test_any_text_can_be_typed(text: str) -> None:
    """No text makes the parser fail."""
    for said in understand(text, BOOK):
        value_of(said)
    near(text, BOOK)


def test_the_nearest_sentence_is_told() -> None:
    """What was nearly understood is answered with a sentence that would have been."""
    assert near("measure centimetres", BOOK) == "measure eleven centimetres"
    assert near("quite another thing altogether", BOOK) is None
