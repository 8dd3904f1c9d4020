"""Which needle a row was worked on, as the knitter calls it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from engine.quantities import Length, LengthUnit, number_text, parse_number

if TYPE_CHECKING:
    from engine.state import PieceState

FIRST_NEEDLE: Final = "first needle"
"""What the needle of the cast-on goes by when nobody named it and another one came."""
THINNEST_MM: Final = 1
THICKEST_MM: Final = 25
"""Needles beyond these are not made (needle tables, `shared/tables/needles.toml`)."""


KINDS: Final = frozenset(
    ("another", "bamboo", "bigger", "circular", "circulars", "cord", "double", "dpn", "dpns",
     "fine", "finer", "larger", "long", "longer", "magic", "metal", "needle", "needles", "new",
     "pointed", "same", "short", "shorter", "smaller", "steel", "straight", "straights",
     "thicker", "thin", "thinner", "wood", "wooden")
)  # fmt: skip
"""Words by which needles go beside their sizes (common practice, no source)."""


def names_a_needle(text: str) -> bool:
    """Tell whether words can be the name of a needle: a number is in them, or a kind of needle."""
    words = re.findall(r"[a-z]+", text.casefold())
    return any(sign.isdigit() for sign in text) or bool(KINDS & set(words))


def needle_at(state: PieceState, row: int) -> str:
    """
    Return the needle of a row; "" while nothing is known that tells one needle from another.

    Until the first change it is the needle of the last swatch that was counted before the first
    row: that is the one she chose.
    """
    needle = ""
    for count in state.swatch_counts:
        if count.done == 0 and count.needle:
            needle = count.needle
    if state.needles and not needle:
        needle = FIRST_NEEDLE
    for change in state.needles:
        if change.row <= row:
            needle = change.needle or f"another needle from row {change.row}"
    return needle


def changed_at(state: PieceState) -> int:
    """Return the row from which the needle in use has been used; 1 if it never changed."""
    return state.needles[-1].row if state.needles else 1


def needle_name(length: Length | None, text: str | None) -> str:
    """Return how a needle is written: "4.5 mm" for a size in figures, else the knitter's words."""
    if length is not None:
        return f"{number_text(length.to(LengthUnit.MM).value, LengthUnit.MM)} mm"
    words = (text or "").strip()
    number = parse_number(words.casefold().removesuffix("mm").strip())
    if number is not None:
        return f"{number_text(number, LengthUnit.MM)} mm"
    return words.upper() if words[:2].casefold() in {"us", "uk"} else words
