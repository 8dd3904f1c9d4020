"""
What pieces cost, from the prices that a knitter enters: yarn by weight, hours, a margin.

Everything is exact. Each sum of money is rounded once, half to even (the default of IEEE 754, from
memory), and what is added up is what is shown, so that a table's columns are right to the eye.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.quantities import Mass, MassUnit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.batch.piece_traits import PieceTraits

_PRECISION: Final = 60
_MINUTES: Final = 60


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency by its code (ISO 4217), and how many decimals it is paid in."""

    code: str
    digits: int

    def rounded(self, amount: Fraction) -> Decimal:
        """Return an amount as it can be paid."""
        with localcontext() as context:
            context.prec = _PRECISION
            exact = Decimal(amount.numerator) / Decimal(amount.denominator)
            return exact.quantize(Decimal(1).scaleb(-self.digits), ROUND_HALF_EVEN)

    def said(self, amount: Decimal) -> str:
        """Write an amount with its code: "EUR 12.50"."""
        return f"{self.code} {self.plain(amount)}"

    def plain(self, amount: Decimal) -> str:
        """Write an amount alone: "1,012.50"."""
        return f"{amount:,.{self.digits}f}"


@dataclass(frozen=True, slots=True)
class Prices:
    """
    What she entered.

    `yarn` is money for a weight, `hour` money for an hour at the needles, `margin` a share of both
    (0.15 is 15 per cent); None where she did not say.
    """

    currency: Currency
    yarn: tuple[Decimal, Mass] | None = None
    hour: Decimal | None = None
    margin: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PieceCost:
    """What a piece cost; None where it is not known. `reckoned`: by the mean of the others."""

    yarn: Decimal | None
    hours: Decimal | None
    reckoned: bool

    @property
    def whole(self) -> Decimal:
        """Yarn and hours together, as far as they are known."""
        return (self.yarn or Decimal(0)) + (self.hours or Decimal(0))


@dataclass(frozen=True, slots=True)
class Costs:
    """The costs of pieces: one for each, their sums, the margin, and the price of all."""

    prices: Prices
    pieces: tuple[PieceCost, ...]
    yarn: Decimal
    hours: Decimal
    margin: Decimal

    @property
    def whole(self) -> Decimal:
        """Everything without the margin."""
        return self.yarn + self.hours

    @property
    def price(self) -> Decimal:
        """Everything with the margin."""
        return self.whole + self.margin

    @property
    def each(self) -> Decimal:
        """The price of one piece, in the mean, as it can be paid."""
        return self.prices.currency.rounded(Fraction(self.price) / max(len(self.pieces), 1))

    @property
    def reckoned(self) -> int:
        """How many pieces were reckoned by the mean of the others."""
        return sum(one.reckoned for one in self.pieces)


def costs_of(pieces: Sequence[PieceTraits], prices: Prices) -> Costs:
    """Return what pieces cost. Minutes are taken whole; a weight as it was said."""
    grams = [one.weight.to(MassUnit.G).value if one.weight is not None else None for one in pieces]
    minutes = [Fraction(round(one.minutes)) if one.minutes else None for one in pieces]
    found = tuple(
        _piece(prices, weight, _mean(grams), time, _mean(minutes))
        for weight, time in zip(grams, minutes, strict=True)
    )
    yarn = sum((one.yarn for one in found if one.yarn is not None), Decimal(0))
    hours = sum((one.hours for one in found if one.hours is not None), Decimal(0))
    margin = prices.currency.rounded(Fraction(yarn + hours) * Fraction(prices.margin or 0))
    return Costs(prices, found, yarn, hours, margin)


def _mean(known: Sequence[Fraction | None]) -> Fraction | None:
    there = [one for one in known if one is not None]
    return sum(there, Fraction(0)) / len(there) if there else None


def _piece(
    prices: Prices,
    weight: Fraction | None,
    usual_weight: Fraction | None,
    time: Fraction | None,
    usual_time: Fraction | None,
) -> PieceCost:
    yarn = hours = None
    reckoned = False
    if prices.yarn is not None and usual_weight is not None:
        price, ball = prices.yarn
        reckoned |= weight is None
        taken = weight if weight is not None else usual_weight
        yarn = prices.currency.rounded(taken / ball.to(MassUnit.G).value * Fraction(price))
    if prices.hour is not None and usual_time is not None:
        reckoned |= time is None
        worked = time if time is not None else usual_time
        hours = prices.currency.rounded(worked / _MINUTES * Fraction(prices.hour))
    return PieceCost(yarn, hours, reckoned)
