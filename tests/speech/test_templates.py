"""Sentences with gaps are read, checked and filled."""

from __future__ import annotations

import pytest

from speech.words.templates import SentenceForm, TemplateError, read_template


def fill(text: str, **values: object) -> str:
    """Fill a template with values written plainly, forms in brackets after them."""

    def write(value: object, form: SentenceForm) -> str:
        return f"{value}[{form}]" if form else str(value)

    return read_template(text).fill(values, write)


@pytest.mark.parametrize(
    ("text", "values", "filled"),
    [
        ("Working {row}, {side}.", {"row": 49, "side": "right side"}, "Working 49, right side."),
        ("{time:ordinal} of {times}", {"time": 3, "times": 5}, "3[ordinal] of 5"),
        ("{low~high} rows", {"low": 18, "high": 21}, "18 to 21 rows"),
        ("{low~high} rows", {"low": 18, "high": 18}, "18 rows"),
        ("{n} {n?row|rows}", {"n": 1}, "1 row"),
        ("{n} {n?row|rows}", {"n": 0}, "0 rows"),
        ("to the last {n?stitch|{n} stitches}", {"n": 1}, "to the last stitch"),
        ("to the last {n?stitch|{n} stitches}", {"n": 3}, "to the last 3 stitches"),
        ("{n?|many}", {"n": 1}, ""),
        ("", {}, ""),
    ],
)
def test_gaps_are_filled(text: str, values: dict[str, object], filled: str) -> None:
    """Every kind of gap is filled as its sign says."""
    assert fill(text, **values) == filled
    assert read_template(text).names == set(values)


@pytest.mark.parametrize("text", ["{row", "row}", "{}", "{Row}", "{row:loud}", "{a b}", "{a~}"])
def test_slips_are_told(text: str) -> None:
    """A gap that is not closed or not understood is told in one sentence with the text."""
    with pytest.raises(TemplateError, match="gap") as told:
        read_template(text)
    assert text in str(told.value)


def test_the_words_of_a_template_can_be_checked() -> None:
    """The words written in a template are had without its gaps, those for one and several too."""
    words = read_template("Only {row} {row?row is|{row} are} done").words
    assert words.split() == ["Only", "row", "is", "are", "done"]
