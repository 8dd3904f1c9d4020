"""Where the length of a part "until it measures" is measured from, by the designer's words."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from engine.pattern.notation import BindOff

if TYPE_CHECKING:
    from collections.abc import Callable

    from engine.pattern.instruction import Instruction

_BOUND_OFF_WITHIN: Final = 60
"""So many rows below an open part its armhole is looked for."""


class Datum(StrEnum):
    """Where the length of an open part is measured from."""

    CAST_ON = "cast-on"
    HERE = "here"
    ARMHOLE = "armhole"


def datum_of(text: str, where: str, *, for_length: bool) -> Datum:
    """Return where a line measures from; from the cast-on if it says nothing else."""
    if re.search(
        r"\barmholes? measures?|\bfrom (?:the )?(?:beg\w* of )?(?:the )?armhole",
        text,
        re.IGNORECASE,
    ):
        return Datum.ARMHOLE
    if for_length or re.search(
        r"\b(?:yoke|border|band|edging|collar|cuff|crown|thumb|foot) measures?", text, re.IGNORECASE
    ):
        return Datum.HERE
    told = where.casefold()
    known = not told or any(word in told for word in ("cast", "beg", "start", "lower edge"))
    return Datum.CAST_ON if known else Datum.HERE


def armhole_from(instruction_of: Callable[[int], Instruction], start: int) -> int:
    """
    Return the row after which the armhole begins, for an open part that begins after row `start`.

    An armhole begins where stitches were bound off last, on both sides of the piece.
    """

    def binds_off(row: int) -> bool:
        return any(isinstance(item, BindOff) for item in instruction_of(row).items)

    for row in range(start, max(start - _BOUND_OFF_WITHIN, 0), -1):
        if binds_off(row):
            while row > 1 and binds_off(row - 1):
                row -= 1  # noqa: PLW2901 (down to the first of them)
            return row - 1
    return start
