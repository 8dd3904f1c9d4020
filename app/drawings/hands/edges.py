"""Along an edge: picking up stitches, and weaving in the end."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.drawings.hands.scene import Rod, arrow, finger, free_hand, to_hand
from app.drawings.hands.stitches import STEP, Worked, in_fabric, joined
from app.drawings.hands.strands import Part, Point, Pose, Strand

if TYPE_CHECKING:
    from app.session.settings import YarnHand

_COLUMNS: Final = tuple(STEP * at for at in (2, 1, 0, -1, -2))
_EDGE: Final = -0.5
"""How high the edge lies."""


def _edge() -> list[Strand]:
    """Return fabric under a bound-off edge: a chain of which every link has two strands."""
    rows = [
        Strand(Part.FABRIC, joined(in_fabric(x, _EDGE - low) for x in _COLUMNS), "below")
        for low in (3.2, 2.2, 1.2)
    ]
    chain: list[Point] = []
    for x in _COLUMNS:
        chain += [
            *((x + 0.5, _EDGE + 0.12, 1.0), (x, _EDGE + 0.3, 1.0), (x - 0.5, _EDGE + 0.14, 1.0)),
            *((x - 0.3, _EDGE - 0.06, -1.5), (x + 0.1, _EDGE - 0.1, -1.5)),
            *((x - 0.4, _EDGE - 0.1, -1.5), (x - 0.75, _EDGE + 0.06, -1.5)),
        ]
    return [*rows, Strand(Part.OLD, tuple(chain), "edge")]


_THROUGH: Final = Rod(
    Part.FREE, ((6.0, -4.2, 3.0), (0.1, -0.72, 3.0), (-0.1, -0.6, -3.0), (-2.0, 0.55, -3.0))
)


def picked_up(step: int, hold: YarnHand) -> Pose:
    """Return in, round or through at an edge: under two strands of it."""
    free, way = _THROUGH, arrow((1.6, -0.4), (0.4, 0.5), (-0.7, 1.2))
    yarn: tuple[Point, ...] = ((2.0, -4.6, -6.0), (1.6, 0.3, -6.0), (1.9, 0.9, -6.0))
    if step == 1:
        yarn = (
            *((1.2, -4.6, -6.0), (0.2, -1.6, -6.0), (-0.9, -0.3, -6.0), (-1.4, 0.0, -2.0)),
            *((-1.3, 0.45, -2.0), (-0.2, 0.9, -6.0)),
        )
        way = arrow((0.6, 1.9), (-1.2, 2.0), (-2.4, 1.0), (-2.0, 0.1), (-0.8, 0.6))
    if step > 1:
        free = Rod(Part.FREE, ((6.0, -4.2, 4.0), (-0.6, -0.3, 4.0)))
        yarn = (
            *((1.2, -4.6, -6.0), (0.5, -1.4, -6.0), (0.35, -1.0, 2.5), (0.3, -0.75, 5.0)),
            *((0.1, -0.35, 5.0), (-0.1, -0.2, 5.0), (-0.34, -0.5, 3.0), (-0.3, -0.9, 2.5)),
            *((-0.4, -1.2, -6.0), (-0.4, 0.0, -6.0), (0.6, 1.0, -6.0)),
        )
        way = arrow((-1.9, 0.5), (-0.9, 0.7), (0.2, 0.2))
    run, leading = to_hand(hold, front=False)
    end = Strand(Part.YARN, (*yarn, *run), "row")
    return Pose((*_edge(), end, *free.strands(), *free_hand(free), leading, *way))


def woven_in(step: int) -> Pose:
    """Return a blunt needle with the end on it: through bumps of the back, then back again."""
    columns = tuple(STEP * at for at in (3, 2, 1, 0, -1, -2))
    rows = [
        Strand(Part.FABRIC, joined(in_fabric(x, low, Worked.PURL) for x in columns), "below")
        for low in (-3.4, -2.4, -1.4, -0.4)
    ]
    y = -1.5  # the bumps lie in front there, the needle goes behind them
    tail: list[Point] = [(-5.2, y + 0.6, 3.0), (-3.4, y, 3.0)]
    for x in (-2, -1, 0, 1):
        at = STEP * x + STEP / 2
        tail += [(at - 0.25, y + 0.1, 0.5), (at + 0.25, y + 0.1, 0.5), (at + 0.65, y + 0.35, 3.0)]
    if step:
        tail += [(2.9, y + 0.8, 3.0), (2.4, y + 1.1, 3.0)]
        tail += [(2.1, y + 1.1, 0.5), (1.7, y + 1.1, 0.5), (1.3, y + 1.3, 3.0)]
        hook = [(1.3, y + 1.3, 3.0), (-0.9, y + 2.6, 3.0)]
        way = arrow((2.9, 0.9), (1.6, 1.5), (0.2, 2.0))
        hand = [
            finger(((-4.3, 3.2), (-2.8, 2.6), (-0.9, 1.5)), 9.0, 0.9),
        ]
    else:
        hook = [(1.95, y + 0.35, 3.0), (4.4, y + 0.7, 3.0)]
        way = arrow((-2.6, 0.9), (-0.6, 1.2), (1.6, 0.9))
        hand = [finger(((6.2, 0.8), (5.2, 0.2), (4.0, -0.6)), 9.0, 0.9)]
    needle = Strand(Part.HOOK, tuple(hook), "hook", straight=True)
    return Pose((*rows, Strand(Part.TAIL, tuple(tail), "tail"), needle, *hand, *way))
