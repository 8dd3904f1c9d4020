"""The trade's tables, read from the texts of `shared/tables`: yarn categories, needles, care.

Every table names its source; where sources disagree the answer carries the disagreement.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any

from engine.plan.gauge import FOUR_INCHES, TEN_CM, Count
from engine.toml_text import toml_of


@dataclass(frozen=True, slots=True)
class TableSource:
    """Where a table comes from, how it was seen, and what to beware of."""

    title: str
    publisher: str
    seen: str
    note: str


@dataclass(frozen=True, slots=True)
class YarnCategory:
    """One yarn category; stitches of stockinette to 4 in, needles in mm; None: no such end."""

    number: int
    name: str
    stitches: tuple[int | None, int]
    needle_mm: tuple[Fraction, Fraction | None]
    needle_us: tuple[str, str]
    trade_names: tuple[str, ...]

    def holds(self, stitches: Fraction) -> bool:
        """Tell whether so many stitches to 4 in are within the printed range."""
        low, high = self.stitches
        return (low is None or low <= stitches) and stitches <= high


class CategoryFit(StrEnum):
    """How well a gauge fits the yarn categories."""

    ONE = "one"
    SEVERAL = "several"
    BETWEEN = "between"
    FINER_THAN_ALL = "finer_than_all"


@dataclass(frozen=True, slots=True)
class CategoryAnswer:
    """The yarn categories of a gauge; `between`: the two neighbours, none of which claims it."""

    fit: CategoryFit
    categories: tuple[YarnCategory, ...]


@dataclass(frozen=True, slots=True)
class YarnTable:
    """All yarn categories."""

    source: TableSource
    categories: tuple[YarnCategory, ...]

    def by_gauge(self, stitches: Count) -> CategoryAnswer:
        """Return the categories of a stockinette gauge.

        The council takes 4 in for 10 cm. A count per 10 cm that is whole in the table's range is
        meant as such; so a count is tried over 10 cm if it was counted in centimetres, over 4 in
        else.
        """
        metric = stitches.over.unit in {"cm", "mm", "m"}
        return self.by_stitches(stitches.per(TEN_CM if metric else FOUR_INCHES))

    def by_stitches(self, stitches: Fraction | int) -> CategoryAnswer:
        """Return the categories for so many stitches to 4 in (or, as the trade has it, 10 cm)."""
        wanted = Fraction(stitches)
        found = tuple(category for category in self.categories if category.holds(wanted))
        if found:
            fit = CategoryFit.ONE if len(found) == 1 else CategoryFit.SEVERAL
            return CategoryAnswer(fit, found)
        finer = [c for c in self.categories if c.stitches[0] is not None and c.stitches[0] > wanted]
        coarser = [c for c in self.categories if c.stitches[1] < wanted]
        if not finer:
            finest = max(self.categories, key=lambda category: category.stitches[1])
            return CategoryAnswer(CategoryFit.FINER_THAN_ALL, (finest,))
        pair = (
            max(coarser, key=lambda category: category.stitches[1]),
            min(finer, key=lambda category: category.stitches[0] or 0),
        )
        return CategoryAnswer(CategoryFit.BETWEEN, pair)


@dataclass(frozen=True, slots=True)
class NeedleSize:
    """One size of needle. `us` or `uk` empty: no number agreed; `disagreement` says who differs."""

    mm: Fraction
    us: str
    uk: str
    disagreement: str


@dataclass(frozen=True, slots=True)
class NeedleTable:
    """All needles, thinnest first."""

    source: TableSource
    needles: tuple[NeedleSize, ...]
    unsettled: tuple[tuple[str, tuple[Fraction, ...]], ...]

    def by_mm(self, mm: Fraction) -> NeedleSize | None:
        """Return the needle of a size, None if no table has it."""
        return next((needle for needle in self.needles if needle.mm == mm), None)

    def by_us(self, number: str) -> tuple[Fraction, ...]:
        """Return the millimetres that a US number can mean, the likeliest first."""
        name = _number_name(number)
        found = [needle.mm for needle in self.needles if needle.us == name]
        for unsettled, sizes in self.unsettled:
            if unsettled == name:
                found += [mm for mm in sizes if mm not in found]
        return tuple(found)

    def by_uk(self, number: str) -> tuple[Fraction, ...]:
        """Return the millimetres of an old UK or Canadian number (at most one)."""
        name = _number_name(number)
        return tuple(needle.mm for needle in self.needles if needle.uk == name)

    def stepped(self, mm: Fraction, step: Fraction) -> NeedleSize:
        """Return the needle that lies nearest to `step` mm above (or below) `mm`, never `mm`."""
        up = step > 0
        others = [n for n in self.needles if (n.mm > mm if up else n.mm < mm)] or [
            n for n in self.needles if n.mm != mm
        ]
        return min(others, key=lambda needle: abs(needle.mm - mm - step))


@dataclass(frozen=True, slots=True)
class FibreCare:
    """How a fibre wants to be washed and dried; `iron_c` 0: not at all."""

    name: str
    wash: str
    dry: str
    iron_c: int
    felts: bool
    source: str


def read_yarns(text: str) -> YarnTable:
    """Read `tables/yarn_categories.toml`. Raises KeyError or ValueError if it is damaged."""
    data = toml_of(text, parse_float=Fraction)
    categories = tuple(
        YarnCategory(
            number=row["number"],
            name=row["name"],
            stitches=(row["stitches"][0] or None, row["stitches"][1]),
            needle_mm=(Fraction(row["needle_mm"][0]), Fraction(row["needle_mm"][1]) or None),
            needle_us=(row["needle_us"][0], row["needle_us"][1]),
            trade_names=tuple(row["trade_names"]),
        )
        for row in data["category"]
    )
    return YarnTable(_source(data["source"]), categories)


def read_needles(text: str) -> NeedleTable:
    """Read `tables/needles.toml`. Raises KeyError or ValueError if it is damaged."""
    data = toml_of(text, parse_float=Fraction)
    needles = [
        NeedleSize(
            Fraction(row["mm"]), row.get("us", ""), row.get("uk", ""), row.get("disagreement", "")
        )
        for row in data["needle"]
    ]
    return NeedleTable(
        _source(data["source"]),
        tuple(sorted(needles, key=lambda needle: needle.mm)),
        tuple((row["us"], tuple(Fraction(mm) for mm in row["mm"])) for row in data["unsettled"]),
    )


def read_care(text: str) -> tuple[FibreCare, ...]:
    """Read `tables/care.toml`. Raises KeyError or ValueError if it is damaged."""
    return tuple(
        FibreCare(row["name"], row["wash"], row["dry"], row["iron_c"], row["felts"], row["source"])
        for row in toml_of(text)["fibre"]
    )


def care_of(fibres: tuple[FibreCare, ...], content: str) -> tuple[FibreCare, ...]:
    """Return the fibres that a ball band names ("75% wool, 25% polyamide"), longest names first.

    The mildest treatment of all of them is the one to take.
    """
    rest = content.casefold()
    found = []
    for fibre in sorted(fibres, key=lambda fibre: -len(fibre.name)):
        if fibre.name in rest:
            found.append(fibre)
            rest = rest.replace(fibre.name, "")
    return tuple(found)


def _source(row: dict[str, Any]) -> TableSource:
    return TableSource(row["title"], row["publisher"], row["seen"], row.get("note", "").strip())


def _number_name(number: str) -> str:
    """Return a needle number in the table's spelling: "10½", "10.5" and "10 1/2" are one."""
    name = number.strip().casefold().removeprefix("us").removeprefix("uk").strip()
    for other in (" ½", "½", ".5", "-1/2"):
        name = name.replace(other, " 1/2")
    for other in (" ¾", "¾", ".75", "-3/4"):
        name = name.replace(other, " 3/4")
    return name.strip()
