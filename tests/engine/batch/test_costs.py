"""What pieces cost: exact, rounded once, and added up from what is shown."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from engine.batch.costs import Currency, Prices, costs_of
from engine.batch.piece_traits import PieceTraits
from engine.quantities import Mass, MassUnit, grams

EUR = Currency("EUR", 2)


def piece(weight: str | None, minutes: float | None) -> PieceTraits:
    """Return a piece of which only that is known."""
    mass = None if weight is None else Mass(Fraction(weight), MassUnit.G)
    return PieceTraits("sleeve", weight=mass, minutes=minutes)


def test_a_sleeve_reckoned_by_hand() -> None:
    """12 g of 8.90 for 100 g are 1.068; 55 minutes at 12 an hour are 11; a tenth upon both."""
    prices = Prices(EUR, (Decimal("8.90"), grams(100)), Decimal(12), Decimal("0.1"))
    costs = costs_of([piece("12", 55)], prices)
    assert (costs.yarn, costs.hours) == (Decimal("1.07"), Decimal("11.00"))
    assert (costs.whole, costs.margin, costs.price) == (
        Decimal("12.07"), Decimal("1.21"), Decimal("13.28"))  # fmt: skip
    assert EUR.said(costs.price) == "EUR 13.28"


def test_columns_add_up_to_their_sums() -> None:
    """A third of a cent, three hundred times, is what the lines say, not what a float drifts to."""
    prices = Prices(EUR, (Decimal("0.01"), grams(3)), None, None)
    costs = costs_of([piece("1", None)] * 300, prices)
    assert costs.yarn == sum(one.yarn or 0 for one in costs.pieces) == Decimal("0.00")
    prices = Prices(EUR, (Decimal("0.10"), grams(1)), None, None)
    assert costs_of([piece("0.1", None)] * 10, prices).yarn == Decimal("0.10")


def test_halves_go_to_the_even_digit() -> None:
    """0.125 is 0.12 and 0.375 is 0.38; yen have no decimals, dinars three."""
    assert [EUR.rounded(Fraction(n, 8)) for n in (1, 3)] == [Decimal("0.12"), Decimal("0.38")]
    assert Currency("JPY", 0).said(Currency("JPY", 0).rounded(Fraction(2469, 2))) == "JPY 1,234"
    assert str(Currency("KWD", 3).rounded(Fraction(1, 3))) == "0.333"


def test_what_is_not_known_is_reckoned_or_left_out() -> None:
    """One that was not weighed takes the mean of the others; where none was, there is no cost."""
    prices = Prices(EUR, (Decimal(10), grams(100)), Decimal(10), None)
    costs = costs_of([piece("10", None), piece("20", None), piece(None, None)], prices)
    assert [one.yarn for one in costs.pieces] == [Decimal("1.00"), Decimal("2.00"), Decimal("1.50")]
    assert [one.reckoned for one in costs.pieces] == [False, False, True]
    assert all(one.hours is None for one in costs.pieces)
    assert costs.price == Decimal("4.50")
    assert costs.each == Decimal("1.50")


def test_a_weight_in_ounces_is_exact() -> None:
    """An ounce of yarn sold by the ounce costs just its price."""
    prices = Prices(EUR, (Decimal("7.77"), Mass(Fraction(1), MassUnit.OZ)), None, None)
    ounce = PieceTraits("sleeve", weight=Mass(Fraction(1), MassUnit.OZ))
    assert costs_of([ounce], prices).yarn == Decimal("7.77")
