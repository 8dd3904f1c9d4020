"""The yarn in a loop: geometry of plain knitted fabric.

D. L. Munden, "The geometry and dimensional properties of plain-knit fabrics", J. Text. Inst. 50
(1959) T448-T471; J. J. F. Knapton and others, Text. Res. J. 38 (1968) 999-1012; the constants as
in D. J. Spencer, Knitting Technology, ch. 22 (seen second hand): courses per length = Kc / l,
wales per length = Kw / l, stitches per area = Ks / l^2, with l the yarn in one loop. The K are
pure numbers: l and the length counted over have the same unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Relaxed(StrEnum):
    """How far a fabric has settled, in the textile trade's terms."""

    DRY = "dry"
    WET = "wet"
    FULLY = "fully"


@dataclass(frozen=True, slots=True)
class LoopConstants:
    """Kc for courses (rows), Kw for wales (columns), Ks for stitches on an area."""

    courses: float
    wales: float
    area: float

    @property
    def shape(self) -> float:
        """Loop shape factor R = Kc / Kw."""
        return self.courses / self.wales


PLAIN_WOOL: Final = {
    Relaxed.DRY: LoopConstants(5.0, 3.8, 19.0),
    Relaxed.WET: LoopConstants(5.3, 4.1, 21.6),
    Relaxed.FULLY: LoopConstants(5.5, 4.2, 23.1),
}

LOOP_ERROR: Final = 0.10
"""Relative error of a loop length found from counts alone: the constants spread by as much between
states, and one measured cotton jersey is 1.9 % off in the right and 12 % off in the wrong state."""


def courses_per_length(loop: float, relaxed: Relaxed) -> float:
    """Return rows per unit of length of plain fabric with `loop` of yarn in a stitch."""
    return PLAIN_WOOL[relaxed].courses / _positive(loop)


def wales_per_length(loop: float, relaxed: Relaxed) -> float:
    """Return stitches per unit of length of plain fabric with `loop` of yarn in a stitch."""
    return PLAIN_WOOL[relaxed].wales / _positive(loop)


def stitches_per_area(loop: float, relaxed: Relaxed) -> float:
    """Return stitches per unit of area of plain fabric with `loop` of yarn in a stitch."""
    return PLAIN_WOOL[relaxed].area / _positive(loop) ** 2


def loop_from_counts(wales: float, courses: float, relaxed: Relaxed) -> float:
    """Return the yarn in one stitch from both counts: sqrt(Ks / (wales * courses)).

    Both counts together, because the errors of Kw and Kc tend to cancel. Counts per unit of
    length; the loop comes out in that unit.
    """
    return math.sqrt(PLAIN_WOOL[relaxed].area / (_positive(wales) * _positive(courses)))


def loop_from_courses(courses: float, relaxed: Relaxed) -> float:
    """Return the yarn in one stitch from the row count alone: Kc / courses."""
    return PLAIN_WOOL[relaxed].courses / _positive(courses)


def loop_from_wales(wales: float, relaxed: Relaxed) -> float:
    """Return the yarn in one stitch from the stitch count alone: Kw / wales."""
    return PLAIN_WOOL[relaxed].wales / _positive(wales)


def measured_constants(loop: float, wales: float, courses: float) -> LoopConstants:
    """Return the constants that a measured fabric shows; `loop` in the unit counted over."""
    return LoopConstants(courses * loop, wales * loop, courses * wales * loop**2)


def row_yarn(width: float, relaxed: Relaxed) -> float:
    """Return the yarn in one plain row: Kw times its width, in the unit of the width.

    Follows from Kw = wales * l: 3.8 to 4.2 times the width.
    """
    return PLAIN_WOOL[relaxed].wales * _positive(width)


def tightness(tex: float, loop_mm: float) -> float:
    """Return the tightness factor sqrt(tex) / l with l in millimetres (ten times it for cm).

    Plain fabrics are mostly between 1.3 and 1.5 (Spencer p. 282, second hand).
    """
    return math.sqrt(_positive(tex)) / _positive(loop_mm)


def mass_per_square_metre(stitches_per_cm2: float, loop_mm: float, tex: float) -> float:
    """Return the weight of the fabric in g/m^2: stitches/cm^2 * l(mm) * tex / 100."""
    return _positive(stitches_per_cm2) * _positive(loop_mm) * _positive(tex) / 100


def _positive(value: float) -> float:
    if not value > 0:
        raise ValueError("Counts, loops and yarn are more than nothing.")
    return value
