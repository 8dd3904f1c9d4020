"""The length of the piece laid along a tape measure, as values; no Kivy here."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Final

from engine.quantities import LengthUnit

_METRIC_STEPS: Final = ((40, 5, 1), (120, 10, 2), (400, 50, 10), (2000, 100, 50))
_INCH_STEPS: Final = ((16, 1, 0.25), (48, 4, 1), (160, 12, 4), (800, 36, 12))


@dataclass(frozen=True, slots=True)
class Tape:
    """
    A length against its target; all lengths in `unit`.

    `measured` is the last length read (None: none yet); `low` and `high` are between which lengths
    the piece is now, by the forecast; `end` is where the drawn tape ends.
    """

    unit: LengthUnit
    target: float | None
    measured: float | None
    low: float | None
    high: float | None
    words: str
    end: float = 10.0
    guessed: bool = False
    """Whether nothing was read yet, and all of it is reckoned from swatch or pattern."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A line on the tape: where, and its number (None: a short line)."""

    at: float
    number: int | None


def tape_end(*lengths: float | None) -> float:
    """Return where a tape ends that has to show all of the lengths, with a little to spare."""
    longest = max((length for length in lengths if length is not None), default=0.0)
    return max(longest * 1.08, 5.0)


def ticks(tape: Tape) -> tuple[Tick, ...]:
    """Return the lines of a tape, as fine as can still be told apart."""
    steps = _INCH_STEPS if tape.unit is LengthUnit.IN else _METRIC_STEPS
    long, short = steps[-1][1], float(steps[-1][2])
    for limit, numbered, fine in steps:
        if tape.end <= limit:
            long, short = numbered, float(fine)
            break
    found: list[Tick] = []
    for index in range(ceil(tape.end / short) + 1):
        at = index * short
        if at > tape.end:
            break
        numbered_here = abs(at / long - round(at / long)) < 1e-9  # noqa: PLR2004 (rounding)
        found.append(Tick(at, round(at) if numbered_here else None))
    return tuple(found)
