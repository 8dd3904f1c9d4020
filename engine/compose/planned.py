"""
A plan written out as a pattern: a stitch pattern over the cast-on, shaping row by row, a length.

The stitch pattern keeps its columns through the shaping, so that every row says what is worked
above what. Single rows are counted where the plan shapes; what goes on even is worked to a length.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.compose.stitch_rows import Fabric
from engine.compose.worked_rows import SIDES, WorkedRow, again, folded_lines, written_line
from engine.compose.written_pattern import (
    WrittenLine,
    WrittenSection,
    heading,
    pattern_text,
    quoted,
)
from engine.pattern import Side
from engine.plan.rounding import worked_out
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.plan.shaping import Rate
    from engine.plan.stitch_patterns import StitchPattern

BOTH_ENDS = 2


@dataclass(frozen=True, slots=True)
class PlannedPiece:
    """What a plan comes to: `rows` in all, of which the first are shaped as `rate` says."""

    title: str
    stitch: StitchPattern
    cast_on: int
    edge_stitches: int
    rows: int
    length: Length
    rate: Rate | None = None
    in_round: bool = False

    @property
    def edges_outside(self) -> int:
        """Edge stitches outside of the pattern: none where its repeats take them up.

        What grows needs them: it is increased beside them.
        """
        grows = self.rate is not None and self.rate.stitches_to > self.rate.stitches_from
        if self.stitch.of == 1 or grows:
            return self.edge_stitches
        for fits in (self.stitch.balanced, self.stitch.fits):
            for outside in (0, self.edge_stitches):
                if fits(self.cast_on - outside, in_round=self.in_round):
                    return outside
        return 0

    @property
    def ends_shaped(self) -> int:
        """At how many ends a shaping row changes a stitch."""
        return self.rate.per_shaping if self.rate is not None else 0


def planned_pattern(piece: PlannedPiece, head: Sequence[str] = ()) -> str:
    """
    Return the text of the pattern; `head` are lines such as `needle = "4.5 mm"`.

    Raises:
        ValueError: the stitch pattern does not fit the cast-on, or the shaping the rows.

    """
    fabric, shaping = _fabric(piece), _shaping(piece)
    sections: list[WrittenSection] = []
    if shaping:
        rows, fabric = _shaped(fabric, shaping, piece.ends_shaped)
        section = WrittenSection("shaping", "Shaping")
        section.lines = folded_lines(rows, _side(piece, 1), in_round=piece.in_round)
        sections.append(section)
    done = max(shaping, default=0)
    even = WrittenSection("even", "Even" if shaping else piece.stitch.name)
    even.lines = [*_even(piece, fabric, done), _bound_off(piece)]
    sections.append(even)
    if piece.in_round:
        joined = "Join in the round, being careful not to twist, pm for beg of rnd"
        sections[0].lines.insert(0, WrittenLine(joined))
    return pattern_text([*_head(piece), *head, *_measures(piece)], sections)


def _fabric(piece: PlannedPiece) -> Fabric:
    edges = piece.edges_outside
    body = piece.cast_on - edges
    if not piece.stitch.fits(body, in_round=piece.in_round):
        legal = piece.stitch.multiple(piece.edge_stitches, in_round=piece.in_round)
        near = " or ".join(str(count) for count in legal.around(Fraction(piece.cast_on)))
        plus = f" plus {legal.plus}" if legal.plus else ""
        raise ValueError(
            f"{piece.stitch.name} goes over a multiple of {legal.of}{plus}, which "
            f"{piece.cast_on} is not; {near} would be."
        )
    return Fabric(piece.stitch, 0, body, (math.ceil(edges / 2), edges // 2), piece.in_round)


def _shaping(piece: PlannedPiece) -> dict[int, int]:
    """Return the rows that shape, each with 1 or -1. Raises ValueError where it does not fit."""
    rate = piece.rate
    if rate is None:
        return {}
    if rate.stitches_from != piece.cast_on:
        raise ValueError(
            f"The shaping begins with {rate.stitches_from} stitches, and {piece.cast_on} are "
            "cast on."
        )
    if rate.rows > piece.rows:
        raise ValueError(f"The shaping takes {rate.rows} rows, and the piece has {piece.rows}.")
    if rate.per_shaping > BOTH_ENDS:
        raise ValueError("A shaping row that is written out changes one stitch at one end or both.")
    sign = 1 if rate.stitches_to > rate.stitches_from else -1
    return dict.fromkeys(rate.shaping_rows(), sign)


def _shaped(fabric: Fabric, shaping: dict[int, int], ends: int) -> tuple[list[WorkedRow], Fabric]:
    """Return all rows up to the last that shapes, and the fabric after it."""
    rows: list[WorkedRow] = []
    for row in range(1, max(shaping) + 1):
        text, count = fabric.even(row), None
        if row in shaping:
            text, fabric = fabric.shaped(row, shaping[row], ends)
            count = fabric.stitches
        rows.append(WorkedRow(row, text, "", count, None))
    return rows, fabric


def _even(piece: PlannedPiece, fabric: Fabric, done: int) -> Iterator[WrittenLine]:
    """Write what goes on without shaping: to a length, or row by row where it is short."""
    left = piece.rows - done
    period = math.lcm(len(piece.stitch.rows), 1 if piece.in_round else 2)
    rows = [
        WorkedRow(row, fabric.even(row), "", None, None)
        for row in range(done + 1, done + 1 + min(left, period))
    ]
    if left <= period:
        if rows:
            yield from folded_lines(rows, _side(piece, done + 1), in_round=piece.in_round)
        return
    for number, row in enumerate(rows, 1):
        begin = heading(number, number, in_round=piece.in_round)
        side = SIDES[_side(piece, done + 1)] if number == 1 else ""
        yield written_line(row, begin.replace(":", f"{side}:"))
    repeat = again(1, period, 1, in_round=piece.in_round).removesuffix(" once more")
    last = _side(piece, piece.rows)
    ends = "" if piece.in_round else f", ending with a {SIDES[last].strip(' ()')} row"
    yield WrittenLine(f"{repeat} until piece measures {piece.length} from cast-on edge{ends}")


def _bound_off(piece: PlannedPiece) -> WrittenLine:
    begin = f"Next {'rnd' if piece.in_round else 'row'}{SIDES[_side(piece, piece.rows + 1)]}"
    return WrittenLine(f"{begin}: bind off all sts in pattern")


def _side(piece: PlannedPiece, row: int) -> Side:
    if piece.in_round:
        return Side.ROUND
    return Side.RIGHT if row % 2 else Side.WRONG


def _head(piece: PlannedPiece) -> list[str]:
    edges = piece.edges_outside
    legal = piece.stitch.multiple(edges, in_round=piece.in_round)
    if not legal.fits(piece.cast_on):
        legal = replace(legal, plus=edges)
    head = [f"title = {quoted(piece.title)}", f"cast_on = {piece.cast_on}"]
    if legal.of > 1:
        head.append(f"multiple = {{ n = {legal.of}, plus = {legal.plus} }}")
    return [*head, "in_the_round = true"] if piece.in_round else head


def _measures(piece: PlannedPiece) -> list[str]:
    return [f"length = {quoted(str(piece.length))}"]


def said_length(length: Length) -> Length:
    """Return a planned length as it is written: to a millimetre or an eighth of an inch."""
    plain = length if length.unit in {LengthUnit.CM, LengthUnit.IN} else length.to(LengthUnit.CM)
    return worked_out(plain, fine=True)
