"""Typed words: every sign counts, so a number is never read as another one than was written."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import resources
from app.session.not_understood import guess
from engine.commands import (
    ChangeNeedle,
    Command,
    CountStitches,
    Measure,
    MeasureHow,
    Mistake,
    NoteRow,
    RowsDone,
    Since,
    WeighYarn,
    WhichRow,
)
from engine.fabric import Fabric
from engine.quantities import centimetres, grams, inches
from speech.words.phrases import read_phrases
from speech.words.understand import example, understand

if TYPE_CHECKING:
    from engine.talk import Talk
    from speech.words.phrases import Form

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
MINUS = [
    "-",
    "\N{MINUS SIGN}",
    "\N{EN DASH}",
    "\N{HYPHEN}",
    "\N{NON-BREAKING HYPHEN}",
    "- ",
    "minus ",
]
NUMBERED = [
    "done {}", "{} rows done", "two ridges done", "ripped back {} rows", "really on row {}",
    "row {}", "stopping after {} stitches", "measure {} cm", "measure {} cm wide", "{} cm",
    "i count {} stitches", "{} stitches", "yarn weighs {} grams", "note on row {}",
    "note row {} too tight", "mistake in row {}", "mistake in row {} again",
    "swatch has {} stitches", "swatch {} sts 28 rows", "swatch 20 sts {} rows",
    "swatch of {} stitches and 28 rows weighs 7 g", "needle {} mm", "needle {}",
    "join ball after {}", "changing to {} millimetre needles", "take a note on row {}",
    "cast on pattern {} now", "work on piece {} now", "piece {}", "frog {} rows",
    "another row done {}",
]  # fmt: skip


@pytest.mark.parametrize("sign", MINUS)
@pytest.mark.parametrize("words", [one for one in NUMBERED if "{}" in one])
def test_a_number_less_than_nothing_is_refused(words: str, sign: str) -> None:
    """No sentence with a number means anything with a minus before it, of whatever kind."""
    assert understand(words.format(f"{sign}5"), BOOK) == ()


@pytest.mark.parametrize("sign", MINUS)
@pytest.mark.parametrize("words", ["done {}", "{} rows done", "i've done {} rows", "done {} rows"])
def test_rows_less_than_none_are_explained(words: str, sign: str) -> None:
    """Who takes rows away by a minus is told how that is said; it is not asked and not done."""
    found = guess(words.format(f"{sign}5"), BOOK)
    assert '"ripped back five rows"' in found.why
    assert "?" not in found.why
    assert found.meant is None


def test_less_one_is_explained_as_rows() -> None:
    """A bare "minus one" is most likely about rows: it is told how those are taken out."""
    found = guess("minus one", BOOK)
    assert '"ripped back one row"' in found.why
    assert found.meant is None


def test_a_weight_without_its_unit_is_asked_about() -> None:
    """The number is hers, grams are asked about; a length could as well be in inches."""
    found = guess("the ball weighs 41", BOOK)
    assert found.meant == ("the ball weighs 41 grams", WeighYarn(grams(41)))
    assert guess("measure 41", BOOK).meant is None
    assert guess("41", BOOK).meant is None


@pytest.mark.parametrize(
    "words", ["measure -7 cm", "i count \N{MINUS SIGN}50 stitches", "minus 3 g"]
)
def test_other_numbers_less_than_none_are_explained(words: str) -> None:
    """A length, a count or a weight below nothing is refused with the reason."""
    assert "less than none" in guess(words, BOOK).why


@pytest.mark.parametrize(
    "words",
    [
        "5.5 rows done", "1,5 rows done", "5/0 rows done", "measure 5/0 cm", "7 cm 3",
        "3-4 rows done", "3\N{EN DASH}4 rows done", "measure 3-4 cm", "~5 rows done",
        "5+5 rows done", "+5 rows done", "1e3 rows done", "i count 1e1 stitches", "5% rows done",
        "done #5", "done *5", "done (5)", "yarn weighs 1,250 g", "done 5!5",
        "5 6 rows done", "5 rows 6 rows done",
        "done 5 6", "5 rows done 6 rows done", "done . 5", "measure 1,000 cm",
        "measure 7 cm 8 cm", "measure 7 = 8 cm", "done >5", "measure 7.5.5 cm",
        "done 5\N{SUPERSCRIPT TWO}", "done \N{FULLWIDTH DIGIT FIVE}", "done 5\N{ZERO WIDTH SPACE}0",
        "done 5\N{COMBINING ENCLOSING KEYCAP}", "i count 5_0 stitches", "done-5",
        "measure 7 cm - 1 cm", "5x rows done", "i count 4*12 stitches", "i count 48±1 stitches",
        "done 5?", "i count 50 stitches?", "row done?", "measure 7 cm & 3", "5^2 rows done",
        "$5 rows done",
    ],
)  # fmt: skip
def test_what_is_not_plainly_one_number_is_not_taken_for_one(words: str) -> None:
    """Signs between, before and behind numbers are never dropped: it is not understood."""
    assert understand(words, BOOK) == ()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("Row done.", RowsDone()),
        ("Row done!", RowsDone()),
        ("twenty-one rows done", RowsDone(21)),
        ("Yes, which row now?", None),
        ("which row now?", WhichRow()),
        ("\N{LEFT DOUBLE QUOTATION MARK}row done.\N{RIGHT SINGLE QUOTATION MARK}", RowsDone()),
        ("measuring from the cast-on", MeasureHow(Since.CAST_ON)),
        ("measure 7 cm (washed)", Measure(centimetres(7), None, Fabric.WASHED)),
        ("measure 4-3/8 in", Measure(inches(Fraction(35, 8)))),
        ("measure 7,5 cm", Measure(centimetres(Fraction(15, 2)))),
        ('measure 7"', Measure(inches(7))),
        ("i count 50 stitches...", CountStitches(50)),
        ("note tension -1, then 3-4 off", NoteRow(None, "tension -1, then 3-4 off")),
        ("mistake k2tog (-1 st) at 5+5", Mistake(None, "k2tog (-1 st) at 5+5")),
        ("needle US 7 (4.5 mm)", ChangeNeedle(None, "US 7 (4.5 mm)")),
    ],
)
def test_ordinary_punctuation_is_read_as_before(words: str, said: Command | None) -> None:
    """Full stops, hyphens within words, brackets around words and free text lose nothing."""
    assert understand(words, BOOK) == ((said,) if said is not None else ())


signs = st.characters(
    exclude_categories=["L", "N", "Z", "Cc", "Cs"], exclude_characters=".,;:!'?\""
)


@given(form=st.sampled_from(BOOK.all_forms), sign=signs)
def test_no_sign_before_a_number_is_dropped(form: Form, sign: str) -> None:
    """Any sign that is put before the number of any sentence makes it another sentence, or none."""
    words = example(form, BOOK)
    for number in ("fifty", "five", "three", "eleven", "forty one", "thirty one"):
        if f" {number} " in f" {words} ":
            changed: tuple[Command | Talk, ...] = understand(
                words.replace(number, f"{sign}7", 1), BOOK
            )
            plain = understand(words.replace(number, "7", 1), BOOK)
            assert not set(changed) & set(plain) or not plain
