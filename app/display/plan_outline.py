"""The plan as an outline whose width and length can be taken hold of; no Kivy here."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from app.session.draft import Draft

_START: Final = Length(Fraction(20), LengthUnit.CM)
"""What is drawn before anything is said: a square that says that it is nobody's wish yet."""
_STEPS: Final = {LengthUnit.CM: Fraction(1, 2), LengthUnit.IN: Fraction(1, 4)}
_LEAST: Final = Fraction(1)
_MOST: Final = Fraction(300)


@dataclass(frozen=True, slots=True)
class PlanOutline:
    """Width and length as they are drawn; `known` tells which of both were said."""

    width: Length
    length: Length
    known: frozenset[str]
    across: str
    upward: str
    inside: tuple[str, ...]
    """What follows from swatch and size: stitches and rows."""


def outline_of_plan(
    draft: Draft,
    sums: tuple[int, int] | None,
    words: ScreenWording,
    start: tuple[Length | None, Length | None] = (None, None),
    unit: LengthUnit | None = None,
) -> PlanOutline:
    """
    Return the outline of what is chosen so far.

    `sums` are the stitches and rows of the plan; `start` is the size of the pattern, from which
    she sets out.
    """
    numbers = draft.numbers
    found: dict[str, Length] = {}
    known: set[str] = set()
    for key, first in zip(("width", "length"), start, strict=True):
        said = numbers.get(key)
        if isinstance(said, Length):
            known.add(key)
            found[key] = said
        else:
            found[key] = _in_steps(first or _START, unit)
    said_words = {
        key: words("plan", key if key in known else f"{key}_open", length=found[key])
        for key in found
    }
    inside: tuple[str, ...] = ()
    if sums is not None:
        inside = (words("plan", "stitches", count=sums[0]), words("plan", "rows", rows=sums[1]))
    return PlanOutline(
        found["width"],
        found["length"],
        frozenset(known),
        said_words["width"],
        said_words["length"],
        inside,
    )


def _in_steps(length: Length, unit: LengthUnit | None) -> Length:
    chosen = length.to(unit or length.unit)
    return _stepped(chosen.value, chosen.unit)


def _stepped(value: Fraction, unit: LengthUnit) -> Length:
    step = _STEPS.get(unit, Fraction(1, 2))
    whole = round(value / step) * step
    return Length(min(max(whole, _LEAST), _MOST), unit)


def changed_by(length: Length, by_cm: float, unit: LengthUnit | None = None) -> Length:
    """Return a length so much longer, in whole steps: half a centimetre or a quarter inch."""
    of = unit or length.unit
    more = Length(Fraction(by_cm).limit_denominator(1000), LengthUnit.CM).to(of).value
    return _stepped(length.to(of).value + more, of)


def one_step(length: Length, steps: int, unit: LengthUnit | None = None) -> Length:
    """Return a length so many steps longer or (below nothing) shorter."""
    of = unit or length.unit
    step = _STEPS.get(of, Fraction(1, 2))
    return _stepped(length.to(of).value + steps * step, of)
