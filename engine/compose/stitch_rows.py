"""Rows of a stitch pattern in written form, also where shaping eats into the pattern."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Final

from engine.plan.stitch_patterns import FLIPPED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.plan.stitch_patterns import StitchPattern

_LEAST_TIMES: Final = 2


@dataclass(frozen=True, slots=True)
class Fabric:
    """
    The stitches on the needle as columns of a stitch pattern, `first` to before `past`.

    `edges` are plain stitches outside of them, at the right edge and at the left one as the right
    side is seen: the seam takes them, and they are knitted in every row.
    """

    stitch: StitchPattern
    first: int
    past: int
    edges: tuple[int, int] = (0, 0)
    in_round: bool = False

    @property
    def stitches(self) -> int:
        """All stitches on the needle."""
        return self.past - self.first + sum(self.edges)

    def wrong_side(self, row: int) -> bool:
        """Tell whether a row is worked on the wrong side; row 1 is a right-side one."""
        return not self.in_round and row % 2 == 0

    def even(self, row: int) -> str:
        """Return a row without shaping."""
        begin, end = self._edges_worked(row)
        body = self._worked(row, self.first, self.past)
        return row_text([], "k" * begin + body + "k" * end, [], 0, self.stitch.of)

    def shaped(self, row: int, change: int, ends: int) -> tuple[str, Fabric]:
        """
        Return a row that changes one stitch at one end (the row's first on the right side) or both.

        `change` is 1 or -1. What is increased is worked into the pattern. Raises ValueError where
        there is no stitch left for it.
        """
        if self.past - self.first < 2 * ends + 1:
            raise ValueError("The shaping leaves no stitches in the pattern; shape fewer.")
        if change > 0 and not all(self.edges[:ends]):
            raise ValueError("Increases lie one stitch from the edge: plan with edge stitches.")
        right, left = 2 * (change < 0), 2 * (change < 0 and ends > 1)
        body = self._worked(row, self.first + right, self.past - left)
        at_right, at_left = self._steps(row, change)
        at_left = at_left if ends > 1 else ""
        begin, end = self._edges_worked(row)
        into = [f"k{begin}"] if begin else []
        out = [f"k{end}"] if end else []
        steps = (at_left, at_right) if self.wrong_side(row) else (at_right, at_left)
        taken = (left, right) if self.wrong_side(row) else (right, left)
        into, out = [*into, *filter(None, steps[:1])], [*filter(None, steps[1:]), *out]
        text = row_text(into, body, out, end + taken[1], self.stitch.of)
        after = Fabric(
            self.stitch,
            self.first - change,
            self.past + (change if ends > 1 else 0),
            self.edges,
            self.in_round,
        )
        return text, after

    def _steps(self, row: int, change: int) -> tuple[str, str]:
        """Return what shapes at the right edge and at the left one; decreases lean inwards."""
        if change > 0:
            return ("m1", "m1")
        return ("ssp", "p2tog") if self.wrong_side(row) else ("ssk", "k2tog")

    def _edges_worked(self, row: int) -> tuple[int, int]:
        right, left = self.edges
        return (left, right) if self.wrong_side(row) else (right, left)

    def _worked(self, row: int, first: int, past: int) -> str:
        """Return columns in the order and way in which a row works them."""
        seen = "".join(self.stitch.seen(row, column) for column in range(first, past))
        return seen[::-1].translate(FLIPPED) if self.wrong_side(row) else seen


def row_text(
    into: Sequence[str], body: str, out: Sequence[str], out_takes: int, repeat: int
) -> str:
    """
    Return a written row: steps, then single stitches with what comes again in them, then steps.

    `out_takes` are the stitches that the last steps use, `repeat` the width that comes again.
    """
    if not body:
        return ", ".join((*into, *out))
    best = (len(_runs(body)), len(body), 0, 0)  # score, lead, unit, times
    for unit in sorted({1, repeat}):
        for lead in range(min(len(body), repeat + len(body) % repeat + 1)):
            piece = body[lead : lead + unit]
            times = 1
            while piece and body[lead + times * unit : lead + (times + 1) * unit] == piece:
                times += 1
            if times < _LEAST_TIMES:
                continue
            tail = body[lead + times * unit :]
            score = len(_runs(body[:lead])) + len(_runs(piece)) + len(_runs(tail))
            split = unit > 1 and piece[0] == piece[-1]  # "k1, p2, k1" is "k2, p2" cut in two
            best = min(best, (score + (unit > 1) + 3 * split, lead, unit, times))
    _, lead, unit, times = best
    if not times:
        return ", ".join((*into, *_runs(body), *out))
    tail = body[lead + times * unit :]
    rest = len(tail) + out_takes
    to = "to end" if not rest else f"to last {rest} sts" if rest > 1 else "to last st"
    piece = body[lead : lead + unit]
    again = f"{piece} {to}" if unit == 1 else f"*{', '.join(_runs(piece))}; rep from * {to}"
    return ", ".join((*into, *_runs(body[:lead]), again, *_runs(tail), *out))


def _runs(stitches: str) -> list[str]:
    """Return single stitches as they are written: "k2", "p1"."""
    return [f"{sign}{len(list(alike))}" for sign, alike in groupby(stitches)]
