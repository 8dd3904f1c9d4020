"""What goes wrong for a beginner, as it looks, and what the hands do about it."""

from __future__ import annotations

from typing import Final

from app.drawings.hands.scene import (
    FULL,
    NEW,
    REACHING,
    REST,
    Rod,
    arrow,
    hanging,
    pose,
    row_made,
)
from app.drawings.hands.stitches import DROP, STEP, Worked, in_fabric, joined, on_needle
from app.drawings.hands.strands import Part, Point, Pose, Strand
from app.session.settings import YarnHand

_Y: Final = FULL.y(0.0)
_LEG_IN_FRONT: Final = range(3, 6)
"""Which points of a loop on a needle are its leg in front."""
_LOOSE_END: Final = ((0.95, -0.7, -6.0), (0.95, 0.2, -6.0))


# --- a dropped stitch and its ladder -------------------------------------------------------------

_GAP: Final = 0.3
_FOOT: Final = _Y - 3 * DROP
"""Where the stitch that has dropped comes out of its row."""


def _rungs(caught: int) -> list[Strand]:
    """Return the strands of the ladder; the lowest `caught` are stitches again."""
    found = []
    for at in range(2):
        y = _FOOT + 1.0 + at
        if at < caught:
            points = in_fabric(0.0, y)
        else:
            points = (
                (STEP / 2, y - 0.14, -1.0),
                (0.0, y - 0.05, -1.0),
                (-STEP / 2, y - 0.14, -1.0),
            )
        found.append(Strand(Part.NEXT if at < caught else Part.OLD, points, f"rung {at + 1}"))
    return found


def _ladder(caught: int) -> list[Strand]:
    right = (STEP, 2 * STEP)
    wait = (-STEP, -2 * STEP, -3 * STEP)
    columns = [*reversed(right), None, *wait]
    found: list[Strand] = []
    for low in (0, 1, 2):
        foot = _FOOT - 1.0 + low
        for side in (columns[:2], columns[3:]):
            loops = joined(in_fabric(x, foot) for x in side if x is not None)
            found.append(Strand(Part.FABRIC, loops, "below"))
    found.append(Strand(Part.FABRIC, in_fabric(0.0, _FOOT - 1.0), "below"))
    for side in (columns[:2], columns[3:]):
        top = [on_needle(x, FULL.y(x)) for x in side if x is not None]
        found.append(Strand(Part.OLD, joined(top), "old"))
    dropped = in_fabric(0.0, _FOOT)
    found.append(Strand(Part.NEXT, dropped, "dropped"))
    return [*found, *_rungs(caught)]


_LONG_FULL: Final = Rod(Part.FULL, ((-7.0, -0.75, 0.0), (3.6, 0.436, 0.0)))


def ladder(step: int) -> Pose:
    """Return the dropped stitch; the hook in it; a rung drawn through; the stitch back up."""
    caught = (0, 0, 1, 2)[step]
    full = _LONG_FULL
    hook: list[Strand] = []
    way: list[Strand] = []
    if step == 0:
        way = arrow((1.6, -3.5), (0.9, -2.6), (0.35, -2.0))
    if step == 1:
        tip = _FOOT + 1.0
        line = (
            (1.2, _FOOT - 1.4, 5.0),
            (0.2, tip - 0.2, 5.0),
            (0.1, tip, -0.6),
            (-0.1, tip + 0.5, -0.6),
        )
        hook = [
            Strand(Part.HOOK, line, "hook", straight=True),
        ]
        way = arrow((0.9, _FOOT + 1.0), (0.7, _FOOT + 1.7), (0.2, _FOOT + 1.95))
    if step == 2:  # noqa: PLR2004 (the third picture)
        top = _FOOT + 2.2
        line = (
            (1.5, _FOOT - 1.0, 5.0),
            (0.2, top - 0.2, 5.0),
            (0.1, top, -0.6),
            (-0.1, top + 0.4, -0.6),
        )
        hook = [Strand(Part.HOOK, line, "hook", straight=True)]
        way = arrow((1.1, _FOOT + 1.9), (0.9, _FOOT + 2.7), (0.3, _FOOT + 2.95))
    strands = _ladder(caught)
    if step == 3:  # noqa: PLR2004 (the last picture)
        strands = [one for one in strands if one.name != "rung 2"]
        strands.append(Strand(Part.NEXT, on_needle(0.0, FULL.y(0.0)), "rung 2"))
        way = arrow((1.2, -1.4), (1.0, -0.6), (0.4, 0.75))
    return Pose((*strands, *full.strands(), *hook, *way))


