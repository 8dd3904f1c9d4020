"""How far an order is: counts by stage, what lies drying, what is to be started next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from engine.stages import Stage

if TYPE_CHECKING:
    from engine.batch.order import OrderedLine, OrderedPiece, OrderState

DRY_HOURS: Final = (24, 48)
"""So long knitting dries, lying flat (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class LineProgress:
    """A line with how many of its pieces are just at each stage (None: not begun)."""

    line: OrderedLine
    at: dict[Stage | None, int]
    rejected: int

    @property
    def knitted(self) -> int:
        """How many are off the needles."""
        return sum(many for stage, many in self.at.items() if stage not in {None, Stage.BEGUN})

    @property
    def packed(self) -> int:
        """How many are packed."""
        return self.at[Stage.PACKED]


@dataclass(frozen=True, slots=True)
class Drying:
    """A piece that lies drying since `hours`; `ready` from a day on, `late` beyond two."""

    number: int
    hours: float

    @property
    def ready(self) -> bool:
        """Whether it may be dry."""
        return self.hours >= DRY_HOURS[0]

    @property
    def late(self) -> bool:
        """Whether it should long be dry."""
        return self.hours > DRY_HOURS[1]


def progress(state: OrderState) -> tuple[LineProgress, ...]:
    """Return how far each line is."""
    return tuple(_of_line(state, line) for line in state.lines)


def _of_line(state: OrderState, line: OrderedLine) -> LineProgress:
    pieces = state.pieces(line)
    at: dict[Stage | None, int] = dict.fromkeys((None, *Stage), 0)
    for one in pieces:
        at[one.stage] += 1
    return LineProgress(line, at, sum(len(one.rejected) for one in pieces))


def drying(state: OrderState, now: str) -> tuple[Drying, ...]:
    """Return what lies washed, the longest first; `now` is the wall time (ISO 8601, UTC)."""
    found = [
        Drying(one.number, hours)
        for number, one in state.told
        if one.stage is Stage.WASHED
        and state.line_of(number) is not None
        and (hours := hours_between(one.since, now)) is not None
    ]
    return tuple(sorted(found, key=lambda one: -one.hours))


def hours_between(earlier: str, later: str) -> float | None:
    """Return the hours from one wall time to another, not below zero; None where one is none."""
    first, last = moment(earlier), moment(later)
    if first is None or last is None:
        return None
    return max((last - first).total_seconds() / 3600, 0.0)


def moment(wall: str) -> datetime | None:
    """Return a wall time or a day (ISO 8601) as a moment in UTC; None if it is none."""
    try:
        found = datetime.fromisoformat(wall)
    except ValueError:
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def next_to_start(state: OrderState) -> OrderedPiece | None:
    """
    Return the piece to start next; None if all are begun.

    It is what was rejected, as that may be waited for; else of the line that lacks the largest
    share of its pieces, so that all kinds get ready together; spares come last.
    """
    ordered: list[OrderedPiece] = []
    spare: list[OrderedPiece] = []
    open_share: list[tuple[float, int, OrderedPiece]] = []
    for line in state.lines:
        waiting = [one for one in state.pieces(line) if one.stage is None]
        ordered += [one for one in waiting if one.rejected]
        due = [one for one in waiting if one.number < line.first + line.count]
        spare += [one for one in waiting if one.number >= line.first + line.count]
        if due:
            open_share.append((len(due) / line.count, -line.first, due[0]))
    if ordered:
        return ordered[0]
    if open_share:
        return max(open_share, key=lambda one: one[:2])[2]
    return spare[0] if spare else None


class StageDoubt(StrEnum):
    """Why it is doubtful that a piece is at a stage."""

    NO_SUCH_PIECE = "no_such_piece"
    SO_ALREADY = "so_already"
    BACK = "back"
    NOT_KNITTED = "not_knitted"
    STILL_WET = "still_wet"


def stage_doubt(state: OrderState, number: int, stage: Stage, now: str) -> StageDoubt | None:
    """Return why it is doubtful that a piece is at a stage `now` (wall time); None: it is not."""
    if state.line_of(number) is None:
        return StageDoubt.NO_SUCH_PIECE
    piece, stages = state.piece(number), list(Stage)
    at = stages.index(piece.stage) if piece.stage is not None else -1
    to = stages.index(stage)
    if to == at:
        return StageDoubt.SO_ALREADY
    if to < at:
        return StageDoubt.BACK
    if to > stages.index(Stage.KNITTED) > at and piece.stage is None:
        return StageDoubt.NOT_KNITTED
    if piece.stage is Stage.WASHED and to >= stages.index(Stage.DRY):
        hours = hours_between(piece.since, now)
        if hours is not None and hours < DRY_HOURS[0] / 2:
            return StageDoubt.STILL_WET
    return None
