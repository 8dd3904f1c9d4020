"""Where every stitch of a fabric's picture lies; no Kivy here. Lengths are in stitch widths."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from app.drawings.fabric import DrawnFabric, DrawnRow, DrawnStitch, FabricEdge, Seen
from app.drawings.picture import DrawnNeedle, Ink, Picture, Quad, RowMark, Strip
from app.drawings.sheet import MARGIN_X, MARGIN_Y, Tile

ROW_HEIGHT: Final = 20 / 28
"""Height of a row by the width of a stitch: 20 stitches and 28 rows to 10 cm."""
NEEDLE: Final = 0.56
"""Thickness of the drawn needle, in stitch widths."""
_PLAN_Y: Final = NEEDLE * 1.9 + 0.25
"""Height at which the stitches that are still to be worked are drawn."""
_SINK: Final = 0.95 * ROW_HEIGHT
"""How far a crossing pulls at the row below: the strands need more than a row to cross."""
_SPREAD: Final = 1.3
"""How much wider the legs of a crossing are drawn: lying aslant they would look thin."""
_NARROW_GAP: Final = 1.04
_WIDE_GAP: Final = 2.2
_YIELD: Final = 0.35
"""How far a stitch moves in one row towards its even place: wool gives slowly."""


def height_above(fabric: DrawnFabric) -> float:
    """Return how high a fabric's picture reaches above its last row done."""
    if fabric.off:
        return 0.2
    top = NEEDLE if fabric.working is None else _PLAN_Y + ROW_HEIGHT * 1.15
    return top if fabric.hint is None else top + 0.55 + ROW_HEIGHT * 1.15


def seldom(rows: int) -> int:
    """Return for how many rows room is kept while a piece is small: it changes every few rows."""
    kept = 3
    while kept < rows:
        kept = kept * 3 // 2 + 1
    return kept


def lay_out(fabric: DrawnFabric, below: tuple[float, ...] | None = None) -> Picture:
    """
    Place every stitch of a fabric.

    `below` are the middles of the stitches that its lowest row stands on, where they are known.
    """
    strips: list[tuple[Strip, float]] = []
    marks: list[RowMark] = []
    level = -len(fabric.done)
    places: list[tuple[float, ...]] = []
    for row in fabric.done:
        xs = _columns(row, below)
        strips += [(strip, level * ROW_HEIGHT) for strip in _strips(row, xs, below, Ink.WOOL)]
        if row.number > 0:
            edges = (*xs, *(below or ()))
            marks.append(_mark(row, edges, (level + 0.5) * ROW_HEIGHT, Ink.WOOL))
        places.append(xs)
        below, level = xs, level + 1
    columns = tuple(places)
    loops: list[Quad] = []
    needles: list[DrawnNeedle] = []
    bit, work_x, top = None, 0.0, NEEDLE
    if fabric.working is not None:
        working = _lay_working(fabric, fabric.working, below)
        strips += working.strips
        loops, needles, bit, work_x = working.loops, working.needles, working.bit, working.work_x
        marks.append(_mark(fabric.working, working.xs, working.plan_y + ROW_HEIGHT / 2, Ink.NOW))
        places.append(working.xs)
        top = working.plan_y + ROW_HEIGHT * 1.15
    elif below and not fabric.off:
        needles, loops = _all_on_one(below, _yarns(fabric.done[-1]), leftwards=True)
    if fabric.hint is not None:
        xs = _columns(fabric.hint, None)
        hint_y = top + 0.55
        strips += [(strip, hint_y) for strip in _strips(fabric.hint, xs, None, Ink.HINT)]
        marks.append(_mark(fabric.hint, xs, hint_y + ROW_HEIGHT / 2, Ink.HINT))
        places.append(xs)
        top = hint_y + ROW_HEIGHT * 1.15
    every = [x for xs in places for x in xs]
    return Picture(
        strips=tuple(strips),
        loops=tuple(loops),
        needles=tuple(needles),
        marks=tuple(marks),
        bit=bit,
        work_x=work_x,
        top=top,
        bottom=-len(fabric.done) * ROW_HEIGHT - 0.3,
        left=min(every, default=0.0) - 0.5,
        right=max(every, default=0.0) + 0.5,
        columns=columns,
    )


