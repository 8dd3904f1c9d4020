"""Read what `walesong batch` and `walesong order` are given: tolerances, numbers, days, stages."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Final

from app.pieces import plan_input
from app.pieces.values import PlanInputError
from engine.order_events import ToleranceSet
from engine.quantities import parse_number
from engine.soundness import MOST_NUMBER
from engine.stages import Stage, Trait

if TYPE_CHECKING:
    from fractions import Fraction

TRAITS: Final = {
    "rows": Trait.ROWS,
    "length": Trait.LENGTH,
    "width": Trait.WIDTH,
    "weight": Trait.WEIGHT,
    "stitch gauge": Trait.STITCH_GAUGE,
    "row gauge": Trait.ROW_GAUGE,
}
_TOLERANCE: Final = re.compile(r"(stitch gauge|row gauge|[a-z]+)\s+(.+)")
_NUMBERS: Final = re.compile(r"(\d{1,6})(?:-(\d{1,6}))?")
_MOST_AT_ONCE: Final = 1000


def tolerance(text: str) -> ToleranceSet:
    """Read "length 0.3 cm", "weight 5 %", "rows 0", "row gauge 1"."""
    found = _TOLERANCE.fullmatch(" ".join(text.casefold().replace("±", " ").split()))
    trait = TRAITS.get(found[1]) if found is not None else None
    if found is None or trait is None:
        raise PlanInputError(
            f"'{text}' is no tolerance; write it like \"length 0.5 cm\". What can have one: "
            f"{', '.join(TRAITS)}."
        )
    if trait in {Trait.LENGTH, Trait.WIDTH}:
        return ToleranceSet(0, trait, plan_input.length(found[2]), None)
    unit = {Trait.WEIGHT: "%", Trait.ROWS: "rows"}.get(trait, "")
    return ToleranceSet(0, trait, None, _share(found[2], unit, text))


def _share(words: str, unit: str, text: str) -> Fraction | None:
    number = parse_number(words.removesuffix(unit).strip()) if unit else parse_number(words)
    if number is None or number < 0:
        asks = "a number of per cent" if unit == "%" else "a number"
        raise PlanInputError(f"'{text}' has no tolerance that can be read: {asks}, from 0.")
    return number or None


def numbers(text: str) -> tuple[int, ...]:
    """Read "12" or "14-20": numbers of pieces."""
    found = _NUMBERS.fullmatch(text.strip())
    first = int(found[1]) if found is not None else 0
    last = int(found[2]) if found is not None and found[2] else first
    if not 1 <= first <= last or last - first >= _MOST_AT_ONCE:
        raise PlanInputError(f"'{text}' is no number of a piece; write it like 12 or 14-20.")
    return tuple(range(first, last + 1))


def how_many(text: str) -> int:
    """Read a whole number, from 0."""
    if not (text.isascii() and text.isdigit() and len(text) <= 7 and int(text) <= MOST_NUMBER):  # noqa: PLR2004
        raise PlanInputError(f"'{text}' is no whole number.")
    return int(text)


def day(text: str) -> str:
    """Read the day on which an order is due: 2026-03-01."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError as error:
        raise PlanInputError(f"'{text}' is no day; write year, month, day: 2026-03-01.") from error


def hours(text: str) -> Fraction:
    """Read hours a week: 9, 4.5, "2 1/2"."""
    number = parse_number(text)
    if number is None or not 0 < number <= 7 * 24:
        raise PlanInputError(f"'{text}' is no number of hours a week; write it like 4.5.")
    return number


def stage(text: str) -> Stage:
    """Read a stage by its name."""
    known = {one.value: one for one in Stage}
    found = known.get(text.strip().casefold())
    if found is None:
        raise PlanInputError(f"'{text}' is no stage; there are: {', '.join(known)}.")
    return found
