"""
How many hours an order still takes, and when it is ready at this pace: by simulation.

Each of many runs draws how long a piece of each kind takes (from the pieces that were timed), how
the hands of the crew differ, what is rejected and knitted again, and how many hours a week each
of them really knits; the last pieces are then finished and dried. What is told is the middle of the
runs with the 90 % between. The dice always fall the same way, so that the same order gives the same
answer.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from statistics import fmean, median, quantiles
from typing import TYPE_CHECKING, Final

from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from engine.batch.order import OrderedLine, OrderedPiece, OrderState

    _Work = Sequence[tuple[OrderedLine, "_Kind", tuple[OrderedPiece, ...]]]

RUNS: Final = 1000
_SPREAD: Final = 0.15
"""By how much the times of two pieces of one kind differ, relative, before any was timed; and how
many pieces that guess is worth (both: no source)."""
_WORTH: Final = 3
_HANDS: Final = 0.2
"""By how much two hands differ, relative (no source)."""
_OTHER_KIND: Final = 0.3
"""How far the time of a kind is off that is reckoned from the stitches of another (no source)."""
_WEEKS: Final = 0.5
"""By how much the hours of two weeks differ, relative, one week in ten away among them: those that
are knitted in differ by 0.35, and sqrt((1 + 0.35**2) / 0.9 - 1) is 0.5 (no source)."""
_REJECTS: Final = (1, 11)
"""One in twelve is rejected, before any was measured (common practice, no source)."""
_FINISHING_DAYS: Final = (1.5, 4.0)
"""Ends, wash, 24 to 48 hours of drying, measuring, packing of the last (common practice)."""
_FEWEST_KNITTED: Final = 3
_FEWEST_DAYS: Final = 14.0
"""From so many pieces over so many days on the pace is that of the order itself."""
_SEED: Final = 20_260_101


@dataclass(frozen=True, slots=True)
class Between:
    """The middle of the runs and the 90 % between."""

    low: float
    best: float
    high: float


@dataclass(frozen=True, slots=True)
class Timing:
    """
    What is known of the work: `minutes` of knitted pieces by their number.

    `share` is how much of a begun piece is knitted, 0 to 1; `days` how long the order has run,
    `left` the days until it is due (None: no day is set).
    """

    minutes: Mapping[int, float]
    share: Mapping[int, float]
    days: float
    left: float | None


@dataclass(frozen=True, slots=True)
class Readiness:
    """
    Hours of knitting to come and days until all is packed; None: it cannot be said.

    `unknown_lines` were neither timed nor can be reckoned from others; `unknown_hours` are
    knitters of whom nobody knows how many hours a week they have. `chance` is that of being ready
    on the day.
    """

    hours: Between | None
    days: Between | None
    chance: float | None
    unknown_lines: tuple[str, ...]
    unknown_hours: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """The logarithm of the minutes of a line's pieces: mean, its error, spread and its worth."""

    mean: float
    error: float
    spread: float
    worth: int


def readiness(state: OrderState, known: Timing) -> Readiness:
    """Return what is still to come of an order."""
    hands = _hands(state, known)
    kinds = {line.first: _kind(state, line, known, hands) for line in state.lines}
    missing = tuple(
        line.title
        for line in state.lines
        if kinds[line.first] is None and any(_to_knit(one) for one in state.pieces(line))
    )
    if missing:
        return Readiness(None, None, None, missing, ())
    weekly, lacking = _weekly(state, known)
    dice = random.Random(_SEED)  # noqa: S311 (no secret: the same dice every time)
    work = [
        (line, kind, state.pieces(line))
        for line in state.lines
        if (kind := kinds[line.first]) is not None
    ]
    runs = [_run(state, known, work, hands, weekly, dice) for _ in range(RUNS)]
    days = None if lacking or not weekly else _range([day for _, day in runs])
    chance = None
    if days is not None and known.left is not None:
        chance = fmean(day <= known.left for _, day in runs)
    return Readiness(_range([hours for hours, _ in runs]), days, chance, (), lacking)


