"""Look sizes and needles up in the trade's tables, each answer with its source and its doubts."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from app import resources
from app.pieces.plan_words import both
from engine.plan.sizes_table import Child, HeadPoint, SizeTable, read_sizes
from engine.plan.tables import NeedleTable, read_needles
from engine.quantities import LengthUnit, centimetres, number_text, parse_length, parse_number

if TYPE_CHECKING:
    from collections.abc import Iterator

_DAYS = {"day": 1.0, "week": 7.0, "month": 365.25 / 12, "year": 365.25}


def needle_lines(asked: str) -> Iterator[str]:
    """Give the sizes that "US 7", "UK 10" or "4.5 mm" can be. Raises ValueError for nonsense."""
    table = read_needles(resources.text("shared/tables/needles.toml"))
    sizes = _needle_sizes(asked, table)
    if not sizes:
        raise ValueError(f"No table has a needle '{asked}'; write US 7, UK 10 or 4.5 mm.")
    if len(sizes) > 1:
        yield f"{asked} is not settled; it can be any of these."
    for mm in sizes:
        needle = table.by_mm(mm)
        us = f"US {needle.us}" if needle and needle.us else "no agreed US number"
        uk = f"old UK {needle.uk}" if needle and needle.uk else "no old UK number"
        yield f"{number_text(mm)} mm: {us}, {uk}."
        if needle and needle.disagreement:
            yield f"  {needle.disagreement}"
    yield "Go by the millimetres: no standard fixes the numbers."


def _needle_sizes(asked: str, table: NeedleTable) -> tuple[Fraction, ...]:
    name = asked.strip().casefold()
    if name.startswith("us"):
        return table.by_us(asked)
    if name.startswith("uk"):
        return table.by_uk(asked)
    length = parse_length(asked)
    mm = Fraction(length.to(LengthUnit.MM).value) if length else parse_number(asked)
    return (mm,) if mm is not None and table.by_mm(mm) else ()


def head_lines(age: str) -> Iterator[str]:
    """Give a child's head at "18 months", "2 years". Raises ValueError for nonsense."""
    found = re.fullmatch(r"\s*([\d.,/½ ]+?)\s*(day|week|month|year)s?\s*", age.casefold())
    number = parse_number(found[1]) if found else None
    if found is None or number is None:
        raise ValueError(f"'{age}' is no age; write it like 18 months or 2 years.")
    table = read_sizes(resources.text("shared/tables/sizes.toml"))
    below, above = table.heads_at(float(number) * _DAYS[found[2]])
    for child in Child:
        if below is above:
            middle, small, large = (_head(above, child, centile) for centile in (50, 3, 97))
            yield f"Head of {child}: {middle}; from {small} to {large}."
        else:
            least, most = _head(below, child), _head(above, child)
            yield f"Head of {child}: between {least} at {below.age} and {most} at {above.age}."
    if below is above:
        yield f"Medians, and 94 of 100 children: {table.head_source}. Measure the head if you can."
    else:
        yield f"Medians of the nearest months: {table.head_source}. Measure the head if you can."


def _head(point: HeadPoint, child: Child, centile: float = 50) -> str:
    return both(centimetres(Fraction(round(10 * point.cm(child, centile)), 10)))


def size_lines(word: str) -> Iterator[str]:
    """Give every chart row that mentions the word. Raises ValueError if none does."""
    table = read_sizes(resources.text("shared/tables/sizes.toml"))
    found = list(_rows(table, word.casefold().strip()))
    if not found:
        raise ValueError(f"No size chart mentions '{word}'; try head, foot, hand or blanket.")
    yield from found
    if any(line.startswith("head") for line in found):
        yield table.trade_head_warning.replace("\n", " ")
    yield "Charts differ from each other: the wearer's own measure is better than any of them."


def _rows(table: SizeTable, word: str) -> Iterator[str]:
    for size in (*table.trade_heads, *table.adults, *table.feet, *table.hands):
        who = " ".join(part for part in (size.group, size.name) if part)
        line = f"{size.measure}, {who}: {both(size.low)}"
        if size.high != size.low:
            line += f" to {both(size.high)}"
        if word in line.casefold():
            yield f"{line} ({size.seen})"
    for item, sizes in table.flat:
        if word in item:
            both_ways = " or ".join(f"{both(wide)} x {both(long)}" for wide, long in sizes)
            yield f"{item}: {both_ways}"
