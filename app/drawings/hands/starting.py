"""How it begins: the slip knot, two ways of casting on, how needles are held, and turning."""

from __future__ import annotations

from typing import Final

from app.drawings.hands.scene import (
    FULL,
    REST,
    Rod,
    arrow,
    finger,
    free_hand,
    full_hand,
    hanging,
    pose,
    row_made,
    to_hand,
)
from app.drawings.hands.stitches import DROP, STEP, Worked, in_fabric, joined, on_needle
from app.drawings.hands.strands import Part, Point, Pose, Strand
from app.session.settings import YarnHand

# --- the slip knot -------------------------------------------------------------------------------

_RING: Final[tuple[Point, ...]] = (
    *((-3.6, -4.2, 0.0), (-1.7, -2.3, 0.0), (0.2, -1.3, 0.0), (1.3, -0.1, 0.0)),
    *((0.95, 1.3, 0.0), (-0.2, 1.7, 0.0), (-1.45, 1.1, 0.0), (-1.45, -0.2, 0.0)),
    *((-0.6, -1.2, 2.0), (0.6, -2.1, 2.0), (2.0, -2.0, 0.0), (2.8, -0.9, -2.0)),
)
"""From the end to the ball: a ring that closes over itself, then back to pass behind it."""


def knot_ring() -> Pose:
    """Return a ring of yarn with the yarn to the ball lying behind it."""
    behind = ((1.8, 0.3, -2.0), (0.0, 0.45, -2.0), (-2.5, 0.4, -2.0), (-5.6, -0.2, -2.0))
    way = arrow((3.6, -0.8), (3.2, 0.7), (2.0, 1.2))
    return Pose((Strand(Part.YARN, (*_RING, *behind), "row"), *way))


def knot_loop() -> Pose:
    """Return the yarn behind the ring drawn forward through it and up."""
    hand = [
        finger(((3.9, 3.4), (2.2, 2.9), (0.5, 2.5)), 9, 0.9),
        finger(((4.2, 2.2), (2.5, 2.0), (0.7, 2.3)), -9, 0.9),
    ]
    way = arrow((-0.05, 0.2), (-0.05, 1.2), (-0.05, 2.2))
    return Pose((Strand(Part.YARN, _knot(), "row"), *hand, *way))


def _knot() -> tuple[Point, ...]:
    return (
        *_RING,
        *((1.9, -0.05, -2.0), (0.9, 0.1, -1.0), (0.5, 0.7, 3.0), (0.5, 1.9, 3.0)),
        *((0.3, 2.7, 3.0), (0.0, 2.85, 3.0), (-0.3, 2.7, 3.0), (-0.5, 1.9, 3.0)),
        *((-0.5, 0.7, 3.0), (-0.95, 0.15, -1.0), (-2.4, 0.2, -2.0), (-5.6, -0.6, -2.0)),
    )


def knot_on_needle() -> Pose:
    """Return the loop on the needle and the knot drawn up under it."""
    found: list[Point] = []
    for x, y, level in _knot():
        if abs(x) > 3:  # noqa: PLR2004 (the two ends)
            found.append((x, y - 0.6, level))
        elif y > 1.85:  # noqa: PLR2004 (the loop)
            found.append((x * 0.62, y - 2.35, 1.0 if x >= 0 else -1.0))
        else:
            found.append((x * 0.55, y * 0.5 - 1.55, level * 1.5))
    needle = Rod(Part.FULL, ((-7.0, -0.2, 0.0), (1.9, 0.05, 0.0)))
    way = [*arrow((-1.9, -2.4), (-2.9, -3.4)), *arrow((-3.4, -1.7), (-4.8, -1.9))]
    return Pose((*full_hand(), Strand(Part.YARN, tuple(found), "row"), *needle.strands(), *way))


# --- the long-tail cast-on -----------------------------------------------------------------------

_SLING: Final = Rod(Part.FREE, ((7.0, 0.2, 4.0), (0.9, 0.2, 4.0)))
_THUMB: Final = finger(((-4.0, -2.9), (-2.4, -2.15), (-0.8, -1.75)), 1.0, 0.85)
_FIRST: Final = finger(((-4.2, -1.4), (-3.2, 0.9), (-1.4, 1.7)), 1.0, 0.85)
_PALM: Final = finger(((-5.4, -4.4), (-4.9, -3.0), (-4.3, -1.9)), -9.3, 2.3)
_THREE: Final = [
    finger(((-5.2, -2.2), (-4.4, -2.5), (-3.9, -3.0)), 9.0, 0.8),
    finger(((-5.5, -3.0), (-4.8, -3.2), (-4.3, -3.6)), 9.2, 0.8),
]


