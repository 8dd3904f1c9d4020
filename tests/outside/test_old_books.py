"""Patterns from books of 1843 to 1918: what adds up is counted, what does not is caught."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern

DATA = Path(__file__).with_name("old_books.toml")
EXAMPLES: list[dict[str, Any]] = tomllib.loads(DATA.read_text(encoding="utf-8"))["example"]


def pattern_text(example: dict[str, Any], *, stated: bool) -> str:
    """Return the example as a pattern file: a title, a cast-on, a list of rows."""
    rows = ",\n".join(json.dumps(row) for row in example["rows"])
    lines = [
        f"title = {json.dumps(example['source'])}",
        f"cast_on = {example['cast_on']}",
        f"rows = [\n{rows}\n]",
    ]
    if stated and example.get("stated"):
        counts = ", ".join(
            f"{{ after_row = {one['after_row']}, count = {one['count']} }}"
            for one in example["stated"]
        )
        lines.append(f"stated = [{counts}]")
    return "\n".join(lines)


def verdict_of(text: str) -> SizeVerdict:
    """Return the verdict on a pattern of one size."""
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    (verdict,) = document.check()
    return verdict


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"])
def test_every_row_leaves_the_printed_count(example: dict[str, Any]) -> None:
    """The count after every written row is the one that was counted by hand."""
    verdict = verdict_of(pattern_text(example, stated=True))
    assert [count.stitches for count in verdict.counts] == example["counts"]
    assert verdict.ok == example["adds_up"], verdict.problems


@pytest.mark.parametrize(
    "example",
    [example for example in EXAMPLES if not example["adds_up"]],
    ids=lambda example: example["id"],
)
def test_what_is_wrong_in_print_is_named_with_row_and_number(example: dict[str, Any]) -> None:
    """An error is reported once, at its row, by the right number of stitches, with a sentence."""
    verdict = verdict_of(pattern_text(example, stated=example["fail_kind"] == "stated"))
    (problem,) = verdict.problems
    assert (problem.row, problem.off_by) == (example["fails_at"], example["off_by"])
    text = pattern_text(example, stated=False)
    if example["fail_kind"] == "row":
        assert problem.line == text[: text.index(f'"{example["fails_at"]}:')].count("\n") + 1
    assert problem.message.endswith(".")


@pytest.mark.parametrize(
    "example",
    [example for example in EXAMPLES if example["adds_up"]],
    ids=lambda example: example["id"],
)
def test_stated_counts_within_the_rows_are_compared(example: dict[str, Any]) -> None:
    """A count that the author states behind a row is compared with what is on the needle."""
    changed = dict(example, rows=list(example["rows"]))
    changed["rows"][-1] += f" ({example['counts'][-1]} sts)"
    assert verdict_of(pattern_text(changed, stated=False)).ok
    changed["rows"][-1] = example["rows"][-1] + f" ({example['counts'][-1] + 3} sts)"
    (problem,) = verdict_of(pattern_text(changed, stated=False)).problems
    assert problem.off_by == -3
