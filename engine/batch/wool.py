"""
Whether the yarn of an order suffices: whole balls of one dye lot, and with what chance.

What a piece takes is drawn from the pieces of its kind that were weighed, else from what was
planned. Every knitter works from balls of her own, so each may be left with an open one. A ball is
taken to hold what its band says.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import TYPE_CHECKING, Final

from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from engine.batch.order import OrderedLine, OrderedPiece, OrderState, Stock

_RUNS: Final = 1000
_SPREAD: Final = 0.05
"""By how much two pieces of a kind differ in weight before two were weighed: the tolerance."""
_PLANNED_OFF: Final = 0.1
"""By how much a planned weight may be off (a tenth more is bought: common practice, no source)."""
_ENDS: Final = 0.03
"""What ends and tails take beside the piece (no source)."""
_SURE: Final = 0.95
_SEED: Final = 20_260_102


@dataclass(frozen=True, slots=True)
class WoolNeed:
    """
    The yarn of one colour: `chance` that the balls of the best lot suffice (None: not known).

    `balls` make it nineteen times in twenty; `lot` has `there` balls; `lots` are there in all.
    `ball_g` is what a ball holds, `grams` what the whole order takes, from the one to the other.
    `unknown` are lines of which no piece was weighed and no weight is planned.
    """

    colour: str
    lot: str
    there: int
    lots: int
    balls: int | None
    chance: float | None
    grams: tuple[float, float] | None
    ball_g: float | None
    unknown: tuple[str, ...]


def wool_needs(state: OrderState, grams: Mapping[int, float]) -> tuple[WoolNeed, ...]:
    """Return the need of every colour; `grams` are what pieces weigh, by their number."""
    colours = dict.fromkeys(line.colour for line in state.lines)
    return tuple(_need(state, colour, grams) for colour in colours)


def _need(state: OrderState, colour: str, grams: Mapping[int, float]) -> WoolNeed:
    lines = [line for line in state.lines if line.colour == colour]
    stock = [one for one in state.stock if one.colour.casefold() == colour.casefold() and one.balls]
    best = max(stock, key=lambda one: one.balls * one.ball.grams, default=None)
    lot, there = (best.lot, best.balls) if best is not None else ("", 0)
    weights = {line.first: _weight(state, line, grams) for line in lines}
    unknown = tuple(line.title for line in lines if weights[line.first] is None)
    if unknown:
        return WoolNeed(colour, lot, there, len(stock), None, None, None, None, unknown)
    dice = random.Random(_SEED)  # noqa: S311 (no secret: the same dice every time)
    bad = 1 + sum(len(one.rejected) for _, one in state.told)
    good = 11 + sum(one.stage in {Stage.MEASURED, Stage.PACKED} for _, one in state.told)
    work = [
        (line, weight, state.pieces(line))
        for line in lines
        if (weight := weights[line.first]) is not None
    ]
    runs = [_run(work, grams, (bad, good), dice) for _ in range(_RUNS)]
    totals = sorted(sum(run.values()) for run in runs)
    between = totals[_RUNS // 20], totals[-_RUNS // 20]
    if best is None:
        return WoolNeed(colour, lot, there, 0, None, None, between, None, ())
    needed = sorted(_balls(run, best) for run in runs)
    chance = fmean(one <= best.balls for one in needed)
    balls = needed[math.ceil(_SURE * _RUNS) - 1]
    return WoolNeed(colour, lot, there, len(stock), balls, chance, between, best.ball.grams, ())


def _balls(grams: Mapping[str, float], stock: Stock) -> int:
    return sum(math.ceil(one / stock.ball.grams) for one in grams.values() if one > 0)


def _weight(
    state: OrderState, line: OrderedLine, grams: Mapping[int, float]
) -> tuple[float, float, float] | None:
    """Return the mean weight of a piece, the error of the mean and the spread."""
    known = [grams[one.number] for one in state.pieces(line) if grams.get(one.number, 0) > 0]
    if known:
        mean = fmean(known)
        spread = max(stdev(known) if len(known) > 1 else 0.0, _SPREAD / 3 * mean)
        if len(known) < 3:  # noqa: PLR2004 (two say little of how they differ)
            spread = _SPREAD * mean
        return mean, spread / math.sqrt(len(known)), spread
    if line.wanted is not None and line.wanted.mass is not None:
        mean = line.wanted.mass.grams
        return mean, _PLANNED_OFF * mean, _SPREAD * mean
    return None


def _run(
    work: Sequence[tuple[OrderedLine, tuple[float, float, float], tuple[OrderedPiece, ...]]],
    grams: Mapping[int, float],
    judged: tuple[int, int],
    dice: random.Random,
) -> dict[str, float]:
    """Return what each knitter takes of a colour for the whole order, knitted pieces included."""
    taken: dict[str, float] = {}
    share = dice.betavariate(*judged)
    for line, weight, pieces in work:
        mean = dice.gauss(weight[0], weight[1])
        lost = 0
        for piece in pieces:
            made = 1 + len(piece.rejected)
            known = grams.get(piece.number)
            own = [max(dice.gauss(mean, weight[2]), 0.0) for _ in range(made)]
            if known:
                own[0] = known
            taken[piece.knitter] = taken.get(piece.knitter, 0.0) + sum(own) * (1 + _ENDS)
            lost += _open(piece) and dice.random() < share
        again = max(lost - line.spares, 0) * mean * (1 + _ENDS)
        taken[""] = taken.get("", 0.0) + again
    return taken


def _open(piece: OrderedPiece) -> bool:
    return piece.stage not in {Stage.MEASURED, Stage.PACKED}
