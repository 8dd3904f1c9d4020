"""What stands before the words of a written line: which rows, which side, which sizes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from engine.pattern.notation import Amount


def _at() -> int:
    return field(default=0, compare=False, repr=False)


class Side(StrEnum):
    """Which side of the fabric faces the knitter; in the round it is always the right one."""

    RIGHT = "right"
    WRONG = "wrong"
    ROUND = "round"


class Which(StrEnum):
    """Rows named by a property instead of a number."""

    ALL = "all"
    RIGHT = "right"
    WRONG = "wrong"
    EVEN = "even"
    ODD = "odd"
    ALTERNATE = "alternate"
    OTHER = "other"


class HeadingKind(StrEnum):
    """How a line says which row it is."""

    NUMBERED = "numbered"
    WHICH = "which"
    NEXT = "next"
    NAMED = "named"


@dataclass(frozen=True, slots=True)
class Heading:
    """
    The beginning of a line: "Rows 1-3 (RS):", "Every WS row:", "Next row:", "Set-up row:".

    `numbers` are the rows by number, `also` the rows that are worked like them, `count` how many
    rows a line without numbers is, `label` the designer's own words. `mark` is what tells two
    rows of one number apart: the colour of "Rnd 1 MC", the letter of "Row 1a". `also_to` is the
    last row that is worked alike: "row 2 and all even rows to 10".
    """

    kind: HeadingKind
    label: str
    numbers: tuple[int, ...] = ()
    is_range: bool = False
    also: Which | None = None
    count: Amount = (1,)
    side: Side | None = None
    name: str = ""
    in_the_round: bool = False
    note: str = ""
    at: int = _at()
    mark: str = ""
    also_to: int | None = None
    span: tuple[Amount, Amount] | None = None
    """The first and the last row, where they differ from size to size: "Rows 8 to 40 (45, 50)"."""

    def for_size(self, size: int) -> Heading:
        """Return the heading with the rows of one size (counted from 0)."""
        if self.span is None:
            return self
        first, last = ((amount if len(amount) == 1 else amount[size:])[0] for amount in self.span)
        numbers = tuple(range(first, last + 1)) if first and last else ()
        return replace(self, numbers=numbers, span=None)


@dataclass(frozen=True, slots=True)
class SizesOnly:
    """Like "Sizes M and L only": the words before the line, as written."""

    text: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Unchecked:
    """A line that is carried as it is written and never counted."""

    label: str
    text: str
    at: int = _at()
