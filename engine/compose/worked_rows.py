"""Rows as they were or will be worked, as lines of a pattern; what comes again is folded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.compose.folding import fold_rows
from engine.compose.written_pattern import WrittenLine, heading
from engine.pattern import Side

if TYPE_CHECKING:
    from collections.abc import Sequence

SIDES: Final = {Side.RIGHT: " (RS)", Side.WRONG: " (WS)", Side.ROUND: ""}


@dataclass(frozen=True, slots=True)
class WorkedRow:
    """
    A row as it was worked.

    `count` are the stitches after it, where they are other than before, `trusted` those after a row
    that the reader takes on trust.
    """

    row: int
    text: str
    note: str
    count: int | None
    trusted: int | None

    @property
    def worked(self) -> tuple[str, bool, int | None]:
        """What makes rows equal, so that they are written once: all but the count and the note."""
        return self.text, self.count is not None, self.trusted


def written_line(row: WorkedRow, begin: str, *, counted: bool = True) -> WrittenLine:
    """Write one row behind its heading, with its count where that is another than before."""
    stated = f" ({row.count} sts)" if counted and row.count is not None else ""
    return WrittenLine(f"{begin} {row.text}{stated}", row.note, row.trusted)


def folded_lines(rows: Sequence[WorkedRow], first: Side, *, in_round: bool) -> list[WrittenLine]:
    """Write rows, those that come again folded; numbers begin with 1."""
    lines: list[WrittenLine] = []
    at = 0
    for block in fold_rows([(*row.worked, row.note) for row in rows]):
        body, after = rows[at : at + len(block.rows)], at + len(block.rows) * block.times
        side = SIDES[first] if at == 0 else ""
        if len(body) == 1 and block.times > 1 and body[0].count is None:
            begin = heading(at + 1, after, in_round=in_round)
            lines.append(written_line(body[0], begin.replace(":", f"{side}:")))
        else:
            for number, row in enumerate(body, at + 1):
                begin = heading(number, number, in_round=in_round)
                begin = begin.replace(":", f"{side}:") if number == 1 else begin
                lines.append(written_line(row, begin, counted=block.times == 1))
        if block.times > 1 and (len(body) > 1 or body[0].count is not None):
            repeat = again(at + 1, len(body), block.times - 1, in_round=in_round)
            counts = [row.count for row in rows[at:after] if row.count is not None]
            lines.append(WrittenLine(f"{repeat} ({counts[-1]} sts)" if counts else repeat))
        at = after
    return lines


def again(first: int, rows: int, more: int, *, in_round: bool) -> str:
    """Write that rows come again: "Rep rows 1 and 2 once more", "Rep rows 1-4 3 more times"."""
    word = "rnd" if in_round else "row"
    last = first + rows - 1
    which = f"{word} {first}" if rows == 1 else (
        f"{word}s {first} and {last}" if rows == 2 else f"{word}s {first}-{last}"  # noqa: PLR2004
    )  # fmt: skip
    return f"Rep {which} {'once more' if more == 1 else f'{more} more times'}"
