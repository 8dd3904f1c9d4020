"""The description of the pattern file: every example in it is a pattern that adds up."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern

ROOT = Path(__file__).resolve().parents[3]
TEXT = (ROOT / "docs" / "PATTERN-FILE.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```toml\n(.*?)^```", TEXT, re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text.splitlines()[0])
def test_an_example_of_the_description_adds_up(example: str) -> None:
    """It is read, every row of every size adds up, and no size is warned about."""
    document = read_pattern(example, row_reader())
    assert isinstance(document, PatternDocument), "\n".join(map(str, document))
    for verdict in document.check():
        assert verdict.ok, "\n".join(map(str, verdict.problems))
        assert not verdict.warnings, "\n".join(map(str, verdict.warnings))
        assert all(count.stitches is not None for count in verdict.counts)


def test_the_description_has_examples() -> None:
    """The description shows nine files, one for each thing a designer asks for."""
    assert len(EXAMPLES) >= 9


def test_an_unchecked_row_is_never_called_right() -> None:
    """The example of unchecked rows counts two rows as taken on trust, by their stated counts."""
    example = next(text for text in EXAMPLES if "unchecked" in text)
    document = read_pattern(example, row_reader())
    assert isinstance(document, PatternDocument)
    (verdict,) = document.check()
    assert [(count.row, count.stitches, count.checked) for count in verdict.counts] == [
        ("Row 1", 63, False),
        ("Row 2", 63, False),
        ("Row 3", 63, True),
    ]