def _range(values: Sequence[float]) -> Between:
    parts = quantiles(values, n=20, method="inclusive")
    return Between(parts[0], median(values), parts[-1])


def _to_knit(piece: OrderedPiece) -> bool:
    return piece.stage in {None, Stage.BEGUN}


# --- what the timed pieces say --------------------------------------------------------------------


def _hands(state: OrderState, known: Timing) -> dict[str, tuple[float, float]]:
    """Return by how much each hand is slower than the middle, as a logarithm, and its error."""
    apart: dict[str, list[float]] = {}
    for line in state.lines:
        timed = [one for one in state.pieces(line) if known.minutes.get(one.number, 0) > 0]
        if len({one.knitter for one in timed}) < 2:  # noqa: PLR2004 (nothing to compare)
            continue
        middle = median(math.log(known.minutes[one.number]) for one in timed)
        for one in timed:
            apart.setdefault(one.knitter, []).append(math.log(known.minutes[one.number]) - middle)
    ratio = (_SPREAD / _HANDS) ** 2
    return {
        hand: (sum(offs) / (len(offs) + ratio), _HANDS * math.sqrt(ratio / (len(offs) + ratio)))
        for hand, offs in apart.items()
    }


def _kind(
    state: OrderState, line: OrderedLine, known: Timing, hands: Mapping[str, tuple[float, float]]
) -> _Kind | None:
    logs = [
        math.log(minutes) - hands.get(one.knitter, (0.0, 0.0))[0]
        for one in state.pieces(line)
        if (minutes := known.minutes.get(one.number, 0)) > 0
    ]
    if logs:
        mean = fmean(logs)
        square = _WORTH * _SPREAD**2 + sum((one - mean) ** 2 for one in logs)
        worth = _WORTH + len(logs) - 1
        spread = math.sqrt(square / worth)
        return _Kind(mean, spread / math.sqrt(len(logs)), spread, worth)
    guess = _from_stitches(state, line, known)
    return None if guess is None else _Kind(math.log(guess), _OTHER_KIND, _SPREAD, _WORTH)


def _from_stitches(state: OrderState, line: OrderedLine, known: Timing) -> float | None:
    """Return the minutes of a piece by those that the stitches of other lines took."""
    mine = _stitches(line)
    rates = [
        known.minutes[one.number] / area
        for other in state.lines
        if (area := _stitches(other))
        for one in state.pieces(other)
        if known.minutes.get(one.number, 0) > 0
    ]
    return median(rates) * mine if rates and mine else None


def _stitches(line: OrderedLine) -> int:
    wanted = line.wanted
    return (wanted.rows or 0) * (wanted.stitches or 0) if wanted is not None else 0


def _weekly(
    state: OrderState, known: Timing
) -> tuple[dict[str, tuple[float, float]], tuple[str, ...]]:
    """
    Return the hours a week of every knitter with their relative error, and who has none.

    What the order itself shows goes before what was said, once it shows enough.
    """
    told = {knitter: float(hours) for knitter, hours in state.hours}
    weeks = known.days / 7
    found: dict[str, tuple[float, float]] = {}
    to_come: set[str] = set()
    for line in state.lines:
        to_come |= {one.knitter for one in state.pieces(line) if _to_knit(one) and one.knitter}
    for knitter in state.knitters:
        mine = [
            known.minutes[one.number]
            for _, one in state.told
            if one.knitter == knitter and known.minutes.get(one.number, 0) > 0
        ]
        if len(mine) >= _FEWEST_KNITTED and known.days >= _FEWEST_DAYS:
            begun = [known.share.get(one.number, 0.0) for _, one in state.told
                     if one.knitter == knitter and one.stage is Stage.BEGUN]  # fmt: skip
            hours = (sum(mine) + sum(begun) * median(mine)) / 60
            found[knitter] = hours / weeks, _WEEKS / math.sqrt(weeks)
        elif knitter in told:
            found[knitter] = told[knitter], _WEEKS / 2
    lacking = tuple(sorted(one for one in to_come if one not in found))
    return found, lacking


