"""Prices, read from a command line: exact decimals, never binary fractions."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from app import resources
from app.pieces.plan_input import mass
from app.pieces.values import PlanInputError
from engine.batch.costs import Currency, Prices
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from engine.quantities import Mass

_AMOUNT: Final = re.compile(r"\d{1,9}(?:[.,]\d{1,4})?")


def amount(text: str) -> Decimal:
    """Read an amount of money: 12, 12.50, 12,50."""
    if not _AMOUNT.fullmatch(text.strip()):
        raise PlanInputError(f"'{text}' is no price; write it like 12.50.")
    return Decimal(text.strip().replace(",", "."))


def yarn_price(text: str) -> tuple[Decimal, Mass]:
    """Read what yarn costs: "8.90 for 100 g"."""
    price, found, weight = text.partition(" for ")
    if not found:
        raise PlanInputError(f"'{text}' is no price of yarn; write it like \"8.90 for 100 g\".")
    return amount(price), mass(weight)


def margin(text: str) -> Decimal:
    """Read a margin in per cent: "15 %", as a share."""
    return amount(text.strip().removesuffix("%")) / 100


def currency(text: str) -> Currency:
    """Read the code of a currency that the data file has."""
    digits = toml_of(resources.text("shared/tables/currencies.toml"))["digits"]
    code = text.strip().upper()
    if code not in digits:
        raise PlanInputError(f"'{text}' is no currency here; there are: {', '.join(digits)}.")
    return Currency(code, digits[code])


def prices(
    money: Currency | None,
    yarn: tuple[Decimal, Mass] | None,
    hour: Decimal | None,
    share: Decimal | None,
) -> Prices | None:
    """Return the prices, None where none was entered; PlanInputError without a currency."""
    if yarn is None and hour is None:
        if share is not None:
            raise PlanInputError("a margin on what? Say --yarn-price, --hour-price or both.")
        return None
    if money is None:
        raise PlanInputError("in which currency? Say --currency EUR, for instance.")
    return Prices(money, yarn, hour, share)
