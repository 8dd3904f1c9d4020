"""Text flows into boxes: every word is placed, in order, inside, and the largest size that fits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.display.flow import LEADING, TextSpan, fit, flow, shortened

word = st.text(alphabet="abcdefgh", min_size=1, max_size=9)
sentences = st.lists(word, min_size=1, max_size=25).map(" ".join)
spans = st.lists(
    st.builds(TextSpan, sentences, bold=st.booleans(), scale=st.sampled_from([0.8, 1.0])),
    min_size=1,
    max_size=4,
)


def measure(words: str, size: float, bold: bool) -> float:  # noqa: FBT001 (the signature of Measure)
    """Measure in a font whose letters are half as wide as high, bold ones a little wider."""
    return len(words) * size * (0.55 if bold else 0.5)


def words_of(lines: object) -> list[str]:
    """Return the words of flowed lines in reading order."""
    return [word for line in lines for run in line.runs for word in run.words.split()]  # type: ignore[attr-defined]


@given(spans, st.floats(30, 400), st.floats(5, 40))
def test_every_word_is_placed_once_and_in_order(
    text: list[TextSpan], width: float, size: float
) -> None:
    """Breaking into lines loses, doubles and reorders nothing; glued spans stay one word."""
    lines = flow(text, width, size, measure)
    joined = "".join(span.words for span in text).split()
    placed = "".join(words_of(lines))
    assert placed == "".join(joined)


@given(spans, st.floats(30, 400), st.floats(5, 40))
def test_lines_keep_inside_unless_one_word_is_too_wide(
    text: list[TextSpan], width: float, size: float
) -> None:
    """A line wider than the box holds nothing that could have been broken."""
    for line in flow(text, width, size, measure):
        if line.width > width + 1e-6:
            assert all(" " not in run.words for run in line.runs)
            for one, two in zip(line.runs, line.runs[1:], strict=False):
                assert one.x + one.width == pytest.approx(two.x)


@given(spans, st.floats(30, 400), st.floats(20, 200))
def test_the_largest_size_that_fits_is_taken(
    text: list[TextSpan], width: float, height: float
) -> None:
    """What is said to fit does fit, and a clearly larger size would not."""
    flowed = fit(text, (width, height), (4, 40), measure)
    if not flowed.fits:
        assert flowed.size == 4
        return
    assert flowed.width <= width + 0.5
    assert flowed.height <= height + 0.5
    if flowed.size < 39:
        assert not fit(text, (width, height), (40, 40), measure).fits


def test_a_line_break_is_kept() -> None:
    """A line break in a span begins a new line."""
    lines = flow([TextSpan("one\ntwo")], 1000, 10, measure)
    assert [line.runs[0].words for line in lines] == ["one", "two"]


def test_a_comma_hangs_on_to_the_word_before_it() -> None:
    """A span that begins without a space is not torn from the word before it."""
    lines = flow([TextSpan("knit two"), TextSpan(", "), TextSpan("purl two")], 1000, 10, measure)
    runs = lines[0].runs
    assert [run.words for run in runs] == ["knit two", ",", "purl two"]
    assert runs[1].x == pytest.approx(runs[0].x + runs[0].width)
    assert runs[2].x > runs[1].x + runs[1].width


def test_leading_is_the_distance_between_lines() -> None:
    """Two lines are as high as two leadings."""
    flowed = fit([TextSpan("one\ntwo")], (500, 500), (10, 10), measure)
    assert flowed.height == pytest.approx(2 * LEADING * 10)


@given(sentences, st.floats(20, 300))
def test_shortened_words_fit_and_say_that_they_are_cut(words: str, width: float) -> None:
    """A shortened line fits (or is one word), begins like the whole, and ends in dots."""
    short = shortened(words, width, 10, measure)
    if short != words:
        assert measure(short, 10, False) <= width or " " not in short  # noqa: FBT003
        assert words.startswith(short.rstrip("\N{HORIZONTAL ELLIPSIS}"))


def test_a_long_path_may_be_broken_behind_a_folder() -> None:
    """A path that is too long for a line goes on in the next, and no space is put into it."""
    path = "/data/of/hers/local/share/walesong/journal.walesong"
    lines = flow([TextSpan(f"Kept in {path}.")], 150, 10, measure)
    assert len(lines) > 1
    said = "".join(run.words for line in lines for run in line.runs)
    assert said == f"Kept in {path}."
    assert all(line.width <= 150 for line in lines)