def _tied(needle: Rod, columns: tuple[float, ...]) -> tuple[list[Strand], Point, Point]:
    """Return stitches that are cast on, and where their yarn and their tail leave them."""
    y = needle.y(2.0)
    loops = joined(on_needle(x, y, needle=needle.level) for x in columns)
    tail: list[Point] = [(columns[0] + 0.9, y - 0.95, -1.0)]
    for x in columns:  # around the foot of each: before its legs, then behind them
        tail += [
            (x + 0.34, y - 0.62, -2.0),
            (x - 0.3, y - 0.62, -2.0),
            (x - 0.44, y - 0.78, 2.0),
            (x - 0.1, y - 0.84, 2.0),
            (x + 0.3, y - 0.92, 2.0),
            (x + 0.2, y - 1.3, -2.0),
            (x - 0.4, y - 1.3, -2.0),
        ]
    return [Strand(Part.YARN, loops), Strand(Part.TAIL, tuple(tail))], loops[-1], tail[-1]


def long_tail(step: int) -> Pose:
    """
    Return one of four pictures of a long-tail cast-on.

    Held apart; under the strand at the thumb; over the strand at the finger; back through the
    thumb's loop and drawn up.
    """
    columns = (3.7, 2.5)
    hand: list[Strand] = [_PALM, _THUMB, _FIRST, *_THREE]
    front_of_thumb: tuple[Point, ...] = (
        *((-0.9, -1.25, 0.0), (-1.5, -1.75, -1.0), (-1.9, -2.5, 0.0)),
        *((-2.5, -2.4, 6.0), (-2.9, -1.5, 6.0), (-4.2, -2.6, 6.0)),
    )
    over_finger: tuple[Point, ...] = ((-1.5, 2.2, 2.0), (-2.2, 1.9, -2.0), (-4.2, -2.3, 2.0))
    match step:
        case 0:
            needle = _SLING
            way = arrow((0.5, -0.3), (-0.9, -0.2), (-1.9, 0.3), (-1.2, 0.9))
        case 1:
            needle = Rod(Part.FREE, ((7.0, 0.2, 4.0), (-2.75, -2.05, 4.0)))
            way = arrow((-1.2, -3.0), (-2.6, -3.2), (-3.4, -2.2), (-3.1, -1.0))
        case 2:
            needle = Rod(Part.FREE, ((7.0, -0.4, 4.0), (-1.55, 0.75, 4.0)))
            front_of_thumb = (
                *((-0.9, -1.25, 0.0), (-1.5, -1.75, -1.0), (-1.9, -2.5, 0.0)),
                *((-1.9, -1.5, 6.0), (-0.8, 0.5, 6.0), (-0.7, 1.0, 6.0), (-1.0, 0.9, 2.0)),
                *((-2.0, -1.0, 2.0), (-4.2, -2.6, 6.0)),
            )
            over_finger = (
                *((-0.2, 0.9, 1.0), (-1.2, 0.2, 1.0), (-1.45, 0.5, 6.0)),
                *((-1.35, 1.2, 6.0), (-1.5, 2.2, 2.0), (-2.2, 1.9, -2.0), (-4.2, -2.3, 2.0)),
            )
            way = arrow((-0.6, 1.9), (-1.7, 2.7), (-2.5, 1.4), (-1.9, 0.2))
        case _:
            return _long_tail_end()
    fixed, ball, tail = _tied(needle, columns)
    yarn = (ball, (1.2, needle.y(1.2) - 0.4, 0.0), *over_finger)
    loose = (tail, (1.0, -1.2, -2.0), *front_of_thumb)
    return Pose(
        (
            *hand,
            *fixed,
            Strand(Part.YARN, yarn, "row"),
            Strand(Part.TAIL, loose, "tail"),
            *needle.strands(),
            *free_hand(needle),
            *way,
        )
    )


