"""The state in which a fabric is measured: the same rows read differently once washed."""

from __future__ import annotations

from enum import StrEnum


class Fabric(StrEnum):
    """What was done to the fabric before it was measured.

    Knitting loses its stretch when it comes off the needle and again in the first wash, so a
    length means little without its state. The textile trade's names are near it: taken as it
    comes, dry-relaxed, wet-relaxed (D. L. Munden, J. Text. Inst. 50 (1959) T448-T471).
    """

    ON_NEEDLE = "on_needle"
    RESTED = "rested"
    WASHED = "washed"
