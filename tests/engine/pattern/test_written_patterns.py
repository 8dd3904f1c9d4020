"""
Patterns written the way designers write today, with the counts worked out by hand.

Behind a row stands what is left after it, one number a size: `# -> 46 50`; `-` where the size
leaves the row out, `?` where the count is not compared.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern

PATTERNS = sorted(Path(__file__).with_name("patterns").glob("*.toml"))
_EXPECTED = re.compile(r"#\s*->\s*([\d\s?-]+)$")


def expected_counts(text: str) -> dict[int, list[str]]:
    """Return what stands behind the rows, by the number of the line."""
    lines = enumerate(text.splitlines(), 1)
    found = ((number, _EXPECTED.search(line)) for number, line in lines)
    return {number: match.group(1).split() for number, match in found if match}


@pytest.mark.parametrize("path", PATTERNS, ids=lambda path: path.stem)
def test_a_pattern_of_today_is_counted_row_by_row(path: Path) -> None:
    """Every row of the pattern is read, and leaves the stitches that were worked out by hand."""
    text = path.read_text(encoding="utf-8")
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), "\n".join(map(str, document))
    for size, verdict in enumerate(document.check()):
        assert verdict.ok, "\n".join(map(str, verdict.problems))
        counts = {count.line: count.stitches for count in verdict.counts}
        differing = {
            (line, wanted[size if len(wanted) > 1 else 0]): counts.get(line)
            for line, wanted in expected_counts(text).items()
            if wanted[size if len(wanted) > 1 else 0] not in {"?", str(counts.get(line, "-"))}
        }
        assert not differing, (verdict.size, differing)


def test_there_are_patterns_to_check() -> None:
    """The folder of patterns is not empty, and each of them names counts."""
    assert len(PATTERNS) >= 15
    assert all(expected_counts(path.read_text(encoding="utf-8")) for path in PATTERNS)
