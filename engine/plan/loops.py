"""The yarn in a loop: geometry of plain knitted fabric.

D. L. Munden, "The geometry and dimensional properties of plain-knit fabrics", J. Text. Inst. 50
(1959) T448-T471; J. J. F. Knapton and others, Text. Res. J. 38 (1968) 999-1012; the constants as
in D. J. Spencer, Knitting Technology, ch. 22 (seen second hand): courses per length = Kc / l,
wales per length = Kw / l, stitches per area = Ks / l^2, with l the yarn in one loop. The K are
pure numbers: l and the length counted over have the same unit.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final


class Relaxed(StrEnum):
    """How far a fabric has settled, in the textile trade's terms."""

    DRY = "dry"
    WET = "wet"
    FULLY = "fully"


PLAIN_WOOL: Final = {Relaxed.DRY: 19.0, Relaxed.WET: 21.6, Relaxed.FULLY: 23.1}
"""Ks by state. Kc and Kw are not used: both counts together err less than either alone."""

LOOP_ERROR: Final = 0.10
"""Relative error of a loop length found from counts alone: the constants spread by as much between
states, and one measured cotton jersey is 1.9 % off in the right and 12 % off in the wrong state."""


def loop_from_counts(wales: float, courses: float, relaxed: Relaxed) -> float:
    """Return the yarn in one stitch from both counts: sqrt(Ks / (wales * courses)).

    Both counts together, because the errors of Kw and Kc tend to cancel. Counts per unit of
    length; the loop comes out in that unit.
    """
    return math.sqrt(PLAIN_WOOL[relaxed] / (_positive(wales) * _positive(courses)))


def tightness(tex: float, loop_mm: float) -> float:
    """Return the tightness factor sqrt(tex) / l with l in millimetres (ten times it for cm).

    Plain fabrics are mostly between 1.3 and 1.5 (Spencer p. 282, second hand).
    """
    return math.sqrt(_positive(tex)) / _positive(loop_mm)


def _positive(value: float) -> float:
    if not value > 0:
        raise ValueError("Counts, loops and yarn are more than nothing.")
    return value
