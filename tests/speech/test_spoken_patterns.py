"""Written patterns are read out in whole words: the shipped ones, and what designers write."""

from __future__ import annotations

import re

import pytest

from app import resources
from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern
from speech.words.phrases import read_phrases
from speech.words.wording import read_wording

ROWS = read_wording(
    resources.text("shared/phrases/replies.en.toml"),
    read_phrases(resources.text("shared/phrases/en.toml")).numbers,
).rows
PATTERNS = resources.files("shared/patterns", "*.toml")
WORDS = re.compile(r"(?:(?:[a-z]{2,}|a|[A-Z])[,;:]? )*(?:[a-z]{2,}|[A-Z])")


def document(text: str) -> PatternDocument:
    """Read a pattern that is right."""
    found = read_pattern(text, row_reader())
    assert isinstance(found, PatternDocument), found
    return found


@pytest.mark.parametrize("pattern", PATTERNS, ids=[pattern.stem for pattern in PATTERNS])
def test_every_row_of_the_shipped_patterns_is_said_in_words(pattern: object) -> None:
    """From the cast-on to the last row of every size, no abbreviation and no figure is said."""
    found = document(pattern.read_text(encoding="utf-8"))  # type: ignore[attr-defined]
    said: set[str] = set()
    for size in found.sizes or (None,):
        course, ended = found.course(size), dict[str, int]()
        row = 1
        while not (place := course.where(ended, row)).finished:
            if place.open_loop is not None and row % 20 == 0:
                ended[place.open_loop.id] = row
            said.add(ROWS.say(place.instruction))
            row += 1
            assert row < 2000
        assert row > 20
    assert len(said) > 3
    for words in said:
        assert WORDS.fullmatch(words), words


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("K1, ssk, k to last 3 sts, k2tog, k1", ("knit one, slip slip knit, knit to the last three "
         "stitches, knit two together, knit one")),
        ("*K2, yo, k2tog; rep from * to end", ("repeat: knit two, yarn over, knit two together; "
         "to the end")),
        ("(K4, m1l) 6 times", "six times: knit four, make one left"),
        ("Sl 1 pwise wyif, p to end", "slip one purlwise with yarn in front, purl to the end"),
        ("K2tog twice, k to end", "knit two together, twice; knit to the end"),
        ("K10, (k1, yo, k1) in next st, k to end", ("knit ten; in one stitch: knit one, yarn over, "
         "knit one; knit to the end")),
        ("BO 5 sts, k to end", "bind off five, knit to the end"),
        ("2/2 LC, k to end", "two over two left cross, knit to the end"),
        ("Kfb in each st to end", None),
    ],
)  # fmt: skip
def test_rows_as_designers_write_them(written: str, said: str | None) -> None:
    """From the designer's abbreviations to what a friend would read out."""
    found = document(
        f'title = "x"\nid = "x"\ncast_on = 24\n[[section]]\nid = "a"\ntitle = "A"\n'
        f'rows = ["Row 1 (RS): {written}"]\n'
    )
    words = ROWS.say(found.course(None).where({}, 1).instruction)
    if said is not None:
        assert words == said
    assert WORDS.fullmatch(words), words
