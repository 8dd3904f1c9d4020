"""What the very first page shows: a piece in the making that is nobody's yet, and three ways."""

from __future__ import annotations

from typing import Final

from app.drawings.fabric import DrawnFabric, DrawnRow, DrawnStitch, FabricEdge, Seen

WAYS: Final = ("now", "pattern", "plan")
"""The ways to begin, in their order: each has its words and its picture."""
PICTURES: Final = {"now": "board", "pattern": "pattern", "plan": "plan"}
"""The small picture of each way."""

_ACROSS: Final = 26
_RIB: Final = 4
_ROWS: Final = 13
_WORKED: Final = 11


def picture() -> DrawnFabric:
    """Return a ribbed beginning with plain rows above it, in the middle of a row."""
    edge = DrawnStitch(Seen.PLAIN, edge=FabricEdge.CAST_ON)
    rows = [DrawnRow(0, (edge,) * _ACROSS)]
    for number in range(1, _ROWS + 1):
        ribbed = number <= _RIB
        rows.append(
            DrawnRow(
                number,
                tuple(
                    DrawnStitch(Seen.PURL if ribbed and at % 4 > 1 else Seen.KNIT, (at,))
                    for at in range(_ACROSS)
                ),
                leftwards=number % 2 == 1,
            )
        )
    return DrawnFabric(done=tuple(rows[:-1]), working=rows[-1], worked=_WORKED)
