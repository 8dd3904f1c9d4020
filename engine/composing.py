"""
What a knitter says of the rows that she makes up as she knits: a part of the command language.

A row is said in the words of the trade and arrives here as the trade writes it ("*k2, p2; rep from
*"), so that whoever reads written rows counts it. Several readings of one utterance are several
commands; the stitches on the needle tell them apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import ClassVar

from engine.quantities import Length


class Which(StrEnum):
    """Which row is said, where no number says it."""

    THIS = "this"
    NEXT = "next"


@dataclass(frozen=True, slots=True)
class SayRow:
    """
    A row as it is worked: row `row`, or rows `rows` to `row`, or the one that `which` names.

    `text` is the row as the trade writes it ("": only the opener was said, the row follows).
    `words` are all the words of the row, so that more can be said of it. `like` makes it the same
    as another row (0: the row before it), `more` goes on with the one that is being said and `was`
    mends the record of a row that is done. `in_round` tells that it was called a round, `behind`
    how much less likely this reading is than the first one, in the logarithm of likelihoods.
    """

    name: ClassVar[str] = "say_row"
    text: str = ""
    row: int | None = None
    rows: int | None = None
    which: Which = Which.THIS
    words: str = ""
    like: int | None = None
    more: bool = False
    was: bool = False
    in_round: bool = False
    behind: float = field(default=0.0, compare=False)


@dataclass(frozen=True, slots=True)
class RepeatRows:
    """
    Work rows again: the last `rows`, or rows `first` to `row`; with neither the last repeat.

    `count` times more, or until the piece measures `length`, or (neither) until something else is
    said.
    """

    name: ClassVar[str] = "repeat_rows"
    rows: int | None = None
    first: int | None = None
    row: int | None = None
    count: int | None = None
    length: Length | None = None


class Shaping(StrEnum):
    """Whether a shaping takes stitches away or adds them, as the trade writes it."""

    DECREASE = "dec"
    INCREASE = "inc"


@dataclass(frozen=True, slots=True)
class ShapeRows:
    """
    Shape at both ends from here on: `each` stitches there, on every `every`-th row.

    `at_once`: the first time on the next row to be said. `count` times in all, or to `stitches`;
    one of the two has to be said.
    """

    name: ClassVar[str] = "shape_rows"
    shaping: Shaping
    each: int = 1
    every: int = 1
    at_once: bool = False
    count: int | None = None
    stitches: int | None = None


@dataclass(frozen=True, slots=True)
class CastOnStitches:
    """So many stitches are cast on: the piece begins with them."""

    name: ClassVar[str] = "cast_on_stitches"
    count: int


Composing = SayRow | RepeatRows | ShapeRows | CastOnStitches
