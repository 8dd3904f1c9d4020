"""The stitches that are worked in four moves: in, round, through, off."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from app.drawings.hands.scene import (
    DONE,
    FULL,
    FULL_BACK,
    NEW,
    REACHING,
    REST,
    WAIT,
    Rod,
    arrow,
    crossed,
    hanging,
    pose,
    row_made,
)
from app.drawings.hands.stitches import DROP, STEP, Worked, in_fabric, joined, on_needle
from app.drawings.hands.strands import Part, Point, Pose, Strand
from app.session.settings import YarnHand

if TYPE_CHECKING:
    from collections.abc import Sequence

_Y: Final = FULL.y(0.0)
_LEG: Final = 3
"""Points of a loop before its first leg, and after its last."""
_UNDER_THE_THUMB: Final = -4.0
_ALL_TOGETHER: Final = 0.92
"""How close stitches lie that are worked together, by their number."""


class Way(StrEnum):
    """How the free needle goes into a stitch."""

    KNITWISE = "knitwise"  # from the front, away from her, behind the full needle
    PURLWISE = "purlwise"  # towards her, in front of the full needle
    THROUGH_BACK = "through back"  # into the leg behind, away from her


@dataclass(frozen=True, slots=True)
class Taken:
    """What is worked: so many stitches at once, how the needle goes in, what becomes of it."""

    count: int = 1
    way: Way = Way.KNITWISE
    worked: Worked = Worked.KNIT
    fabric: Worked = Worked.KNIT
    """How the fabric looks from the side that faces her."""
    turned: bool = False
    """Whether the stitches lie turned on the needle, their other leg in front."""
    bar: bool = False
    """Whether it is the strand between two stitches, lifted onto the needle."""
    cast: bool = False
    """Whether it is the last of stitches just cast on, with nothing below them."""

    @property
    def twists(self) -> bool:
        """Whether the old loop is twisted by it: taken by the leg that lies behind."""
        return (self.way is Way.THROUGH_BACK) is not self.turned


KNIT: Final = Taken()
PURL: Final = Taken(way=Way.PURLWISE, worked=Worked.PURL, fabric=Worked.PURL)
KNIT_TWO: Final = Taken(2)
PURL_TWO: Final = Taken(2, Way.PURLWISE, Worked.PURL, Worked.PURL)
THROUGH_BACK: Final = Taken(way=Way.THROUGH_BACK)
SLIPPED_TWO: Final = Taken(2, Way.THROUGH_BACK, turned=True)
"""Two stitches slipped as if to knit and taken together by the front: slip slip knit."""
BAR_LEFT: Final = Taken(way=Way.THROUGH_BACK, bar=True)
BAR_RIGHT: Final = Taken(turned=True, bar=True)
CASTING_ON: Final = Taken(cast=True)


def _free(taken: Taken) -> Rod:
    match taken.way:
        case Way.KNITWISE if taken.turned:
            return crossed(1.5, -0.5)
        case Way.KNITWISE:
            return crossed(3.0, -3.0)
        case Way.PURLWISE:
            return crossed(0.5, 3.0, 0.05 if taken.count == 1 else -0.15)
        case Way.THROUGH_BACK:
            return crossed(0.5, -0.5)


def _columns(taken: Taken) -> tuple[float, ...]:
    """Return where the stitches that are taken stand, the first one worked first."""
    apart = _ALL_TOGETHER / taken.count
    return tuple(0.1 - apart * at for at in range(taken.count)) if taken.count > 1 else (0.0,)


def _stretched(taken: Taken, x: float, foot: float, at: int) -> tuple[Point, ...]:
    """Return a stitch on the full needle with room in it for another needle."""
    knit = taken.fabric is Worked.KNIT
    back, fore = (-1.0, 1.0) if knit else (1.0, -1.0)
    y = FULL.y(x)
    over = 0.2 * at  # a stitch farther from the tip lies over its neighbour
    right, left = (1.0 + over, -1.0 - over)
    if taken.turned:
        right, left = -1.0 - over, 1.0 + over
    low = y - DROP
    before: tuple[Point, ...] = (
        (foot + STEP / 2, low - 0.14, back),
        (foot + 0.3, low - 0.06, back),
        (foot + 0.2, low + 0.1, fore),
    )
    after: tuple[Point, ...] = (
        (foot - 0.2, low + 0.1, fore),
        (foot - 0.3, low - 0.06, back),
        (foot - STEP / 2, low - 0.14, back),
    )
    if taken.bar:
        before, after = (
            ((1.0, low - 0.5, -1.0), (0.7, low + 0.05, 0.0)),
            ((-0.65, low - 0.1, -1.0),),
        )
    return (
        *before,
        (x + 0.5, y - 0.56, right),
        (x + 0.44, y - 0.1, right),
        (x + 0.22, y + 0.25, right),
        (x, y + 0.38, right),
        (x - 0.3, y + 0.2, left),
        (x - 0.5, y - 0.2, left),
        (x - 0.5, y - 0.6, left),
        *after,
    )


def _nexts(taken: Taken) -> list[Strand]:
    places = enumerate(zip(_columns(taken), _feet(taken), strict=True))
    return [
        Strand(Part.NEXT, _stretched(taken, x, foot, at), f"next {at + 1}")
        for at, (x, foot) in places
    ]


def _feet(taken: Taken) -> tuple[float, ...]:
    return (0.0,) if taken.count == 1 else tuple(0.35 - STEP * at for at in range(taken.count))


def _middle(taken: Taken) -> list[tuple[float, float]]:
    return [] if taken.bar else [(foot, _Y - DROP) for foot in _feet(taken)]


def _wait(taken: Taken) -> tuple[float, ...]:
    """Return the columns that wait; more of them are pushed along by stitches worked together."""
    if taken.count == 1:
        return WAIT
    first = _feet(taken)[-1] - STEP
    return tuple(x for x in (first, first - STEP) if x > _UNDER_THE_THUMB)


def _picture(
    taken: Taken, yarn: Sequence[Point], free: Rod, hold: YarnHand, more: list[Strand]
) -> Pose:
    """Return a picture before the stitch is off; `yarn` is how it runs on from the last stitch."""
    loops = _nexts(taken)
    if taken.cast:
        waiting = joined(on_needle(x, FULL.y(x)) for x in WAIT)
        fabric = [Strand(Part.OLD, waiting, "old left")]
        row = (loops[0].points[0], *yarn)
    else:
        fabric = hanging(free, taken.fabric, _middle(taken), wait=_wait(taken))
        row = (*row_made(free, taken.fabric), *yarn)
    front = taken.worked is Worked.PURL
    low = front and hold is YarnHand.LEFT
    return pose(fabric, loops, row, free, hold, front=front, low=low, more=more)


def lifted(taken: Taken, hold: YarnHand) -> Pose:
    """Return the strand between two stitches on the full needle."""
    row = ((0.95, -0.7, -6.0), (0.95, 0.2, -6.0))
    front = not taken.turned
    way = (
        arrow((1.2, 1.0), (0.5, 1.5), (-0.4, 1.2))
        if front
        else arrow((-0.6, 1.2), (0.3, 1.5), (1.1, 1.0))
    )
    return _picture(taken, row, REST, hold, way)


def ready(taken: Taken, hold: YarnHand) -> Pose:
    """Return the yarn brought to its side of the work."""
    row: tuple[Point, ...]
    if taken.worked is Worked.PURL:
        row = ((0.95, -0.7, 5.0), (1.1, 0.3, 8.0))
        way = arrow((1.9, 0.9), (1.2, 0.95), (0.55, 0.5), (0.55, -0.5))
    else:
        row = ((0.95, -0.7, -6.0), (0.95, 0.2, -6.0))
        way = arrow((0.6, -0.6), (0.5, 0.4), (0.9, 0.95), (1.6, 1.0))
    return _picture(taken, row, REST, hold, way)


def put_in(taken: Taken, hold: YarnHand) -> Pose:
    """In: the tip goes into the stitch."""
    free = _free(taken)
    row: tuple[Point, ...]
    if taken.worked is Worked.PURL:
        row = ((0.85, -1.5, 5.0), (1.2, -0.6, 8.0))
        row = (*row, (1.7, 0.6, 8.0)) if hold is YarnHand.RIGHT else (*row, (0.7, 0.6, 8.0))
    elif hold is YarnHand.RIGHT:
        row = ((0.75, -1.0, -6.0), (1.5, 0.5, -6.0))
    else:
        row = ((0.7, -1.1, -6.0), (0.3, 0.3, -6.0), (-0.4, 1.1, -6.0))
    return _picture(taken, row, free, hold, arrow((2.3, -0.75), (1.2, 0.05), (-0.3, 1.15)))


def laid_round(taken: Taken, hold: YarnHand) -> Pose:
    """Round: the yarn goes around the tip."""
    free = _free(taken)
    over: tuple[Point, ...]
    end: tuple[Point, ...]
    if taken.worked is Worked.KNIT:
        under = (0.5, -1.3, -6.0), (-0.3, -0.75, -6.0), (-0.9, -0.1, -6.0)
        level = -2.0 if taken.way is Way.KNITWISE and not taken.turned else -0.25
        over = (-1.15, 0.2, level), (-1.0, 0.62, level)
        end = ((0.2, 1.1, -6.0),) if hold is YarnHand.RIGHT else ((-1.1, 1.2, -6.0),)
        way = arrow((0.9, 1.9), (-1.0, 2.1), (-2.1, 1.2), (-1.75, 0.35), (-0.4, 0.75))
        return _picture(taken, (*under, *over, *end), free, hold, way)
    under = (0.5, -1.3, 6.0), (-0.3, -0.75, 6.0), (-0.95, -0.1, 6.0)
    over = (-1.05, 0.3, 6.0), (-0.85, 0.7, 6.0), (-1.1, 0.85, 1.5), (-1.35, 0.6, 1.5)
    end = ((-1.5, 0.1, 6.0), (-0.9, -0.75, 7.0), (0.3, -1.3, 8.0))
    if hold is YarnHand.LEFT:
        end = ((-1.62, 0.3, 6.0), (-1.85, 0.4, 8.0))
    way = arrow((1.0, 0.6), (-0.4, 1.6), (-2.0, 1.2), (-2.0, -0.2), (-1.3, -0.9))
    return _picture(taken, (*under, *over, *end), free, hold, way)


def brought_through(taken: Taken, hold: YarnHand) -> Pose:
    """Through: the tip comes out of the stitch again with the yarn on it."""
    knit = taken.worked is Worked.KNIT
    level = 4.0 if knit else -4.0
    free = Rod(Part.FREE, ((6.0, -0.45 - 0.757 * 6, level), (-0.75, 0.13, level)))
    if not knit:
        free = Rod(Part.FREE, ((6.0, -4.7, level), (-1.2, 0.72, level)))
    if knit:
        loop: tuple[Point, ...] = (
            *((0.75, -1.35, -6.0), (0.4, -0.98, -6.0), (0.16, -0.84, 2.0), (0.24, -0.6, 5.0)),
            *((0.06, -0.12, 5.0), (-0.16, 0.06, 5.0), (-0.36, -0.1, 3.0), (-0.26, -0.45, 3.0)),
            *((-0.22, -0.78, 2.0), (-0.42, -0.98, -6.0)),
        )
        if taken.count > 1:
            loop = (
                *((0.75, -1.35, -6.0), (0.3, -1.0, -6.0), (-0.15, -0.62, -6.0)),
                *((-0.24, -0.5, 2.6), (-0.2, -0.2, 5.0), (-0.25, 0.08, 5.0), (-0.45, 0.12, 5.0)),
                *((-0.6, -0.1, 3.0), (-0.38, -0.42, 2.6), (-0.36, -0.62, -6.0)),
            )
        end: tuple[Point, ...] = ((0.2, -1.35, -7.0), (1.2, 0.0, -7.0))
        if hold is YarnHand.LEFT:
            end = ((-0.3, -1.25, -7.0), (-0.85, -0.5, -7.0), (-1.1, 0.9, -7.0))
        way = arrow((-1.6, 1.3), (-0.6, 1.25), (0.5, 0.55))
        return _picture(taken, (*loop, *end), free, hold, way)
    loop = (
        *((0.75, -1.5, 6.0), (0.4, -0.95, 6.0), (0.12, -0.72, -2.0), (-0.1, -0.2, -2.0)),
        *((-0.4, 0.35, -3.0), (-0.66, 0.66, -3.0), (-0.86, 0.4, -5.0), (-0.5, -0.15, -5.0)),
        *((-0.25, -0.66, -2.0), (-0.4, -0.98, 6.0)),
    )
    if taken.count > 1:
        loop = (
            *((0.75, -1.5, 6.0), (0.3, -1.0, 6.0), (-0.15, -0.62, 6.0), (-0.26, -0.48, -2.0)),
            *((-0.35, -0.1, -2.0), (-0.45, 0.35, -3.0), (-0.66, 0.66, -3.0)),
            *((-0.86, 0.4, -5.0), (-0.5, -0.1, -5.0), (-0.38, -0.45, -2.0), (-0.36, -0.64, 6.0)),
        )
    end = ((0.1, -1.5, 8.0), (1.0, -0.9, 8.0), (1.7, 0.4, 8.0))
    if hold is YarnHand.LEFT:
        end = ((-0.9, -1.15, 8.0), (-1.7, -0.2, 8.0))
    way = arrow((-1.9, 0.3), (-1.7, 1.2), (-0.8, 1.6))
    return _picture(taken, (*loop, *end), free, hold, way)


def slid_off(taken: Taken, hold: YarnHand) -> Pose:
    """Off: the old stitch leaves the full needle and hangs from the new one."""
    free = REACHING
    y = free.y(NEW)
    places = _held_at(taken)
    olds = [
        Strand(Part.NEXT, _held(x, y - 2 * DROP, taken, at), f"next {at + 1}")
        for at, x in enumerate(places)
    ]
    middle = [] if taken.bar else [(x, y - 2 * DROP) for x in places]
    front = taken.worked is Worked.PURL
    done = tuple(x + STEP / 2 * (taken.count - 1) for x in DONE)
    row = row_made(free, taken.worked, done, new=(NEW,))
    if front:
        end = ((-0.5, y - 0.2, 8.0), (0.3, 0.6, 8.0))
    else:
        end = ((-0.45, y - 0.4, -6.0), (0.3, 0.8, -6.0))
    wait = tuple(x - STEP / 2 * (taken.count - 1) for x in WAIT)
    fabric = hanging(free, taken.fabric, middle, full=FULL_BACK, done=done, wait=wait)
    way = arrow((-0.9, 1.3), (0.2, 1.5), (1.2, 1.1))
    return pose(fabric, olds, (*row, *end), free, hold, full=FULL_BACK, front=front, more=way)


def _held_at(taken: Taken) -> tuple[float, ...]:
    """Return where the old stitches come out of the row below, the first one worked first."""
    if taken.count == 1:
        return (NEW,)
    return tuple(NEW + STEP * ((taken.count - 1) / 2 - at) for at in range(taken.count))


def _held(x: float, foot: float, taken: Taken, at: int) -> tuple[Point, ...]:
    """
    Return an old stitch as it hangs from the new one.

    Of several together, the one that the needle entered first lies in front: the last of them,
    but the first where they were slipped before.
    """
    low, top = foot + 0.15, foot + 0.8
    front = taken.count - 1 - at if taken.turned else at
    if taken.bar:
        return _twisted_bar(x, foot, leans_left=not taken.turned)
    points = in_fabric(x, foot, taken.fabric)
    found = []
    for number, (at_x, py, level) in enumerate(points):
        up = max(min((py - low) / (top - low), 1.0), 0.0)
        px = at_x + (NEW - x) * up
        lifted = level + 0.2 * front * (taken.count > 1) if up else level
        if taken.twists and _LEG <= number < len(points) - _LEG:
            px = 2 * x - at_x
        if taken.twists and number <= _LEG + 1:
            lifted += 0.3 * (number >= _LEG - 1)
        found.append((px, py, lifted))
    return tuple(found)


def _twisted_bar(x: float, foot: float, *, leans_left: bool) -> tuple[Point, ...]:
    """Return the lifted strand between two stitches as it hangs, crossed, from the new one."""
    first, second = (0.3, 0.0) if leans_left else (0.0, 0.3)
    return (
        (x + 1.0, foot + 0.15, -1.0),
        (x + 0.2, foot + 0.3, first),
        (x - 0.36, foot + 0.72, first),
        (x - 0.26, foot + 1.14, 0.0),
        (x, foot + 1.26, 0.0),
        (x + 0.26, foot + 1.14, 0.0),
        (x + 0.36, foot + 0.72, second),
        (x - 0.2, foot + 0.3, second),
        (x - 1.0, foot + 0.15, -1.0),
    )
