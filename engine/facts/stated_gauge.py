"""The gauge that a designer states in words, in figures: "20 sts and 28 rows to 10 cm"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.fabric import Fabric
from engine.quantities import LengthUnit, parse_length, parse_number

if TYPE_CHECKING:
    from fractions import Fraction

_NUMBER = r"\d+(?:[.,]\d+|\s+\d/\d|\s?[¼½¾])?"
_STITCHES = re.compile(rf"({_NUMBER})\s*(?:sts?\b\.?|stitch(?:es)?\b)", re.IGNORECASE)
_ROWS = re.compile(rf"({_NUMBER})\s*(?:rows?\b|rnds?\b\.?|rounds?\b)", re.IGNORECASE)
_OVER = re.compile(
    rf"({_NUMBER})\s*(cm|centimet(?:re|er)s?|in(?:ch(?:es)?)?\b|[\"″”])", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class StatedGauge:
    """Stitches and rows to 10 cm as a designer states them (None: not stated)."""

    stitches_per_10cm: Fraction | None
    rows_per_10cm: Fraction | None
    fabric: Fabric


def read_stated_gauge(text: str) -> StatedGauge | None:
    """
    Return the gauge in `text`, or None if it states none.

    The measure that counts is the first one named ("20 sts and 28 rows to 10 cm", "18 sts x 24
    rows = 4 in"); 4 in are 10.16 cm. A gauge is meant washed, or blocked, unless it says
    otherwise (common practice, no source).
    """
    stitches, rows = _STITCHES.search(text), _ROWS.search(text)
    named = (parse_length(f"{found[1]} {found[2]}") for found in _OVER.finditer(text))
    measures = [one for one in named if one is not None and one.value > 0]
    if not measures or (stitches is None and rows is None):
        return None
    over_cm = measures[0].to(LengthUnit.CM).value
    unwashed = re.search(r"unwashed|before wash|unblocked|before block", text, re.IGNORECASE)

    def per_10cm(found: re.Match[str] | None) -> Fraction | None:
        number = parse_number(found[1]) if found else None
        return number * 10 / over_cm if number else None

    return StatedGauge(
        per_10cm(stitches), per_10cm(rows), Fabric.RESTED if unwashed else Fabric.WASHED
    )