@dataclass(frozen=True, slots=True)
class _Working:
    xs: tuple[float, ...]
    strips: list[tuple[Strip, float]]
    loops: list[Quad]
    needles: list[DrawnNeedle]
    bit: tuple[float, float] | None
    work_x: float
    plan_y: float


def _lay_working(fabric: DrawnFabric, row: DrawnRow, below: tuple[float, ...] | None) -> _Working:
    """Place the working row: what is worked on one needle, what is still to be worked above."""
    xs = _columns(row, below)
    count = len(xs)
    order = list(range(count - 1, -1, -1)) if row.leftwards else list(range(count))
    worked = set(order[: fabric.worked])
    bit = set(order[fabric.bit_first : fabric.bit_first + fabric.bit_count])
    planned = frozenset(order) - worked - bit
    strips = [
        *((one, 0.0) for one in _strips(row, xs, below, Ink.FRESH, frozenset(worked))),
        *((one, _PLAN_Y) for one in _strips(row, xs, None, Ink.PLANNED, planned)),
        *((one, _PLAN_Y) for one in _strips(row, xs, None, Ink.NOW, frozenset(bit - worked))),
    ]
    used = {column for index in worked for column in row.stitches[index].out_of}
    waiting = [x for column, x in enumerate(below or xs) if column not in used]
    fresh = [xs[index] for index in sorted(worked)]
    step = -1.0 if row.leftwards else 1.0
    if fresh and waiting:
        work_x = (fresh[0] if row.leftwards else fresh[-1]) + step * 0.5
    elif fresh:
        work_x = (min(fresh) if row.leftwards else max(fresh)) + step * 0.5
    else:
        start = below or xs or (0.0,)  # how many stitches there are need not be known
        work_x = (max(start) + 0.5) if row.leftwards else (min(start) - 0.5)
    yarns = _yarns(fabric.done[-1]) if fabric.done and below else ()
    loops = [
        _loop(x, 0.0, Ink.WOOL, yarns[column] if column < len(yarns) else "")
        for column, x in enumerate(below or xs)
        if column not in used
    ]
    loops += [
        _loop(xs[index], ROW_HEIGHT, Ink.FRESH, row.stitches[index].colour)
        for index in sorted(worked)
    ]
    marked = sorted(xs[index] for index in bit - worked)
    return _Working(
        xs=xs,
        strips=strips,
        loops=loops,
        needles=_needles(waiting, fresh, work_x, step),
        bit=(marked[0] - 0.5, marked[-1] + 0.5) if marked else None,
        work_x=work_x,
        plan_y=_PLAN_Y,
    )


def _needles(
    waiting: list[float], fresh: list[float], work_x: float, step: float
) -> list[DrawnNeedle]:
    """Place the needle with the waiting stitches and the one that takes the worked ones.

    `step` is the direction of work, -1 leftwards.
    """
    low, high = NEEDLE * 0.55, ROW_HEIGHT + NEEDLE * 0.55
    needles: list[DrawnNeedle] = []
    if waiting:
        far = min(waiting) if step < 0 else max(waiting)
        needles.append(DrawnNeedle(far + step * 2.2, low, work_x - step * 0.9, low))
    if fresh:
        far = max(fresh) if step < 0 else min(fresh)
        needles.append(DrawnNeedle(far - step * 2.2, high, work_x + step * 0.9, high - 0.35))
    else:
        needles.append(
            DrawnNeedle(work_x - step * 4.2, low + 0.9, work_x + step * 0.75, low - 0.12)
        )
    return needles


def _yarns(row: DrawnRow) -> tuple[str, ...]:
    return tuple(stitch.colour for stitch in row.stitches)


