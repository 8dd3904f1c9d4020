"""
Lines that are meant for some of the sizes only.

"Sizes M and L only:" on a line of its own holds for the lines after it, up to "All sizes:" or to
the next such line. A row whose stated count has a dash for a size is left out by that size.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.pattern.lines import LineKind, Prepared, all_amounts
from engine.pattern.notation import amount_for
from engine.pattern.problems import PatternError, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

_KNITTED = {
    LineKind.ROW, LineKind.EVENT, LineKind.REPEAT, LineKind.SHAPING, LineKind.STRETCH,
    LineKind.GIVEN, LineKind.IN_THIS_WAY, LineKind.UNCHECKED,
}  # fmt: skip


def names_sizes_alone(line: Prepared) -> bool:
    """Whether a line says nothing but for which sizes the lines after it are."""
    return line.line.sizes is not None and not line.phrases and line.line.heading is None


def spread_sizes(lines: Sequence[Prepared]) -> Prepared | None:
    """
    Give every line the sizes that a line of its own before it names.

    Returns the line after which it is not clear how far its sizes reach, or None.
    """
    doubtful: Prepared | None = None
    for index, line in enumerate(lines):
        if not names_sizes_alone(line):
            continue
        after = lines[index + 1 :]
        ends = [n for n, one in enumerate(after) if names_sizes_alone(one)]
        meant = after[: ends[0]] if ends else after
        knitted = [one for one in meant if one.kind in _KNITTED]
        if not ends and index and len(knitted) > 1 and not line.cache.get("all sizes"):
            doubtful = line
        for one in meant:
            one.cache.setdefault("sizes", line.cache.get("sizes"))
    return doubtful


def left_out(prepared: Prepared, size: int) -> bool:
    """Whether a size leaves a line out; raises PatternError where the line is at odds."""
    sizes = prepared.cache.get("sizes")
    if isinstance(sizes, frozenset):
        return size not in sizes
    said = prepared.stated
    if said is None or len(said.amount) == 1 or amount_for(said.amount, size)[0] is not None:
        return False
    for amount, at in all_amounts(prepared.line, prepared.row):
        if len(amount) > 1 and amount_for(amount, size)[0]:
            sentence = "The count has a dash for this size, but the row has a number for it."
            raise PatternError(Problem(sentence, 1, at + 1))
    return True
