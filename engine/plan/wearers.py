"""Who a piece in several sizes is for: the sizes of a published table, each with its measure."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.plan.sizes_table import Child
from engine.quantities import Length, centimetres

if TYPE_CHECKING:
    from engine.plan.sizes_table import BodySize, SizeTable

_AGES: Final = ("birth", "3 months", "6 months", "1 year", "2 years", "3 years", "5 years")
"""Of the growth table: a size for each age at which a head has grown by a size."""
KNOWN: Final = "head, head by age, hand, foot, foot child, foot women, foot men"


@dataclass(frozen=True, slots=True)
class Wearer:
    """A size of a table: its name and what the piece goes around (the middle of a range)."""

    name: str
    around: Length


@dataclass(frozen=True, slots=True)
class Wearers:
    """The sizes of one table, smallest first, what is measured, and what the table rests on."""

    measure: str
    sizes: tuple[Wearer, ...]
    source: str


def wearers(table: SizeTable, wanted: str) -> Wearers:
    """Return the sizes of a table by its name. Raises ValueError, with a sentence, for another."""
    which, *only = wanted.casefold().split()[:3] or [""]
    if which == "head" and only == ["by", "age"]:
        return _heads_by_age(table)
    charts = {"head": table.trade_heads, "hand": table.hands, "foot": table.feet}
    measures = {"head": "head", "hand": "hand around", "foot": "foot around"}
    rows = [row for row in charts.get(which, ()) if row.measure == measures[which]]
    if only:
        rows = [row for row in rows if only == [row.group.casefold()]]
    if not rows:
        raise ValueError(f"No size table is called '{wanted.strip()}'; there are {KNOWN}.")
    sizes = sorted((_wearer(row) for row in rows), key=lambda one: one.around.cm)
    warning = f". {' '.join(table.trade_head_warning.split())}" if which == "head" else ""
    return Wearers(which, tuple(sizes), f"size chart, {rows[0].seen}{warning}".rstrip("."))


def _heads_by_age(table: SizeTable) -> Wearers:
    """Return the median heads of the growth table, boys' and girls' in the middle."""
    found = {}
    for point in table.heads:
        middle = (point.cm(Child.BOY) + point.cm(Child.GIRL)) / 2
        found[point.age] = Wearer(point.age, centimetres(Fraction(round(middle * 10), 10)))
    return Wearers("head", tuple(found[age] for age in _AGES), table.head_source)


def _wearer(row: BodySize) -> Wearer:
    """Return a row of a chart; "1/2" in its name would be read as two sizes, so it is .5."""
    name = " ".join(part for part in (row.group, row.name) if part).replace(" 1/2", ".5")
    middle = (row.low.value + row.high.to(row.low.unit).value) / 2
    return Wearer(name, Length(middle, row.low.unit))