# --- one run --------------------------------------------------------------------------------------


def _run(
    state: OrderState,
    known: Timing,
    work: _Work,
    hands: Mapping[str, tuple[float, float]],
    weekly: Mapping[str, tuple[float, float]],
    dice: random.Random,
) -> tuple[float, float]:
    """Return the hours of knitting and the days until all is packed, of one run."""
    rejected = dice.betavariate(*_judged(work))
    slower = {
        knitter: dice.gauss(*hands.get(knitter, (0.0, _HANDS))) for knitter in (*state.knitters, "")
    }
    made: list[tuple[str, float]] = []
    for line, kind, pieces in work:
        chi = dice.gammavariate(kind.worth / 2, 2)
        wider = math.sqrt(kind.worth / chi)
        mean = kind.mean + dice.gauss(0, kind.error * wider)
        lost = 0
        for piece in pieces:
            open_yet = piece.stage not in {Stage.MEASURED, Stage.PACKED}
            lost += open_yet and dice.random() < rejected
            if _to_knit(piece):
                left = _left(piece, known, dice)
                made.append((piece.knitter, left * math.exp(dice.gauss(mean, kind.spread * wider))))
        again = max(lost - line.spares, 0)
        made += [("", math.exp(dice.gauss(mean, kind.spread * wider))) for _ in range(again)]
    each = [(who, minutes * math.exp(slower.get(who, 0.0)) / 60) for who, minutes in made]
    return sum(hours for _, hours in each), _days(each, weekly, dice) + _finishing(work, dice)


def _judged(
    work: _Work,
) -> tuple[float, float]:
    """Return how many were rejected and how many did, the guess before all of them among it."""
    placed = [one for _, _, pieces in work for one in pieces]
    bad = sum(len(one.rejected) for one in placed)
    good = sum(one.stage in {Stage.MEASURED, Stage.PACKED} for one in placed)
    return _REJECTS[0] + bad, _REJECTS[1] + good


def _left(piece: OrderedPiece, known: Timing, dice: random.Random) -> float:
    if piece.stage is None:
        return 1.0
    share = known.share.get(piece.number)
    return dice.random() if share is None else 1.0 - min(max(share, 0.0), 1.0)


def _days(
    each: Sequence[tuple[str, float]],
    weekly: Mapping[str, tuple[float, float]],
    dice: random.Random,
) -> float:
    """Return the days until the last is knitted; what is nobody's goes to who is free first."""
    if not weekly or not each:
        return 0.0
    # The hours of the weeks to come differ, the less in the mean the more of them there are.
    horizon = max(sum(hours for _, hours in each) / sum(one for one, _ in weekly.values()), 1.0)
    rate = {}
    for knitter, (hours, error) in weekly.items():
        off = math.hypot(error, _WEEKS / math.sqrt(horizon))
        # The mean of the draws is what she knits; the usual draw is less, as a good week is rare.
        rate[knitter] = hours * math.exp(dice.gauss(-(off**2) / 2, off))
    weeks = dict.fromkeys(rate, 0.0)
    for knitter, hours in each:
        if knitter in rate:
            weeks[knitter] += hours / rate[knitter]
    for knitter, hours in each:
        if knitter not in rate:
            first = min(rate, key=lambda one: weeks[one])
            weeks[first] += hours / rate[first]
    return 7 * max(weeks.values())


def _finishing(work: _Work, dice: random.Random) -> float:
    packed = all(one.stage is Stage.PACKED for _, _, pieces in work for one in pieces)
    return 0.0 if packed else dice.uniform(*_FINISHING_DAYS)
