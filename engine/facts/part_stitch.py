"""
The stitch that a part of a piece is worked in, as far as the height of its rows goes by it.

Rows of rib, garter and stockinette are not equally high, so a swatch stands for the parts in its
own stitch. Stockinette and garter are known wherever they come; anything else goes by the name of
its section.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from engine.pattern import Side
from engine.pattern.notation import Along, Group, Work
from engine.pattern.stitches import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from engine.pattern import Course, Instruction
    from engine.pattern.course import Part
    from engine.pattern.notation import Item

STOCKINETTE: Final = "stockinette"
GARTER: Final = "garter"

_NAMED: Final = (
    (re.compile(r"\bgarter\b|\bg\.? ?st\b", re.IGNORECASE), GARTER),
    (re.compile(r"\bstockinette\b|\bstocking\b|\bst\.? ?st\b", re.IGNORECASE), STOCKINETTE),
)


def stitch_of(course: Course, ended: Mapping[str, int], row: int) -> str:
    """Return the stitch around a row: stockinette, garter, or the id of its section."""
    place = course.where(ended, row)
    beside = course.where(ended, row + 1)
    if beside.section != place.section or beside.finished:
        beside = course.where(ended, row - 1)
        if row == 1 or beside.section != place.section:
            return place.section
    faces = (_face(place.instruction, place.side), _face(beside.instruction, beside.side))
    return _stitch(faces) or place.section


def swatched_stitch(course: Course) -> str:
    """
    Return the stitch that a swatch for the pattern is worked in.

    It is the one that the pattern's gauge names; else that of the last part worked to a length in
    stockinette, of the last part worked to a length, or of the longest part.
    """
    for words, stitch in _NAMED:
        if words.search(course.gauge):
            return stitch
    to_length = [part for part in course.parts if part.loop is not None]
    if to_length:
        stitches = [_stitch_of_part(course, part) for part in to_length]
        return STOCKINETTE if STOCKINETTE in stitches else stitches[-1]
    if not course.parts:
        return ""
    return _stitch_of_part(course, max(course.parts, key=lambda part: part.node.rows))


def _stitch_of_part(course: Course, part: Part) -> str:
    if part.node.rows < 2:  # noqa: PLR2004 (the stitch shows in two rows)
        return part.section
    sides = (Side.RIGHT, Side.WRONG)
    if course.in_the_round or part.side is Side.ROUND:
        sides = (Side.ROUND, Side.ROUND)
    faces = tuple(
        _face(part.node.at(index, side, index + 1).instruction, side)
        for index, side in enumerate(sides)
    )
    return _stitch((faces[0], faces[1])) or part.section


def _stitch(faces: tuple[Kind | None, Kind | None]) -> str:
    if None in faces:
        return ""
    return STOCKINETTE if faces[0] is faces[1] else GARTER


def _face(instruction: Instruction, side: Side) -> Kind | None:
    """Return what most of the row shows on the right side: knit or purl; None if it is mixed."""
    worked = _most(instruction.items)
    kinds = {work.stitch.kind for work in worked}
    if kinds == {Kind.KNIT}:
        return Kind.PURL if side is Side.WRONG else Kind.KNIT
    if kinds == {Kind.PURL}:
        return Kind.KNIT if side is Side.WRONG else Kind.PURL
    return None


def _most(items: Iterable[Item]) -> tuple[Work, ...]:
    """Return the stitches that fill the row: those along it, else all of them."""
    along = [item for item in items if isinstance(item, Along)]
    if along:
        return tuple(work for item in along for work in _works(item.body))
    return _works(items)


def _works(items: Iterable[Item]) -> tuple[Work, ...]:
    found: list[Work] = []
    for item in items:
        if isinstance(item, Work):
            found.append(item)
        elif isinstance(item, Group | Along):
            found += _works(item.body)
    return tuple(found)
