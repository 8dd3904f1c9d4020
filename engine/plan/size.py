"""From a size to stitches and rows: ease, a cast-on that fits, and what it really measures."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, assert_never

from engine.quantities import Length

if TYPE_CHECKING:
    from engine.plan.gauge import Count, Swatch


class Rounding(StrEnum):
    """Which legal number to take when the exact one is not legal."""

    NEAREST = "nearest"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


@dataclass(frozen=True, slots=True)
class Multiple:
    """Legal stitch counts are a multiple of `of` plus `plus` ("multiple of 4 plus 2")."""

    of: int = 1
    plus: int = 0

    def __post_init__(self) -> None:
        """Refuse a multiple of nothing."""
        if self.of < 1 or self.plus < 0:
            raise ValueError("A multiple is of one stitch or more, plus none or more.")

    def fits(self, stitches: int) -> bool:
        """Tell whether a count is legal (at least one whole repeat, unless any count is)."""
        return stitches >= max(1, self.plus) and (stitches - self.plus) % self.of == 0

    def near(self, wanted: Fraction, rounding: Rounding = Rounding.NEAREST) -> int:
        """Return the legal count for an exact one; a tie goes to the larger (wider) piece."""
        repeats = (wanted - self.plus) / self.of
        below, above = repeats.__floor__(), repeats.__ceil__()
        match rounding:
            case Rounding.AT_LEAST:
                chosen = above
            case Rounding.AT_MOST:
                chosen = below
            case Rounding.NEAREST:
                chosen = above if above - repeats <= repeats - below else below
            case _:
                assert_never(rounding)
        return max(chosen, 0 if self.plus else 1) * self.of + self.plus

    def around(self, wanted: Fraction) -> tuple[int, ...]:
        """Return the legal counts next below and above, or the one that fits exactly."""
        pair = (self.near(wanted, Rounding.AT_MOST), self.near(wanted, Rounding.AT_LEAST))
        return tuple(dict.fromkeys(pair))


@dataclass(frozen=True, slots=True)
class PlannedCastOn:
    """The stitches to cast on and what they measure.

    `width` is finished, without the `edge_stitches` that disappear into a seam; `wanted` is what
    was asked for. `others` are the neighbouring legal counts with their widths.
    """

    stitches: int
    edge_stitches: int
    width: Length
    wanted: Length
    others: tuple[tuple[int, Length], ...]

    @property
    def off(self) -> Length:
        """Finished width less wanted width, in the unit of the wish."""
        return Length(self.width.value - self.wanted.value, self.wanted.unit)


def cast_on(
    wanted: Length,
    stitches: Count,
    multiple: Multiple | None = None,
    edge_stitches: int = 0,
    rounding: Rounding = Rounding.NEAREST,
) -> PlannedCastOn:
    """Return the cast-on for a finished width.

    `multiple` is that of the whole cast-on as patterns state it, edge stitches included ("multiple
    of 4 plus 2" of which 2 are seam stitches). Raises ValueError if the width is nothing.
    """
    if wanted.value <= 0 or edge_stitches < 0:
        raise ValueError("A width is more than nothing, and edge stitches are none or more.")
    legal = multiple or Multiple(1, edge_stitches)
    exact = stitches.number_in(wanted) + edge_stitches
    chosen = legal.near(exact, rounding)

    def width(count: int) -> Length:
        return stitches.span(max(0, count - edge_stitches), wanted.unit)

    neighbours = (chosen - legal.of, chosen + legal.of)
    others = tuple((n, width(n)) for n in neighbours if n > edge_stitches and legal.fits(n))
    return PlannedCastOn(chosen, edge_stitches, width(chosen), wanted, others)


@dataclass(frozen=True, slots=True)
class Ease:
    """How much larger (or, negative, smaller) the piece is than what it goes around."""

    percent: Fraction = Fraction(0)
    extra: Length | None = None

    def applied(self, body: Length) -> Length:
        """Return the finished measure for a body's measure, in the body's unit."""
        value = body.value * (1 + self.percent / 100)
        if self.extra is not None:
            value += self.extra.to(body.unit).value
        return Length(value, body.unit)


@dataclass(frozen=True, slots=True)
class LengthPlan:
    """Rows for a finished length, and what the ruler should read on the way.

    `rows` is whole (even or odd if asked); `length` is what it will measure finished; `in_hand`
    what those rows measure unwashed, None if the swatch was not counted so.
    """

    rows: int
    exact_rows: Fraction
    length: Length
    wanted: Length
    in_hand: Length | None


class RowParity(StrEnum):
    """Whether the number of rows has to be even (back at the start's side) or odd."""

    ANY = "any"
    EVEN = "even"
    ODD = "odd"


def plan_length(wanted: Length, swatch: Swatch, parity: RowParity = RowParity.ANY) -> LengthPlan:
    """Return the rows for a finished length and what to read before the wash.

    Washed 26 rows to 10 cm, 60 cm is 156 rows; at 28 unwashed these read 55.7 cm.
    """
    if wanted.value <= 0:
        raise ValueError("A length is more than nothing.")
    finished = swatch.finished.rows
    exact = finished.number_in(wanted)
    match parity:
        case RowParity.ANY:
            rows = max(1, Multiple(1).near(exact))
        case RowParity.EVEN:
            rows = max(2, Multiple(2).near(exact))
        case RowParity.ODD:
            rows = max(1, Multiple(2, 1).near(exact))
        case _:
            assert_never(parity)
    before = swatch.unwashed.rows.span(rows, wanted.unit) if swatch.unwashed else None
    return LengthPlan(rows, exact, finished.span(rows, wanted.unit), wanted, before)