def _all_on_one(
    below: tuple[float, ...], yarns: tuple[str, ...], *, leftwards: bool
) -> tuple[list[DrawnNeedle], list[Quad]]:
    y = NEEDLE * 0.55
    far, near = (min(below) - 2.2, max(below) + 1.6) if leftwards else (max(below), min(below))
    return [DrawnNeedle(far, y, near, y)], [
        _loop(x, 0.0, Ink.WOOL, yarn) for x, yarn in zip(below, yarns, strict=True)
    ]


@lru_cache(maxsize=512)
def _columns(row: DrawnRow, below: tuple[float, ...] | None) -> tuple[float, ...]:
    """Return the middle of every stitch: one apart, and as near above its own as can be."""
    count = len(row.stitches)
    if not count:
        return ()
    if below is None:
        return tuple(index - (count - 1) / 2 for index in range(count))
    stood_on = _stood_on(row)
    shifts = [
        sum(_x(column, below) for column in columns) / len(columns) - index
        for index, columns in enumerate(stood_on)
        if columns
    ]
    shift = sum(shifts) / len(shifts) if shifts else -(count - 1) / 2
    placed: list[float] = []
    for index, columns in enumerate(stood_on):
        x = index + shift
        if columns:
            feet = sum(_x(column, below) for column in columns) / len(columns)
            x = _YIELD * x + (1 - _YIELD) * feet
        elif placed:
            x = max(x, placed[-1] + 0.6)
        placed.append(x)
    return tuple(placed)


def _stood_on(row: DrawnRow) -> list[tuple[int, ...]]:
    """Return above which columns each stitch stands; crossed ones in their new order."""
    stood_on = [stitch.out_of for stitch in row.stitches]
    at = 0
    while at < len(stood_on):
        end = at
        while end < len(stood_on) and row.stitches[end].crosses:
            end += 1
        stood_on[at:end] = sorted(stood_on[at:end])
        at = max(end, at + 1)
    return stood_on


def _x(column: float, below: tuple[float, ...]) -> float:
    """Return the middle of a column of the row below, also beside its ends."""
    whole = min(max(int(column), 0), len(below) - 1)
    return below[whole] + (column - whole)


@lru_cache(maxsize=256)
def _strips(
    row: DrawnRow,
    xs: tuple[float, ...],
    below: tuple[float, ...] | None,
    ink: Ink,
    only: frozenset[int] | None = None,
) -> tuple[Strip, ...]:
    """
    Return the quads of a row by ink and yarn, without those that are empty.

    The same row is drawn again and again while the piece grows.
    """
    groups: dict[tuple[Ink, str], set[int]] = {}
    for index, stitch in enumerate(row.stitches):
        if only is None or index in only:
            drawn_in = Ink.IDLE if stitch.idle and ink in {Ink.WOOL, Ink.FRESH} else ink
            groups.setdefault((drawn_in, stitch.colour), set()).add(index)
    return tuple(
        Strip(tuple(_row_quads(row, xs, below, inked, frozenset(group))), inked, colour)
        for (inked, colour), group in groups.items()
    )


