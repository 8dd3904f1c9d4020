"""Puts a piece of the two length families in order: swatch, target, rows, lengths, questions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.simulated.records import (
    Deed,
    Length,
    Measured,
    NeedleChanged,
    Piece,
    RowsDone,
    SessionBegan,
    State,
    SwatchCounted,
    TargetRow,
    TargetSet,
    Truth,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


@dataclass(frozen=True, slots=True)
class Reading:
    """One look at the tape: what is said of which row, and whether it is a mistake."""

    row: int
    length: Length
    state: State
    slip: bool = False


@dataclass(frozen=True, slots=True)
class Story:
    """Everything that happens to a piece of the length families.

    ``needles`` maps the row after which the needle changes to the change; ``done_at`` is when each
    row is done (seconds), ``sitting`` the number of the sitting it belongs to.
    """

    family: str
    kind: str
    seed: int
    truth: Truth
    target: Length
    target_state: State
    swatches: Sequence[SwatchCounted]
    readings: Sequence[Reading]
    needles: Mapping[int, tuple[float, float]]
    done_at: Sequence[float]
    sitting: Sequence[int]


def tell(story: Story) -> Piece:
    """Return the piece: rows told one by one until the target, each length followed by a question.

    A question comes after the swatches and the target too (``measurements`` 0), if there is a
    swatch.
    """
    end = story.truth.row_reaching(story.target.cm, story.target_state)
    if end is None:
        raise ValueError("The true rows have to reach beyond the target; make more of them.")
    did: list[Deed] = [
        SessionBegan(0.0, 0),
        *story.swatches,
        TargetSet(0.0, 0, story.target, story.target_state),
    ]
    asked = [TargetRow(len(did), 0, 0, end)] if story.swatches else []
    slips = set()
    measured = 0
    for row in range(1, end + 1):
        now = story.done_at[row]
        if story.sitting[row] != story.sitting[row - 1]:
            # One sits down before the first row of the sitting; its knitting time is behind `now`.
            did.append(SessionBegan(now - story.truth.seconds_by_row[row], row - 1))
        did.append(RowsDone(now, row))
        for reading in (reading for reading in story.readings if reading.row == row):
            if reading.slip:
                slips.add(len(did))
            did.append(Measured(now, row, reading.length, reading.state))
            measured += 1
            if row < end:
                asked.append(TargetRow(len(did), row, measured, end))
        if row in story.needles:
            did.append(NeedleChanged(now, row, *story.needles[row]))
    stitches = story.truth.stitches_by_row[: end + 1]
    return Piece(
        story.family,
        story.kind,
        story.seed,
        end,
        stitches,
        ("stockinette",) * len(stitches),
        replace(story.truth, slips=frozenset(slips)),
        tuple(did),
        tuple(asked),
    )
