"""Cut a piece into regimes: runs of rows knitted in one stitch on one needle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.forecast.values import LengthReading, PartSpan


@dataclass(frozen=True, slots=True)
class Regime:
    """Rows after `start` up to and including `end` (None: open) in one stitch on one needle."""

    part: str
    needle: str
    start: int
    end: int | None


def regimes(parts: Sequence[PartSpan], readings: Sequence[LengthReading]) -> tuple[Regime, ...]:
    """Return the regimes of the whole piece in order, from row 0 to open end, without gaps.

    The spans win; where they leave a row out the stitch before it goes on. Without spans the
    readings' own parts decide: a reading's part holds since the reading before it.
    """
    cuts = _from_spans(parts) if parts else _from_readings(readings)
    if not cuts:
        cuts = [(0, "", "")]
    if not any(needle for _, _, needle in cuts):
        cuts = _with_needles(cuts, readings)
    found: list[Regime] = []
    for place, (start, part, needle) in enumerate(cuts):
        end = cuts[place + 1][0] if place + 1 < len(cuts) else None
        if end is None or end > start:
            found.append(Regime(part, needle, start, end))
    return tuple(found)


_Cut = tuple[int, str, str]  # rows done where it starts, part, needle


def _from_spans(parts: Sequence[PartSpan]) -> list[_Cut]:
    ordered = sorted(parts, key=lambda span: span.first)
    return [
        (0 if place == 0 else span.first - 1, span.part, span.needle)
        for place, span in enumerate(ordered)
    ]


def _from_readings(readings: Sequence[LengthReading]) -> list[_Cut]:
    cuts: list[_Cut] = []
    done = 0
    for reading in sorted(readings, key=lambda reading: reading.row):
        if not cuts or cuts[-1][1] != reading.part:
            cuts.append((done, reading.part, ""))
        done = reading.row
    return cuts


def _with_needles(cuts: list[_Cut], readings: Sequence[LengthReading]) -> list[_Cut]:
    """Cut again where the readings name another needle, from the last reading on the old one."""
    changes: list[tuple[int, str]] = []
    done = 0
    for reading in sorted(readings, key=lambda reading: reading.row):
        if reading.needle and (not changes or changes[-1][1] != reading.needle):
            changes.append((done if changes else 0, reading.needle))
        done = reading.row
    if not changes:
        return cuts
    starts = sorted({start for start, _, _ in cuts} | {start for start, _ in changes})
    return [
        (
            start,
            next(part for first, part, _ in reversed(cuts) if first <= start),
            next(needle for first, needle in reversed(changes) if first <= start),
        )
        for start in starts
    ]