# --- one stitch too many -------------------------------------------------------------------------


def stray_over(*, gone: bool) -> Pose:
    """Return a loop that comes out of no stitch, among the others; or the row without it."""
    free = REST
    middle = [(0.0, _Y - DROP)]
    wait = (-2 * STEP, -3 * STEP)
    fabric = hanging(free, Worked.KNIT, middle, wait=wait)
    loops = [Strand(Part.OLD, on_needle(0.0, _Y), "old")]
    x, y = -STEP, FULL.y(-STEP)
    if not gone:
        stray: tuple[Point, ...] = (
            *((-STEP / 2, y - 1.1, -1.0), (x + 0.45, y - 0.75, 0.5), (x + 0.3, y - 0.2, 1.0)),
            *((x + 0.12, y + 0.25, 1.0), (x - 0.06, y + 0.38, 1.0), (x - 0.28, y + 0.15, -1.0)),
            *((x - 0.4, y - 0.5, -1.0), (x - 0.6, y - 1.1, -1.0)),
        )
        loops.append(Strand(Part.NEXT, stray, "stray"))
        way = arrow((-2.2, -3.3), (-1.7, -2.4), (-1.35, -1.5))
    else:
        loose: tuple[Point, ...] = (
            *((-STEP / 2, y - 1.1, -1.0), (x, y - 0.85, -1.0), (x - 0.6, y - 1.1, -1.0)),
        )
        loops.append(Strand(Part.NEXT, loose, "stray"))
        way = arrow((x, 1.4), (x, 0.5), (x, -0.2))
    row = (*row_made(free, Worked.KNIT), *_LOOSE_END)
    return pose(fabric, loops, row, free, YarnHand.RIGHT, more=way)


def edge_pulled(step: int) -> Pose:
    """
    Return the first stitch of a row: pulled over the needle into two legs, and as it should be.

    0: the yarn lies over the needle and pulls the edge stitch up; 1: the yarn drawn down and to the
    back, under the needle; 2: the one stitch that there is.
    """
    wait = (-STEP, -2 * STEP, -3 * STEP)
    fabric = hanging(REST, Worked.KNIT, [(0.0, _Y - DROP)], done=(), wait=wait)
    free = Rod(Part.FREE, ((7.0, -0.6, 0.0), (2.2, 0.3, 0.0)))
    x, y = 0.0, _Y
    yarn: tuple[Point, ...]
    if step == 0:
        edge: tuple[Point, ...] = (
            *((x - 0.65, y - 1.14, -1.0), (x - 0.3, y - 1.06, -1.0), (x - 0.25, y - 0.7, 1.0)),
            *((x - 0.42, y - 0.1, 1.0), (x - 0.3, y + 0.3, 1.0), (x - 0.2, y + 0.4, -1.0)),
            *((x - 0.1, y + 0.05, -1.0), (x, y - 0.4, 0.5), (x + 0.1, y - 0.5, 1.0)),
            *((x + 0.3, y - 0.1, 1.0), (x + 0.34, y + 0.3, 1.0), (x + 0.5, y + 0.4, -2.0)),
        )
        yarn = ((x + 0.9, y + 0.45, -6.0), (x + 1.5, y + 0.8, -6.0))
        way = [
            *arrow((-1.2, -2.6), (-0.8, -1.9), (-0.45, -1.2)),
            *arrow((1.2, -2.6), (0.9, -1.9), (0.5, -1.2)),
        ]
    else:
        edge = (*reversed(on_needle(x, y)[1:]),)
        edge = tuple((px, py, level) for px, py, level in edge)
        yarn = ((x + 0.5, y - 1.5, -6.0), (x + 1.1, y - 1.6, -6.0), (x + 1.7, y - 0.4, -6.0))
        way = arrow((2.6, 0.6), (2.2, -0.8), (1.3, -1.9)) if step == 1 else []
    strand = Strand(Part.NEXT, edge, "edge")
    row = (edge[-1], *yarn)
    return pose(fabric, [strand], row, free, YarnHand.RIGHT, more=way)


