"""Rows folded and unfolded again are the same rows, whatever they are."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.compose.folding import Block, fold_rows, fold_steps, unfold

ROWS = st.lists(st.sampled_from("abc"), max_size=60)
REPEATED = st.lists(
    st.tuples(st.lists(st.sampled_from("abcd"), min_size=1, max_size=6), st.integers(1, 9)),
    max_size=8,
)


@settings(max_examples=3_000)
@given(ROWS)
def test_folding_changes_no_row(rows: list[str]) -> None:
    """Whatever the rows are, unfolded they are there again, in their order."""
    assert list(unfold(fold_rows(rows))) == rows


@settings(max_examples=3_000)
@given(REPEATED)
def test_what_comes_again_is_written_once(made: list[tuple[list[str], int]]) -> None:
    """Rows that were made of repeats come back, in no more written rows than they were made of."""
    rows = [row for body, times in made for _ in range(times) for row in body]
    blocks = fold_rows(rows)
    assert list(unfold(blocks)) == rows
    assert sum(len(block.rows) for block in blocks) <= max(len(rows), 1)
    if len(made) == 1 and made[0][1] > 1:
        assert sum(len(block.rows) for block in blocks) <= len(made[0][0])


def test_blocks_as_a_designer_writes_them() -> None:
    """Four alike, two that come again three times, one more."""
    assert fold_rows("kkkkababab" + "z") == (
        Block(("k",), 4), Block(("a", "b"), 3), Block(("z",), 1),
    )  # fmt: skip


def test_steps_that_come_again_are_put_in_brackets() -> None:
    """A long rib is bracketed; what is short or has a repeat of its own stays as it is."""
    rib = ", ".join(["k2, p2"] * 6 + ["k2"])
    assert fold_steps(rib) == "(k2, p2) 6 times, k2"
    for same in ("k2, p2, k2", "*k2, p2; rep from * to last 2 sts, k2", "k1, ssk, k to end"):
        assert fold_steps(same) == same
