"""Simulated knitters, written without a look at the program: five families with a known truth.

    from bench.simulated import FAMILIES
    for seed in range(500):
        piece = FAMILIES["ar"].piece("untold change", seed)
        # piece.did: what the knitter does, in order; piece.asked: what the program should answer

A family has ``kinds`` (names) and ``piece(kind, seed)``; the same kind and seed always give the
same piece. For a variant of one's own, hand ``Variant(...)`` of the family's module to the
module's ``piece``. The records and their units are in ``bench.simulated.records``; to try a
program, tell it ``piece.did[: question.after]`` and compare its answer with the question's:

| family  | question    | truth                                                              |
|---------|-------------|--------------------------------------------------------------------|
| ar      | TargetRow   | ``answer``: first row at which the target is reached               |
| spline  | TargetRow   | the same                                                           |
| yarn    | YarnToEnd   | ``lasts``, ``needed`` (g to the end), ``whole_rows`` of the ball   |
| pace    | TimeLeft    | ``seconds`` of knitting left, no pause                             |
| tension | none        | ``truth.change_row``, ``truth.change_ratio``                       |

``python -m bench.simulated`` prints what the truths look like.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from bench.simulated import lengths_ar, lengths_spline, pace, tension, yarn
from bench.simulated.records import Piece

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["FAMILIES", "Family", "Piece"]


@dataclass(frozen=True, slots=True)
class Family:
    """A recipe and the names of its kinds."""

    kinds: tuple[str, ...]
    piece: Callable[[str, int], Piece]


FAMILIES: Final = {
    lengths_ar.FAMILY: Family(tuple(lengths_ar.KINDS), lengths_ar.piece),
    lengths_spline.FAMILY: Family(tuple(lengths_spline.KINDS), lengths_spline.piece),
    yarn.FAMILY: Family(tuple(yarn.KINDS), yarn.piece),
    pace.FAMILY: Family(tuple(pace.KINDS), pace.piece),
    tension.FAMILY: Family(tuple(tension.KINDS), tension.piece),
}