# --- twisted, split, and taken back --------------------------------------------------------------


def turned_stitch(*, mended: bool) -> Pose:
    """Return a stitch that lies turned, its leg nearer to the tip behind; or turned back."""
    loops = [Strand(Part.NEXT, on_needle(0.0, _Y, turned=not mended), "next 1")]
    fabric = hanging(REST, Worked.KNIT, [(0.0, _Y - DROP)])
    row = (*row_made(REST, Worked.KNIT), *_LOOSE_END)
    way = (
        arrow((0.75, 1.3), (0.0, 1.7), (-0.75, 1.2))
        if mended
        else arrow((-1.6, -3.2), (-1.0, -1.9), (-0.5, -0.9))
    )
    return pose(fabric, loops, row, REST, YarnHand.RIGHT, more=way)


def split_yarn(*, mended: bool) -> Pose:
    """Return the tip through the plies of a stitch and not through the stitch; or beside them."""
    fabric = hanging(REST, Worked.KNIT, [(0.0, _Y - DROP)])
    whole = on_needle(0.0, _Y)
    y = _Y
    row = (*row_made(REST, Worked.KNIT), *_LOOSE_END)
    if mended:
        loops = [Strand(Part.NEXT, whole, "next 1")]
        way = arrow((1.2, 0.9), (0.8, 0.0), (0.1, -0.35))
        free = REST
    else:
        near = [
            (
                x + (0.16 if at in _LEG_IN_FRONT else 0.0),
                yy,
                level + (0.6 if at in _LEG_IN_FRONT else 0),
            )
            for at, (x, yy, level) in enumerate(whole)
        ]
        far = [
            (x - (0.12 if at in _LEG_IN_FRONT else 0.0), yy, level)
            for at, (x, yy, level) in enumerate(whole)
        ]
        loops = [
            Strand(Part.NEXT, tuple(far), "next 1", width=0.15),
            Strand(Part.NEXT, tuple(near), "ply", width=0.15),
        ]
        free = Rod(Part.FREE, ((7.0, -0.9, 1.3), (0.05, y - 0.28, 1.3)))
        row = (*row_made(free, Worked.KNIT), *_LOOSE_END)
        fabric = hanging(free, Worked.KNIT, [(0.0, _Y - DROP)])
        way = arrow((-1.7, -3.2), (-0.9, -2.0), (-0.1, -0.9))
    return pose(fabric, loops, row, free, YarnHand.RIGHT, more=way)


def taken_back(step: int) -> Pose:
    """Return a stitch unpicked: the full needle in the stitch below the last one; the yarn out."""
    if step:
        fabric = hanging(REST, Worked.KNIT, [(0.0, _Y - DROP)])
        loops = [Strand(Part.NEXT, on_needle(0.0, _Y), "next 1")]
        row = (*row_made(REST, Worked.KNIT), *_LOOSE_END)
        return pose(
            fabric, loops, row, REST, YarnHand.RIGHT, more=arrow((0.9, 0.9), (1.6, 1.9), (2.6, 2.2))
        )
    free = REACHING
    y = free.y(NEW)
    full = Rod(
        Part.FULL,
        (
            (-7.0, -1.3, 2.0),
            (NEW - 0.3, y - 1.08, 2.0),
            (NEW - 0.1, y - 1.06, -0.5),
            (NEW + 0.75, y - 0.98, -0.5),
        ),
    )
    fabric = hanging(free, Worked.KNIT, [(NEW, y - 2 * DROP)], full=full)
    old = Strand(Part.NEXT, in_fabric(NEW, y - 2 * DROP, head=1.36), "next 1")
    row = (*row_made(free, Worked.KNIT, new=(NEW,)), (-0.45, y - 0.4, -6.0), (0.3, 0.8, -6.0))
    way = arrow((-2.2, -0.2), (-1.0, -0.5), (0.0, -0.75))
    return pose(fabric, [old], row, free, YarnHand.RIGHT, full=full, more=way)
