"""
Rows folded as a designer writes them: "Rows 1-4: k to end", "Rep rows 1 and 2 10 more times".

Folding never changes what is worked: unfolding gives the same rows again, one by one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

LONGEST_REPEAT: Final = 32
"""Rows of a repeat; longer ones are hardly found by a person either (a guess)."""
_LEAST_TIMES: Final = 2
_LEAST_STEPS: Final = 5
"""Steps that a repeat within a row saves before it is worth a bracket (a guess)."""


@dataclass(frozen=True, slots=True)
class Block:
    """So many rows, by what each of them is, worked `times` times in all."""

    rows: tuple[Hashable, ...]
    times: int = 1


def fold_rows(rows: Sequence[Hashable]) -> tuple[Block, ...]:
    """Return rows as blocks; at every place the repeat that covers the most is taken."""
    blocks: list[Block] = []
    at = 0
    while at < len(rows):
        period, times = _repeat_at(rows, at)
        if times >= _LEAST_TIMES:
            blocks.append(Block(tuple(rows[at : at + period]), times))
            at += period * times
            continue
        last = blocks[-1] if blocks else None
        if last is not None and last.times == 1:
            blocks[-1] = Block((*last.rows, rows[at]))
        else:
            blocks.append(Block((rows[at],)))
        at += 1
    return tuple(blocks)


def unfold(blocks: Sequence[Block]) -> tuple[Hashable, ...]:
    """Return the rows of blocks one by one."""
    return tuple(row for block in blocks for _ in range(block.times) for row in block.rows)


def _repeat_at(rows: Sequence[Hashable], at: int) -> tuple[int, int]:
    """Return the period and how often it comes that cover the most rows from a place on."""
    best, covered = (1, 1), 1
    for period in range(1, min(LONGEST_REPEAT, (len(rows) - at) // _LEAST_TIMES) + 1):
        times = 1
        pattern = rows[at : at + period]
        while rows[at + times * period : at + (times + 1) * period] == pattern:
            times += 1
        if times >= _LEAST_TIMES and period * times > covered:
            best, covered = (period, times), period * times
    return best


def fold_steps(text: str) -> str:
    """
    Return a written row with steps that come again in brackets: "(k2, p2) 12 times, k2".

    A row that has a repeat of its own stays as it is.
    """
    if any(sign in text for sign in "*()[];"):
        return text
    steps = text.split(", ")
    blocks = fold_rows(steps)
    written: list[str] = []
    for block in blocks:
        body = ", ".join(map(str, block.rows))
        saves = (block.times - 1) * len(block.rows)
        if block.times == 1 or saves < _LEAST_STEPS:
            written += map(str, unfold((block,)))
        else:
            written.append(f"({body}) {block.times} times")
    return ", ".join(written)
