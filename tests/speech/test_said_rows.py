"""Rows as they are said: every word is used, and every beginning of a repeat that is possible."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app import resources
from app.language import phrase_book
from engine.composing import CastOnStitches, RepeatRows, SayRow, ShapeRows, Shaping, Which
from engine.quantities import Length, LengthUnit
from speech.hearing.vosk_decoder import VoskModel
from speech.words.row_language import RowLanguageError, read_row_language
from speech.words.said_rows import rows_said, understood

BOOK = phrase_book()
TEXT = resources.text("shared/phrases/rows.en.toml")
ELEVEN_CM = Length(Fraction(11), LengthUnit.CM)

ROWS = {
    "knit two, purl two, to the end": "*k2, p2; rep from * to end",
    "knit one, slip slip knit, knit to the last three, knit two together, knit one":
        "k1, ssk, k to last 3 sts, k2tog, k1",
    "knit two purl two to the end knit two": "*k2, p2; rep from *, k2",
    "star knit two purl two repeat from star to the last two knit two":
        "*k2, p2; rep from * to last 2 sts, k2",
    "knit one purl one rib": "*k1, p1; rep from * to end",
    "knit five bind off ten knit to the end": "k5, bo 10 sts, k to end",
    "purl": "p to end",
    "knit twenty two": "k22",
    "bind off in pattern": "bo all sts in pattern",
    "slip one purlwise, knit to the last stitch, purl one": "sl 1 pwise, k to last st, p1",
    "knit to the end, cast on three": "k to end, co 3 sts",
    "knit thirty, turn": "k30, turn",
}  # fmt: skip


def test_a_row_is_written_as_the_trade_writes_it(subtests: pytest.Subtests) -> None:
    """The likeliest reading of each row is the one that everybody would write."""
    for words, written in ROWS.items():
        with subtests.test(words=words):
            first = rows_said(f"this row {words}", BOOK)[0]
            assert isinstance(first, SayRow)
            assert first.text == written


def test_where_a_repeat_begins_is_left_open() -> None:
    """Nobody says where it begins: both rows are returned, the one with other stitches first."""
    found = rows_said("this row knit one, knit two, purl two, to the end", BOOK)
    texts = [one.text for one in found if isinstance(one, SayRow)]
    assert texts[:2] == ["k1, *k2, p2; rep from * to end", "*k1, k2, p2; rep from * to end"]


@pytest.mark.parametrize(
    "words",
    ["this row knit foo", "this row to the end", "this row knit knit",
     "this row knit two together two",
     "rows eight to five knit", "knit two purl two", "this row knit zero",
     "repeat the last two rows until"],
)  # fmt: skip
def test_no_word_is_read_past(words: str) -> None:
    """Where one word has no meaning, the whole has none."""
    assert rows_said(words, BOOK) == ()


def test_more_of_a_row_needs_no_opener() -> None:
    """While a row is being said its words go on; without one they are no command."""
    more = rows_said("knit two", BOOK, saying="knit two purl two to the end")
    assert [one.text for one in more if isinstance(one, SayRow)] == ["*k2, p2; rep from *, k2"]
    assert all(isinstance(one, SayRow) and one.more for one in more)
    assert understood("knit two", BOOK) == ()


def test_what_is_said_of_several_rows() -> None:
    """Repeats, shapings, ranges, mended rows and the cast-on each have their own value."""
    said = {
        "cast on fifty stitches": CastOnStitches(50),
        "repeat the last two rows until it measures eleven centimetres":
            RepeatRows(rows=2, length=ELEVEN_CM),
        "repeat the last two rows four more times": RepeatRows(rows=2, count=4),
        "repeat rows three and four twice": RepeatRows(first=3, row=4, count=2),
        "those rows again": RepeatRows(),
        "decrease one each end every fourth row five times":
            ShapeRows(Shaping.DECREASE, 1, 4, count=5),
        "increase one stitch at each end of next and every following 6th row to 70 stitches":
            ShapeRows(Shaping.INCREASE, 1, 6, at_once=True, stitches=70),
        "rows five to eight knit": SayRow("k to end", 8, 5, words="knit"),
        "row seven was purl": SayRow("p to end", 7, words="purl", was=True),
        "this row as row three": SayRow(words="as row three", like=3),
        "the next row the same as the last row":
            SayRow(which=Which.NEXT, words="the same as the last row", like=0),
    }  # fmt: skip
    for words, meant in said.items():
        assert understood(words, BOOK)[:1] == (meant,), words


def test_the_counting_is_not_disturbed() -> None:
    """What counts, measures and asks means what it meant, also while a row is being said."""
    for words in ("row done", "three rows done", "measure eleven centimetres", "unpicking this row",
                  "i count fifty stitches", "note this row", "what comes next", "yes"):  # fmt: skip
        plain = understood(words, BOOK)
        assert len(plain) == 1
        assert understood(words, BOOK, saying="knit two") == plain


def test_typed_abbreviations_are_handed_on() -> None:
    """A row that is typed as it is written is read as it is written."""
    assert understood("this row: K2, p2 to end", BOOK) == (
        SayRow("K2, p2 to end", words="K2, p2 to end"),
    )


@pytest.mark.parametrize(
    ("text", "why"),
    [("language", "cannot be read"), ("[openers]\nthis = ['this row']", "lacks the table"),
     ("[birds]\nwren = ['wren']", "cannot have 'birds'"),
     (TEXT.replace('["slip slip knit"]', '"slip"'), "list of texts"),
     (TEXT.replace('["slip slip knit"]', '["slip [slip"]'), "do not match"),
     (TEXT.replace('["slip slip knit"]', '["SSK"]'), "small letters")],
)  # fmt: skip
def test_what_is_wrong_in_the_data_is_one_sentence(text: str, why: str) -> None:
    """A slip in the data is named, and nothing is read of it."""
    with pytest.raises(RowLanguageError, match=why):
        read_row_language(text)


@pytest.mark.model
def test_the_speech_model_knows_every_word_of_a_row() -> None:
    """No word of a spoken row is missing from the speech model, aliases included."""
    assert BOOK.rows is not None
    model = VoskModel(resources.model_folder())
    words = {word for one in BOOK.rows.model_words() for word in BOOK.aliases.get(one, (one,))}
    typed_only = {"sts", "st", "tog", "inc"}
    assert sorted(word for word in words - typed_only if not model.knows(word)) == []
