"""The finished measurements that a designer states, read for every size."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from app.printing.both_units import Figure, figures, graded
from engine.plan.rounding import companion, printed_number, worked_out
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Sequence

_WITHIN_CM: Final = 0.75
"""Two systems may differ by so much through rounding before the designer is told."""


@dataclass(frozen=True, slots=True)
class MeasuredSizes:
    """One measurement for one size: as it is given and in the other system."""

    given: Length
    other: Length

    def __str__(self) -> str:
        """Write it as print does: "24 cm (9½ in)"."""
        return f"{printed(self.given)} ({printed(self.other)})"

    @property
    def disagrees(self) -> bool:
        """Whether the two figures are not the same length."""
        return abs(self.given.cm - self.other.cm) > _WITHIN_CM


def measured(length: Length) -> MeasuredSizes:
    """Return a length that was given, with its companion."""
    return MeasuredSizes(length, companion(length))


def computed(length: Length) -> MeasuredSizes:
    """Return a length that was worked out from a gauge, rounded in its own unit and in the other.

    A gauge is no finer than half a centimetre, however small the part.
    """
    own = worked_out(length)
    if own.unit is LengthUnit.CM and own.value >= 1:
        own = Length((length.value * 2 + Fraction(1, 2)).__floor__() / Fraction(2), own.unit)
    return MeasuredSizes(own, companion(own))


def printed(length: Length) -> str:
    """Write a length: "16.5 cm", "6½ in"."""
    return f"{printed_number(length.value, length.unit)} {length.unit}"


def read_measurement(text: str, sizes: int) -> tuple[MeasuredSizes | None, ...] | None:
    """Return the measurement in a text for each of so many sizes (None: not for that size).

    "24 cm, 9 1/2 in" keeps both figures, "44 (48, 52) cm" gets its companion. None if the text
    is not one measurement, with one figure or one for each size.
    """
    found = [one for one in figures(text) if isinstance(one.unit, LengthUnit)]
    if not 1 <= len(found) <= 2 or any(len(one.values) not in {1, sizes} for one in found):  # noqa: PLR2004
        return None
    if len(found) == 2 and found[0].metric == found[1].metric:  # noqa: PLR2004
        return None
    rest = text
    for one in reversed(found):
        rest = rest[: one.start] + rest[one.end :]
    if rest.strip(" ,;/()[]=.").casefold() not in {"", "or"}:
        return None
    return tuple(_for_size(found, size) for size in range(sizes))


def _for_size(found: Sequence[Figure], size: int) -> MeasuredSizes | None:
    lengths = []
    for one in found:
        value = one.values[size if len(one.values) > 1 else 0]
        if value is None or not isinstance(one.unit, LengthUnit):
            return None
        lengths.append(Length(value, one.unit))
    return measured(lengths[0]) if len(lengths) == 1 else MeasuredSizes(lengths[0], lengths[1])


def graded_measure(values: Sequence[MeasuredSizes | None]) -> str:
    """Write a measurement of all sizes: "44 (48, 52) cm / 17¼ (19, 20½) in"."""
    known = [value for value in values if value is not None]
    if not known:
        return "-"
    if len(set(map(str, values))) == 1:
        return str(known[0])
    given = [
        "-" if one is None else printed_number(one.given.value, one.given.unit) for one in values
    ]
    other = [
        "-" if one is None else printed_number(one.other.value, one.other.unit) for one in values
    ]
    return f"{graded(given)} {known[0].given.unit} / {graded(other)} {known[0].other.unit}"
