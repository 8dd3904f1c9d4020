"""The place of work: two needles, the fabric under them, the hands, and the yarn to the ball."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from app.drawings.hands.stitches import DROP, STEP, Worked, in_fabric, joined, on_needle
from app.drawings.hands.strands import Part, Point, Pose, Strand
from app.session.settings import YarnHand

if TYPE_CHECKING:
    from collections.abc import Sequence

Flat: TypeAlias = tuple[float, float]
_FAR: Final = 7.0


@dataclass(frozen=True, slots=True)
class Rod:
    """A needle from its far end to its tip; the level may change on the way."""

    part: Part
    points: tuple[Point, ...]

    def y(self, x: float) -> float:
        """Return how high it lies at x."""
        (x0, y0, _), (x1, y1, _) = self.points[0], self.points[-1]
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

    @property
    def level(self) -> float:
        """The level of its shaft."""
        return self.points[0][2]

    def strands(self) -> tuple[Strand, ...]:
        """Return its shaft and, a little before it, the point that it tapers to."""
        (x0, y0, _), (x1, y1, level) = self.points[0], self.points[-1]
        long = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        x, y = (x1 - x0) / long, (y1 - y0) / long
        points = [
            Strand(
                self.part,
                ((x1 - x * 0.1, y1 - y * 0.1, level), (x1 + x * far, y1 + y * far, level)),
                f"{self.part} point",
                width=width,
                straight=True,
            )
            for far, width in ((0.16, 0.34), (0.32, 0.22), (0.44, 0.12))
        ]
        return (Strand(self.part, self.points, self.part.value, straight=True), *points)


FULL: Final = Rod(Part.FULL, ((-_FAR, -0.75, 0.0), (0.85, 0.15, 0.0)))
FULL_BACK: Final = Rod(Part.FULL, ((-_FAR, -0.75, 0.0), (-0.75, -0.04, 0.0)))
"""The full needle when its next stitch has just left it."""
REST: Final = Rod(Part.FREE, ((_FAR, -0.35, 0.0), (1.05, 0.1, 0.0)))
REACHING: Final = Rod(Part.FREE, ((_FAR, -0.35, 0.0), (-0.15, 0.18, 0.0)))
"""The free needle at rest with the new stitch near its tip."""
WAIT: Final = (-STEP, -2 * STEP, -3 * STEP)
"""The columns on the full needle behind the next one."""
DONE: Final = (1.25 * STEP, 2.25 * STEP)
"""The columns on the free needle."""
NEW: Final = 0.25 * STEP
"""The column of the new stitch."""


def crossed(shaft: float, tip: float, at: float = 0.0) -> Rod:
    """Return the free needle put across the full one; its level changes near x = `at`."""
    line = [(6.0, shaft), (at + 0.1, shaft), (at - 0.1, tip), (-1.55, tip)]
    return Rod(Part.FREE, tuple((x, -0.45 - 0.757 * x, level) for x, level in line))


# --- fabric and loops ----------------------------------------------------------------------------


def hanging(
    free: Rod,
    worked: Worked,
    middle: Sequence[tuple[float, float]],
    *,
    full: Rod = FULL,
    done: Sequence[float] = DONE,
    wait: Sequence[float] = WAIT,
) -> list[Strand]:
    """
    Return the fabric: everything but the stitches in the middle and the row that is made.

    `middle` are the columns there, each with the height at which its loop comes out of the row
    below, from right to left.
    """
    on_free = [(x, free.y(x) - 2 * DROP) for x in reversed(done)]
    on_full = [(x, full.y(x) - DROP) for x in wait]
    feet = [*on_free, *middle, *on_full]
    found = [
        Strand(Part.FABRIC, joined(in_fabric(x, y - 2 * DROP, worked) for x, y in feet)),
        Strand(Part.FABRIC, joined(in_fabric(x, y - DROP, worked) for x, y in feet), "below"),
    ]
    if on_free:
        loops = [in_fabric(x, y, worked) for x, y in on_free]
        found.append(Strand(Part.OLD, joined(loops), "old right"))
    if on_full:
        loops = [on_needle(x, full.y(x), worked, needle=full.level) for x in wait]
        found.append(Strand(Part.OLD, joined(loops), "old left"))
    return found


def row_made(
    free: Rod, worked: Worked, done: Sequence[float] = DONE, new: Sequence[float] = ()
) -> tuple[Point, ...]:
    """Return the stitches of this row on the free needle, up to where the yarn leaves them."""
    columns = [*reversed(done), *new]
    return joined([on_needle(x, free.y(x), worked, needle=free.level) for x in columns])


# --- hands ---------------------------------------------------------------------------------------


def finger(points: Sequence[Flat], level: float, width: float) -> Strand:
    """Return a finger through points."""
    return Strand(Part.HAND, tuple((x, y, level) for x, y in points), width=width)


def full_hand() -> list[Strand]:
    """Return the hand that holds the full needle: fingers behind, the thumb in front."""
    return [
        finger(((-6.4, -3.0), (-5.9, -1.9), (-5.3, -0.7)), -9.4, 2.0),
        finger(((-5.4, -1.0), (-4.9, 0.0), (-4.0, -0.05)), -9.3, 0.85),
        finger(((-5.4, -1.9), (-4.6, -1.35), (-4.05, -1.4)), -9.2, 0.85),
        finger(((-5.6, -2.7), (-4.8, -2.2), (-4.3, -2.3)), -9.1, 0.8),
        finger(((-6.2, -2.4), (-5.6, -1.2), (-4.65, -0.72)), 12, 0.95),
    ]


def free_hand(free: Rod) -> list[Strand]:
    """Return the hand that holds the free needle, its thumb in front."""
    steep = free.points[0][1] < -2  # noqa: PLR2004 (crossed or at rest)
    x = 3.9 if steep else 4.5
    y = free.y(x)
    return [
        finger(((x + 2.2, y - 2.2), (x + 1.7, y - 1.3), (x + 1.2, y - 0.3)), -9.4, 2.0),
        finger(((x + 1.2, y - 0.6), (x + 0.7, y + 0.45), (x - 0.2, y + 0.45)), -9.3, 0.85),
        finger(((x + 1.3, y - 1.5), (x + 0.5, y - 0.95), (x - 0.05, y - 1.0)), -9.2, 0.85),
        finger(((x + 2.0, y - 2.0), (x + 1.4, y - 0.8), (x + 0.3, y - 0.1)), 12, 0.95),
    ]


def arrow(*points: Flat) -> list[Strand]:
    """Return an arrow through points: where the hand moves now."""
    (x0, y0), (x1, y1) = points[-2], points[-1]
    long = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-9)
    x, y = (x1 - x0) / long, (y1 - y0) / long
    barbs = (
        (x1 - 0.42 * x - 0.28 * y, y1 - 0.42 * y + 0.28 * x, 20.0),
        (x1, y1, 20.0),
        (x1 - 0.42 * x + 0.28 * y, y1 - 0.42 * y - 0.28 * x, 20.0),
    )
    shaft = tuple((px, py, 20.0) for px, py in points)
    return [Strand(Part.ARROW, shaft), Strand(Part.ARROW, barbs, straight=True)]


# --- the yarn ------------------------------------------------------------------------------------


def to_hand(hold: YarnHand, *, front: bool, low: bool = False) -> tuple[tuple[Point, ...], Strand]:
    """
    Return how the yarn runs on to the hand that leads it, and the finger that it runs over.

    `front`: the yarn is in front of the work, otherwise behind; `low`: drawn down.
    """
    level = 8.0 if front else -6.0
    if hold is YarnHand.RIGHT:
        x, y = (2.6, -0.4) if low else (2.5, 1.35)
        run = ((x - 0.3, y, level), (x + 0.9, y + 0.34, level), (6.2, y - 0.2, level))
        return run, finger(((x + 2.6, y - 0.9), (x + 1.3, y), (x + 0.2, y)), level + 0.5, 0.8)
    x, y = (-2.3, 0.9) if low else (-1.5, 1.6)
    run = ((x + 0.2, y + 0.1, level), (x - 0.9, y + 0.3, level), (-6.2, 0.2, level - 0.0))
    bent = finger(((-5.4, -0.9), (-4.3, y - 0.7), (x - 0.2, y - 0.05)), level - 0.5, 0.8)
    return run, bent


def pose(  # noqa: PLR0913 (everything that is seen)
    fabric: Sequence[Strand],
    loops: Sequence[Strand],
    row: Sequence[Point],
    free: Rod,
    hold: YarnHand,
    *,
    full: Rod = FULL,
    front: bool = False,
    low: bool = False,
    more: Sequence[Strand] = (),
) -> Pose:
    """Return a whole picture; `row` is the yarn of this row, up to where it goes to the hand."""
    run, leading = to_hand(hold, front=front, low=low)
    return Pose(
        (
            *full_hand(),
            *fabric,
            *loops,
            Strand(Part.YARN, (*row, *run), "row"),
            *full.strands(),
            *free.strands(),
            *free_hand(free),
            leading,
            *more,
        )
    )
