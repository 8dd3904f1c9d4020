"""Pace: how long rows take, and how much knitting is left.

A row takes its stitches times the knitter's seconds a stitch, times the sitting, times what makes
the kind, plus the turn of the work. Rows are told one by one, three at once or in uneven bunches:
the time since the last telling belongs to the whole bunch, and so does every pause in it. Pauses
are never told; a new sitting is (``SessionBegan``). The truth asked for is knitting time, no pause.

``KINDS`` names the variants; ``piece(kind, seed)`` makes one; ``kind`` is a name or a ``Variant``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING, Final, Literal

from bench.simulated.chance import a_yarn, sittings, stream
from bench.simulated.records import Deed, Piece, RowsDone, SessionBegan, TimeLeft, Truth, heights

if TYPE_CHECKING:
    from random import Random

FAMILY: Final = "pace"


@dataclass(frozen=True, slots=True)
class Variant:
    """What makes a kind."""

    told: Literal["one", "three", "bunches"] = "one"
    """Rows told at once: one; always three; or one to eight, drawn anew each time."""
    learning_percent: float = 0.0
    """How much less a stitch takes at the end of the piece than at its start (no source)."""
    tiring_percent: float = 0.0
    """How much longer a stitch takes after an hour of one sitting than at its start (no source)."""
    sitting_percent: float = 8.0
    """Standard deviation of a sitting's pace (common practice, no source)."""
    shape: Literal["straight", "widening", "narrowing"] = "straight"
    """Widening: a triangular shawl, cast on 5, two more every other row; narrowing: backwards."""
    pause_share: float = 0.04
    """Share of rows with a pause in them: half a minute to twenty minutes (no source)."""


KINDS: Final = {
    "one": Variant(),
    "three": Variant(told="three"),
    "bunches": Variant(told="bunches"),
    "learning": Variant(learning_percent=25.0),
    "tiring": Variant(tiring_percent=15.0),
    "widening": Variant(shape="widening"),
    "narrowing": Variant(shape="narrowing"),
    "widening, bunches": Variant(shape="widening", told="bunches"),
    "no pauses": Variant(pause_share=0.0),
    "many pauses": Variant(pause_share=0.15, told="bunches"),
}


def piece(kind: str | Variant, seed: int) -> Piece:
    """Return one piece; a question follows the telling at about 15, 30, ... 90 % of the rows."""
    name, variant = (kind, KINDS[kind]) if isinstance(kind, str) else ("variant", kind)
    choice = stream(FAMILY, seed, "choices")
    rows = choice.randint(40, 200)
    stitches = _stitches(variant, rows, choice.randint(30, 120))
    hand = stream(FAMILY, seed, "hand")
    sitting = sittings(hand, rows, 10, 40)
    seconds = _seconds(hand, variant, stitches, sitting)

    breaks = stream(FAMILY, seed, "breaks")
    bunch = stream(FAMILY, seed, "bunches")
    did: list[Deed] = [SessionBegan(0.0, 0)]
    asked: list[TimeLeft] = []
    questions = [round(rows * share / 100) for share in (15, 30, 45, 60, 75, 90)]
    now, told = 0.0, 0
    aim = _told_at_once(bunch, variant)
    for row in range(1, rows + 1):
        if sitting[row] != sitting[row - 1]:
            now += breaks.uniform(4, 48) * 3600
            did.append(SessionBegan(now, row - 1))
        pause = exp(breaks.uniform(3.4, 7.1))  # 30 s to 20 min, short ones more often
        now += seconds[row] + (pause if breaks.random() < variant.pause_share else 0.0)
        sits_on = row < rows and sitting[row + 1] == sitting[row]
        if row - told < aim and sits_on:
            continue  # what is still untold at the end of a sitting is told then
        did.append(RowsDone(now, row, row - told))
        told, aim = row, _told_at_once(bunch, variant)
        due = [question for question in questions if question <= row]
        if due and row < rows:
            asked.append(TimeLeft(len(did), row, sum(seconds[row + 1 :])))
        questions = questions[len(due) :]
    yarn = a_yarn(choice)
    truth = Truth(
        heights([1 / yarn.rows_per_cm] * rows),
        stitches,
        tuple(yarn.grams_per_stitch * count for count in stitches),
        seconds,
    )
    kinds = ("stockinette",) * (rows + 1)
    return Piece(FAMILY, name, seed, rows, stitches, kinds, truth, tuple(did), tuple(asked))


def _stitches(variant: Variant, rows: int, straight: int) -> tuple[int, ...]:
    """Return the stitches of each row."""
    if variant.shape == "straight":
        return (straight,) * (rows + 1)
    widening = [5 + 2 * ((row + 1) // 2) for row in range(rows + 1)]
    return tuple(widening if variant.shape == "widening" else widening[::-1])


def _seconds(
    rng: Random, variant: Variant, stitches: tuple[int, ...], sitting: list[int]
) -> tuple[float, ...]:
    """Return the knitting time of each row.

    3 s a stitch in the middle (a mug sleeve of 50 x 22 stitches in 55 minutes, common practice),
    2 to 4.5 between knitters; 2 to 6 s to turn; 10 % between rows, alone: no source.
    """
    pace, turn = 3 * exp(rng.uniform(-0.4, 0.4)), rng.uniform(2, 6)
    offsets = [exp(rng.gauss(0, variant.sitting_percent / 100)) for _ in range(sitting[-1] + 1)]
    rows = len(stitches) - 1
    seconds = [0.0]
    awake = 0.0
    for row in range(1, rows + 1):
        if sitting[row] != sitting[row - 1]:
            awake = 0.0
        learnt = 1 - variant.learning_percent / 100 * row / rows
        tired = 1 + variant.tiring_percent / 100 * awake / 3600
        spread = exp(rng.gauss(0, 0.1))
        took = pace * stitches[row] * offsets[sitting[row]] * learnt * tired * spread + turn
        seconds.append(took)
        awake += took
    return tuple(seconds)


def _told_at_once(rng: Random, variant: Variant) -> int:
    """Return how many rows the next telling has."""
    return {"one": 1, "three": 3, "bunches": rng.randint(1, 8)}[variant.told]
