"""A piece as it is to be cast on, and as a list of pieces shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from engine.events import SwatchCounted, SwatchWeighed
    from engine.quantities import Length


@dataclass(frozen=True, slots=True)
class NewPiece:
    """
    What is known when a piece is cast on; `pattern` is the text of its pattern file.

    `pattern_piece` is the title of the piece that is knitted, where it is not the pattern's first.
    `swatch` is what was counted and weighed of the swatch, `lot` the dye lot of the first ball.
    `partner` is the id of the piece that it shall be the same as, or the mirror image of.
    """

    name: str
    project: str = ""
    pattern: str | None = None
    size: str | None = None
    pattern_piece: str | None = None
    cast_on: int | None = None
    target: Length | None = None
    count_every: int = 12
    swatch: tuple[SwatchCounted | SwatchWeighed, ...] = ()
    lot: str = ""
    partner: str | None = None
    mirrored: bool = False


@dataclass(frozen=True, slots=True)
class PieceSummary:
    """
    A piece in the journal, as a list of pieces shows it; `last_wall` is ISO 8601, UTC.

    `number` is its place in the order in which the pieces were begun: what it is called by.
    `rounds` is whether it is worked in rounds.
    """

    id: str
    name: str
    project: str
    done: int
    finished: bool
    last_wall: str
    number: int = 0
    rounds: bool = False


class PlanInputError(ValueError):
    """What was put in cannot be read; the sentence says why and how it is written."""
