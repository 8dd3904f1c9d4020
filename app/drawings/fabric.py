"""A piece of fabric as values: which stitch came out of which, and how it is seen; no Kivy here.

The fabric is seen from its right side, as charts are read: a right-side row runs from right to
left, a wrong-side row from left to right (for left-handers the other way round). Every stitch
knows which stitches of the row below it came out of, so that a decrease leans, an increase
spreads and the columns run on as they do in wool.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum


class Seen(StrEnum):
    """What a stitch looks like from the right side."""

    KNIT = "knit"
    PURL = "purl"
    OVER = "over"
    PLAIN = "plain"


class FabricEdge(StrEnum):
    """What a row is beside plain rows."""

    NONE = "none"
    CAST_ON = "cast_on"
    BIND_OFF = "bind_off"


@dataclass(frozen=True, slots=True)
class DrawnStitch:
    """A stitch and the columns of the row below that it came out of, the one in front first.

    No columns: it was made between two stitches, beside column `beside`. Stitches of a crossing lie
    in `front` of their neighbours or behind them (`crosses`). An `idle` stitch is not worked in
    this row. `colour` is the letter of its yarn in the pattern, "" where there is only one.
    """

    seen: Seen
    out_of: tuple[int, ...] = ()
    beside: float = 0.0
    edge: FabricEdge = FabricEdge.NONE
    crosses: bool = False
    front: bool = False
    idle: bool = False
    colour: str = ""


@dataclass(frozen=True, slots=True)
class DrawnRow:
    """A row with its stitches from left to right, seen from the right side."""

    number: int
    stitches: tuple[DrawnStitch, ...]
    leftwards: bool = True
    """Whether it is worked from right to left."""

    @property
    def in_order(self) -> tuple[DrawnStitch, ...]:
        """Its stitches in the order of work."""
        return self.stitches[::-1] if self.leftwards else self.stitches

    @property
    def text(self) -> str:
        """Its number, and the letters of its yarns where there are several: "12", "12 A B"."""
        yarns = dict.fromkeys(s.colour for s in self.in_order if s.colour and not s.idle)
        return " ".join((str(self.number), *(letter.upper() for letter in yarns)))

    @property
    def changes_count(self) -> bool:
        """Whether it has increases or decreases."""
        return any(len(stitch.out_of) != 1 for stitch in self.stitches)


@dataclass(frozen=True, slots=True)
class DrawnFabric:
    """What is drawn: rows done from the lowest to the last, the working row, the next different.

    `worked` stitches of the working row are on the receiving needle; `bit_first` and `bit_count`
    name the bit of the instruction that is worked now, counted in the order of work.
    """

    done: tuple[DrawnRow, ...]
    working: DrawnRow | None = None
    worked: int = 0
    bit_first: int = 0
    bit_count: int = 0
    hint: DrawnRow | None = None
    open_sides: bool = False
    """Whether nobody knows how wide it is: its sides are not shown."""
    off: bool = False
    """Whether it is off the needle."""

    @property
    def colours(self) -> tuple[str, ...]:
        """The letters of its yarns, in the order in which they come from the lowest row up.

        Before any is named, and where there is only one, it is "": the first of them.
        """
        rows = [*self.done, *(row for row in (self.working, self.hint) if row is not None)]
        found = dict.fromkeys(s.colour for row in rows for s in row.in_order if s.colour)
        return tuple(found) or ("",)

    @property
    def widest(self) -> int:
        """The most stitches in any of its rows."""
        rows = [*self.done, *([self.working] if self.working else [])]
        return max((len(row.stitches) for row in rows), default=0)


def mirrored(fabric: DrawnFabric) -> DrawnFabric:
    """Return the fabric as a left-hander makes it: everything the other way round."""

    def turn(row: DrawnRow, below: int) -> DrawnRow:
        stitches = tuple(
            replace(
                stitch,
                out_of=tuple(below - 1 - column for column in stitch.out_of),
                beside=below - 1 - stitch.beside,
            )
            for stitch in reversed(row.stitches)
        )
        return DrawnRow(row.number, stitches, not row.leftwards)

    def stitches_below(row: DrawnRow) -> int:
        return 1 + max((max(s.out_of) for s in row.stitches if s.out_of), default=0)

    done: list[DrawnRow] = []
    for row in fabric.done:
        done.append(turn(row, len(done[-1].stitches) if done else stitches_below(row)))
    top = len(done[-1].stitches) if done else 0
    return replace(
        fabric,
        done=tuple(done),
        working=turn(fabric.working, top or stitches_below(fabric.working))
        if fabric.working
        else None,
        hint=turn(fabric.hint, stitches_below(fabric.hint)) if fabric.hint else None,
    )
