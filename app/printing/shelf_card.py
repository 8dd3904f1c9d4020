"""A pattern as a card shows it before it is cast on: its fabric, its outline, and what it needs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import DrawnFabric
from app.pieces.pattern_cache import document_of
from app.printing.one_size import for_one_size
from app.printing.outline import outline_of
from app.printing.walked import walk
from app.wall import behind
from engine.facts.stated_gauge import read_stated_gauge
from engine.limits import STEPS_OF_ANSWER, Allowance
from engine.pattern import PatternDocument, PatternError
from engine.plan.rounding import worked_out
from engine.quantities import LengthUnit

if TYPE_CHECKING:
    from app.printing.outline import Outline
    from app.printing.walked import Walked
    from engine.quantities import Length

_ROWS: Final = 24
"""Rows that are drawn on a card, from the cast-on."""
STITCHES_A_MINUTE: Final = 20
"""A usual hand: a sleeve of 1,100 stitches takes 55 minutes (common practice, no source)."""
_TURN: Final = 6.0
"""Turning takes as long as so many stitches (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ShelfCard:
    """
    A pattern in one size; what cannot be told is None or empty.

    `outline` are corners in cm from the lower left, in the round of the flattened piece; `minutes`
    is what a usual hand takes.
    """

    fabric: DrawnFabric | None = None
    outline: tuple[tuple[float, float], ...] = ()
    width: Length | None = None
    height: Length | None = None
    in_the_round: bool = False
    minutes: float | None = None
    rows: int | None = None
    stitches_per_cm: float = 2.0
    rows_per_cm: float = 2.8
    """As the pattern states them, for the stitches within the outline."""


@lru_cache(maxsize=64)
def card_of(text: str, size: str | None) -> ShelfCard:
    """Return the card of a pattern text in a size; an empty one where it cannot be followed."""
    return behind(
        lambda: _card(text, size), lambda _: ShelfCard(), "The card of a pattern cannot be drawn"
    )


def _card(text: str, size: str | None) -> ShelfCard:
    document = document_of(text)
    if not isinstance(document, PatternDocument):
        return ShelfCard()
    try:
        course = document.course(size)
    except (KeyError, PatternError):
        return ShelfCard()
    gauge = read_stated_gauge(document.gauge or "")
    with Allowance(STEPS_OF_ANSWER).used():
        walked = walk(course, gauge.rows_per_10cm if gauge is not None else None)
        drawn = walked.drawn(_ROWS)
        outline = outline_of(walked, gauge, LengthUnit.CM)
    whole = walked.scaled and walked.whole
    return ShelfCard(
        fabric=DrawnFabric(drawn, off=True) if any(row.stitches for row in drawn) else None,
        outline=_corners(outline) if outline is not None else (),
        width=worked_out(outline.width(outline.widest)) if outline is not None else None,
        height=worked_out(outline.height) if outline is not None else None,
        in_the_round=course.in_the_round,
        minutes=_minutes(walked) if whole else None,
        rows=len(walked.rows) if whole else None,
        stitches_per_cm=float(outline.stitches_per_cm) if outline is not None else 2.0,
        rows_per_cm=float(outline.rows_per_cm) if outline is not None else 2.8,
    )


def _corners(outline: Outline) -> tuple[tuple[float, float], ...]:
    half = 2 if outline.in_the_round else 1
    across, up = float(outline.stitches_per_cm) * half, float(outline.rows_per_cm)
    lowest = min(level.left for level in outline.levels)
    right = [((level.right - lowest) / across, level.rows / up) for level in outline.levels]
    left = [((level.left - lowest) / across, level.rows / up) for level in outline.levels]
    return (*right, *reversed(left))


def said_for(document: PatternDocument, text: str, size: str | None) -> str:
    """Return what a pattern says, "44 (48, 52) cm", in the one size that was chosen."""
    sizes = document.sizes
    return for_one_size(text, len(sizes), sizes.index(size)) if size in sizes else text


def _minutes(walked: Walked) -> float | None:
    counts = [row.place.after or row.place.before for row in walked.rows]
    if not counts or any(count is None for count in counts):
        return None
    turns = 0.0 if walked.course.in_the_round else _TURN
    return sum((count or 0) + turns for count in counts) / STITCHES_A_MINUTE
