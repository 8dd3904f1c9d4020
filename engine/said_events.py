"""What a knitter says of the rows that she makes up, as it is written down; see `engine.events`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from engine.composing import Shaping  # noqa: TC001 (payloads are read by the types of the fields)
from engine.quantities import Length  # noqa: TC001 (the same)


@dataclass(frozen=True, slots=True)
class CastOnSaid:
    """So many stitches were cast on, of a piece that was begun without a number."""

    kind: ClassVar[str] = "cast_on_said"
    stitches: int


@dataclass(frozen=True, slots=True)
class RowSaid:
    """
    Rows `first` to `last` are each worked as `text`, a row as the trade writes it.

    `stitches` were on the needle before them, where that does not follow from the rows before;
    `in_round`: they are rounds.
    """

    kind: ClassVar[str] = "row_said"
    first: int
    last: int
    text: str
    stitches: int | None
    in_round: bool


@dataclass(frozen=True, slots=True)
class RowBegun:
    """Rows `first` to `last` are being said: so far `words`, which the trade writes as `text`."""

    kind: ClassVar[str] = "row_begun"
    first: int
    last: int
    words: str
    text: str
    in_round: bool


@dataclass(frozen=True, slots=True)
class RowsRepeated:
    """From row `first` on rows `of_first` to `of_last` come again: `times` times, or `until`."""

    kind: ClassVar[str] = "rows_repeated"
    first: int
    of_first: int
    of_last: int
    times: int | None
    until: Length | None
    stitches: int | None


@dataclass(frozen=True, slots=True)
class ShapingSaid:
    """
    Rows `first` to `last` go on as before; on row `start` and every `every` rows they are shaped.

    At both ends `each` stitches are worked as `shaping` says. `stitches` as in `RowSaid`.
    """

    kind: ClassVar[str] = "shaping_said"
    first: int
    last: int
    start: int
    every: int
    each: int
    shaping: Shaping
    stitches: int | None


@dataclass(frozen=True, slots=True)
class RowMended:
    """Row `row` was really worked as `text`; the record was wrong, and no stitch changes."""

    kind: ClassVar[str] = "row_mended"
    row: int
    text: str


OfRows = CastOnSaid | RowSaid | RowBegun | RowsRepeated | ShapingSaid | RowMended
