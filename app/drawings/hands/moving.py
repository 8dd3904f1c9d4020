"""Stitches that are moved and not worked, loops that are laid, and stitches that are bound off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.drawings.hands.scene import (
    DONE,
    FULL_BACK,
    NEW,
    REACHING,
    Rod,
    arrow,
    hanging,
    pose,
    row_made,
)
from app.drawings.hands.stitches import DROP, STEP, Worked, in_fabric, joined, on_needle
from app.drawings.hands.strands import Part, Point, Pose, Strand
from app.drawings.hands.working import KNIT, Taken, Way, put_in

if TYPE_CHECKING:
    from app.session.settings import YarnHand

_SLIP_AWAY: Final = ((-0.6, 1.5), (0.5, 1.6), (1.7, 0.9))


def slip_in(hold: YarnHand, *, knitwise: bool) -> Pose:
    """Return the tip in the stitch that is to be moved, the yarn left where it is, behind."""
    if knitwise:
        return _without_arrow(put_in(KNIT, hold), *_SLIP_AWAY)
    return _without_arrow(put_in(Taken(way=Way.PURLWISE), hold), *_SLIP_AWAY)


def slipped(hold: YarnHand, *, knitwise: bool, two: bool = False) -> Pose:
    """Return the moved stitch on the free needle: knitwise it has turned, purlwise it has not."""
    free = REACHING
    on_free = (NEW + STEP, NEW) if two else (NEW,)
    done = tuple(x for x in DONE if x not in on_free)
    loops = [on_needle(x, free.y(x), turned=knitwise, foot=(x, free.y(x) - DROP)) for x in on_free]
    middle = [(x, free.y(x) - DROP) for x in on_free]
    fabric = hanging(free, Worked.KNIT, middle, full=FULL_BACK, done=done)
    row = row_made(free, Worked.KNIT, done)
    past = ((done[0] - 0.75, -1.1, -6.0), (0.9, 0.3, -6.0))
    return pose(
        fabric,
        [Strand(Part.NEXT, joined(loops), "next 1")],
        (*row, *past),
        free,
        hold,
        full=FULL_BACK,
        more=arrow((-1.0, 1.2), (-0.1, 1.4), (0.8, 1.0)),
    )


def laid_over(hold: YarnHand) -> Pose:
    """Yarn over: the yarn lies over the free needle, from the front to the back."""
    free = REACHING
    fabric = hanging(free, Worked.KNIT, [], full=FULL_BACK, wait=(-1.1, -2.4, -3.7))
    y = free.y(NEW)
    over: tuple[Point, ...] = (
        (NEW + 0.62, y - 0.75, -1.0),
        (NEW + 0.36, y - 0.5, 1.0),
        (NEW + 0.26, y - 0.1, 1.0),
        (NEW + 0.1, y + 0.26, 1.0),
        (NEW - 0.06, y + 0.38, 1.0),
        (NEW - 0.26, y + 0.1, -1.0),
        (NEW - 0.32, y - 0.5, -3.0),
        (NEW - 0.1, y - 0.9, -6.0),
        (NEW + 0.4, y - 0.3, -6.0),
        (NEW + 0.6, y + 0.7, -6.0),
    )
    row = (*row_made(free, Worked.KNIT)[:-1], *over)
    way = arrow((-0.35, -1.3), (-0.5, 0.3), (-0.3, 1.15), (0.5, 1.3))
    return pose(fabric, [], row, free, hold, full=FULL_BACK, more=way)


# --- binding off ---------------------------------------------------------------------------------

_SECOND: Final = NEW + STEP


def _chain(free: Rod, count: int = 2) -> tuple[Point, ...]:
    """Return the stitches that are bound off already: each lies around the foot of the next."""
    y = free.y(_SECOND) - DROP
    return joined(_lying(NEW + at * STEP, y) for at in range(count + 1, 1, -1))


def _lying(x: float, y: float) -> tuple[Point, ...]:
    """Return a bound-off stitch that comes up at x and lies around the foot of the next one."""
    return (
        (x + STEP / 2, y - 0.16, -1.0),
        (x + 0.3, y - 0.08, -1.0),
        (x + 0.2, y + 0.08, 1.0),
        (x + 0.05, y + 0.3, 1.5),
        (x - 0.3, y + 0.42, 1.5),
        (x - 0.6, y + 0.5, 2.2),
        (x - STEP + 0.1, y + 0.5, 2.2),
        (x - STEP - 0.34, y + 0.32, 2.2),
        (x - STEP - 0.3, y + 0.16, -2.5),
        (x - STEP + 0.2, y + 0.16, -2.5),
        (x - 0.5, y + 0.14, -2.5),
        (x - 0.25, y + 0.02, -2.5),
        (x - 0.4, y - 0.1, -1.2),
        (x - STEP / 2, y - 0.16, -1.0),
    )


def two_worked(hold: YarnHand) -> Pose:
    """Return two stitches worked, at the edge of what is bound off."""
    free = REACHING
    fabric = _bound_fabric(free, FULL_BACK)
    loops = joined([_chain(free), *(on_needle(x, free.y(x)) for x in (_SECOND, NEW))])
    row = (*loops, (-0.45, free.y(NEW) - 0.4, -6.0), (0.3, 0.8, -6.0))
    return pose(fabric, [], row, free, hold, full=FULL_BACK)


def lifted_over(hold: YarnHand) -> Pose:
    """Return the first of the two being lifted over the second with the tip of the full needle."""
    free = REACHING
    y = free.y(_SECOND)
    x = _SECOND
    lifted: tuple[Point, ...] = (
        (x + STEP / 2, y - DROP - 0.14, -1.0),
        (x + 0.3, y - DROP - 0.06, -1.0),
        (x + 0.2, y - DROP + 0.1, 1.0),
        (x - 0.1, y - 0.5, 2.0),
        (x - 0.7, y - 0.05, 2.0),
        (NEW - 0.05, y + 0.62, 4.0),
        (NEW - 0.42, y + 0.92, 4.0),
        (NEW - 0.3, y + 1.12, 2.4),
        (NEW + 0.2, y + 0.75, -2.0),
        (x - 0.5, y + 0.15, -2.0),
        (x - 0.3, y - 0.6, -2.0),
        (x - 0.2, y - DROP + 0.1, -1.5),
        (x - 0.3, y - DROP - 0.06, -1.2),
        (x - STEP / 2, y - DROP - 0.14, -1.0),
    )
    row = joined([_chain(free), lifted, on_needle(NEW, free.y(NEW))])
    full = Rod(Part.FULL, ((-7.0, -0.75, 3.0), (0.6, 1.25, 3.0)))
    end = ((-0.45, free.y(NEW) - 0.4, -6.0), (0.6, 0.9, -6.0))
    way = arrow((1.5, 1.3), (0.4, 2.1), (-1.0, 1.9))
    fabric = _bound_fabric(free, full)
    return pose(fabric, [], (*row, *end), free, hold, full=full, more=way)


def _bound_fabric(free: Rod, full: Rod) -> list[Strand]:
    middle = [(x, free.y(x) - 2 * DROP) for x in (_SECOND, NEW)]
    past = [(x, free.y(_SECOND) - 2 * DROP - 0.1) for x in (NEW + 3 * STEP, NEW + 2 * STEP)]
    fabric = hanging(free, Worked.KNIT, [*past, *middle], full=full, done=())
    olds = joined(in_fabric(x, y) for x, y in [*past, *middle])
    return [*fabric, Strand(Part.OLD, olds, "old right")]


def bound_off(hold: YarnHand) -> Pose:
    """Return the first lying around the foot of the second: one is bound off."""
    free = REACHING
    fabric = _bound_fabric(free, FULL_BACK)
    y = free.y(_SECOND) - DROP
    row = joined([_chain(free), _lying(_SECOND, y), on_needle(NEW, free.y(NEW))])
    end = ((-0.45, free.y(NEW) - 0.4, -6.0), (0.3, 0.8, -6.0))
    way = arrow((-0.9, 1.2), (-0.4, 1.5), (0.4, 1.2))
    return pose(fabric, [], (*row, *end), free, hold, full=FULL_BACK, more=way)


def _without_arrow(picture: Pose, *way: tuple[float, float]) -> Pose:
    kept = [strand for strand in picture.strands if strand.part is not Part.ARROW]
    return Pose((*kept, *arrow(*way)))