def _long_tail_end() -> Pose:
    """Return the new stitch on the needle, the thumb's loop around its foot, loose or drawn up."""
    needle = Rod(Part.FREE, ((7.0, 0.2, 4.0), (0.3, 0.2, 4.0)))
    columns = (3.7, 2.5, 1.2)
    fixed, ball, tail = _tied(needle, columns)
    yarn = (ball, (-0.2, 0.4, 0.0), (-1.5, 2.2, 2.0), (-2.2, 1.9, -2.0), (-4.2, -2.3, 2.0))
    loose = (tail, (-0.6, -1.6, 0.0), (-1.5, -2.4, -1.0), (-2.4, -2.5, 6.0), (-4.2, -2.6, 6.0))
    way = [*arrow((-0.8, 0.6), (-1.6, 1.2)), *arrow((-0.7, -2.1), (-1.6, -2.8))]
    return Pose(
        (
            *[_PALM, _THUMB, _FIRST, *_THREE],
            *fixed,
            Strand(Part.YARN, yarn, "row"),
            Strand(Part.TAIL, loose, "tail"),
            *needle.strands(),
            *free_hand(needle),
            *way,
        )
    )


# --- holding and turning -------------------------------------------------------------------------


def held(hold: YarnHand) -> Pose:
    """Return both hands with needles and yarn, before anything moves."""
    row = (*row_made(REST, Worked.KNIT), (0.95, -0.7, -6.0), (0.95, 0.2, -6.0))
    middle = [(0.0, FULL.y(0.0) - DROP)]
    loops = [Strand(Part.NEXT, on_needle(0.0, FULL.y(0.0)), "next 1")]
    return pose(hanging(REST, Worked.KNIT, middle), loops, row, REST, hold)


def turned_round(hold: YarnHand) -> Pose:
    """Return the work with all its stitches on one needle, and which way it is turned."""
    needle = Rod(Part.FREE, ((7.0, 0.15, 0.0), (-1.9, 0.15, 0.0)))
    columns = (3.25, 1.95, 0.65, -0.65)
    row = joined(on_needle(x, needle.y(x)) for x in columns)
    end = (*row, (-1.5, -0.3, -6.0), (-1.2, 1.0, -6.0))
    fabric = [
        Strand(Part.FABRIC, joined(in_fabric(x, needle.y(x) - 3 * DROP) for x in columns)),
        Strand(Part.OLD, joined(in_fabric(x, needle.y(x) - 2 * DROP) for x in columns)),
    ]
    run, leading = to_hand(hold, front=False)
    way = [
        *arrow((-1.6, 2.0), (-3.6, 1.4), (-3.6, 0.2)),
        *arrow((-3.0, -2.4), (-1.6, -3.2), (-0.4, -3.3)),
    ]
    yarn = Strand(Part.YARN, (*end, *run), "row")
    return Pose((*fabric, yarn, *needle.strands(), *free_hand(needle), leading, *way))


# --- the knitted cast-on -------------------------------------------------------------------------

_CAST: Final = Rod(Part.FULL, ((-7.0, -0.75, 0.0), (2.3, 0.35, 0.0)))


def put_back(hold: YarnHand) -> Pose:
    """Return the new stitch of a knitted cast-on put on the full needle beside the last one."""
    y = _CAST.y(0.0)
    loops = joined(on_needle(x, _CAST.y(x)) for x in (0.0, -STEP, -2 * STEP))
    new: tuple[Point, ...] = (
        *((0.5, y - 1.25, -1.0), (0.3, y - 1.0, -1.5), (0.1, y - 0.62, 1.5), (0.5, y - 0.5, 2.0)),
        *((1.2, y - 0.5, 2.0), (1.5, y - 0.1, 2.0), (1.36, y + 0.35, 2.0)),
        *((1.2, y + 0.52, 2.0), (1.0, y + 0.3, -1.2), (0.9, y - 0.15, -1.2)),
        *((0.55, y - 0.25, -1.2), (0.15, y - 0.35, -1.2), (-0.05, y - 0.75, -1.4)),
        *((-0.2, y - 1.3, -6.0), (1.0, y - 1.3, -6.0)),
    )
    end: tuple[Point, ...] = ((2.3, 0.2, -6.0),)
    if hold is YarnHand.LEFT:
        end = ((0.4, 0.9, -6.0),)
    run, leading = to_hand(hold, front=False)
    free = Rod(Part.FREE, ((7.0, -1.4, 4.0), (2.9, -0.4, 4.0)))
    old = Strand(Part.OLD, loops, "old left")
    yarn = Strand(Part.YARN, (loops[0], *new, *end, *run), "row")
    return Pose(
        (
            *full_hand(),
            old,
            yarn,
            *_CAST.strands(),
            *free.strands(),
            *free_hand(free),
            leading,
            *arrow((0.0, 1.5), (0.7, 1.6), (1.3, 1.1)),
        )
    )