def _row_quads(
    row: DrawnRow,
    xs: tuple[float, ...],
    below: tuple[float, ...] | None,
    ink: Ink,
    only: frozenset[int],
) -> list[Quad]:
    """Draw one row: the shadow first, then bumps, then the legs that lie over them."""
    y = 0.0
    shadow: list[Quad] = []
    behind: list[Quad] = []
    front: list[Quad] = []
    # Of a crossing the strand behind is drawn first, over those that it covers lies the other one.
    stood_on = _stood_on(row)
    order = sorted(only, key=lambda index: (row.stitches[index].front, index))
    for index in order:
        stitch = row.stitches[index]
        x = xs[index]
        if stitch.edge is not FabricEdge.NONE:
            front.append(_quad(Tile.EDGE, ink, x, x, y))
            continue
        feet = _feet(stitch, x, below)
        sink = 0.0
        if stitch.crosses:
            sink = _SINK if below is not None else _SINK / 3
            if below is None:
                feet = [x + stitch.out_of[0] - stood_on[index][0]]
        if stitch.seen is not Seen.OVER and ink not in {Ink.PLANNED, Ink.HINT, Ink.IDLE}:
            shadow += [_quad(Tile.GROUND, ink, x if sink else foot, x, y) for foot in feet]
        # The stitch in front is drawn last, over those that it covers.
        for foot in reversed(feet):
            match stitch.seen:
                case Seen.KNIT:
                    front.append(_quad(Tile.KNIT, ink, foot, x, y, sink))
                case Seen.PURL:
                    # What is purled behind a crossing stays in its own place, as a bump.
                    behind.append(_quad(Tile.PURL, ink, x if sink else foot, x, y))
                case Seen.OVER:
                    front.append(_quad(Tile.OVER, ink, foot, x, y))
                case Seen.PLAIN:
                    behind.append(_quad(Tile.PLAIN, ink, foot, x, y))
    if ink in {Ink.WOOL, Ink.FRESH}:
        shadow += _between(row, xs, below, ink, only)
    colour = row.stitches[order[0]].colour if order else ""
    return [replace(quad, colour=colour) for quad in shadow + behind + front]


def _between(
    row: DrawnRow,
    xs: tuple[float, ...],
    below: tuple[float, ...] | None,
    ink: Ink,
    only: frozenset[int],
) -> list[Quad]:
    """Draw the shadow between stitches pulled apart by shaping: only a yarn-over is a hole."""
    shadow: list[Quad] = []
    for index in sorted(only):
        if index + 1 >= len(xs) or not _NARROW_GAP < xs[index + 1] - xs[index] < _WIDE_GAP:
            continue
        pair = row.stitches[index : index + 2]
        if any(one.seen is Seen.OVER or one.edge is not FabricEdge.NONE for one in pair):
            continue
        feet = [_feet(one, x, below)[0] for one, x in zip(pair, xs[index:], strict=False)]
        shadow.append(_quad(Tile.GROUND, ink, sum(feet) / 2, (xs[index] + xs[index + 1]) / 2, 0.0))
    return shadow


def _feet(stitch: DrawnStitch, x: float, below: tuple[float, ...] | None) -> list[float]:
    if below is None:
        # Drawn by itself: a decrease still leans, an increase still spreads.
        middle = sum(stitch.out_of) / len(stitch.out_of) if stitch.out_of else 0.0
        return [x + column - middle for column in stitch.out_of] or [x]
    if not stitch.out_of:
        return [_x(stitch.beside, below)]
    return [_x(column, below) for column in stitch.out_of]


def _quad(tile: Tile, ink: Ink, foot: float, head: float, y: float, sink: float = 0.0) -> Quad:
    """Return a tile whose stitch stands on `foot` and ends at `head`; the margin goes along.

    `sink` is how far its foot reaches below the row.
    """
    half = (0.5 if not sink else 0.5 * _SPREAD) / (1 - 2 * MARGIN_X)
    tall = ROW_HEIGHT + sink
    rise = tall / (1 - 2 * MARGIN_Y)
    y -= sink
    low, high = y - rise * MARGIN_Y, y + rise * (1 - MARGIN_Y)
    lean = (head - foot) / tall
    foot_low = foot + lean * (low - y)
    head_high = foot + lean * (high - y)
    return Quad(
        tile,
        ink,
        (
            foot_low - half, low, foot_low + half, low,
            head_high + half, high, head_high - half, high,
        ),
    )  # fmt: skip


def _loop(x: float, y: float, ink: Ink, colour: str) -> Quad:
    return replace(_quad(Tile.LOOP, ink, x, x, y - 0.06), colour=colour)


def _mark(row: DrawnRow, xs: tuple[float, ...], y: float, ink: Ink) -> RowMark:
    xs = xs or (0.0,)
    edge = (max(xs) + 0.5, True) if row.leftwards else (min(xs) - 0.5, False)
    return RowMark(row.number, edge[0], y, edge[1], ink, row.text)
