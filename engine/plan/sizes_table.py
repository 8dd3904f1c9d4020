"""Sizes of heads, feet, hands and flat things, read from the text of `shared/tables/sizes.toml`."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from statistics import NormalDist
from typing import Any

from engine.quantities import Length, centimetres, inches
from engine.toml_text import toml_of

_DAYS_OF_MONTH = 365.25 / 12


class Child(StrEnum):
    """Which of the two growth tables."""

    BOY = "boys"
    GIRL = "girls"


@dataclass(frozen=True, slots=True)
class HeadPoint:
    """Median head circumference at an age, and its relative spread."""

    days: int
    median_cm: dict[Child, float]
    spread: dict[Child, float]

    def cm(self, child: Child, centile: float = 50.0) -> float:
        """Return the head circumference of a centile: median * (1 + spread * z), z normal."""
        z = NormalDist().inv_cdf(centile / 100)
        return self.median_cm[child] * (1 + self.spread[child] * z)

    @property
    def age(self) -> str:
        """The age in words: "birth", "3 months", "1 year"."""
        months = round(self.days / _DAYS_OF_MONTH)
        if not months:
            return "birth"
        number, unit = (months // 12, "year") if months % 12 == 0 else (months, "month")
        return f"{number} {unit if number == 1 else unit + 's'}"


@dataclass(frozen=True, slots=True)
class BodySize:
    """A row of a size chart: what it is for, the measure, how the chart was seen."""

    group: str
    name: str
    measure: str
    low: Length
    high: Length
    seen: str


@dataclass(frozen=True, slots=True)
class SizeTable:
    """All size charts. A wearer's own measure goes before any of them."""

    heads: tuple[HeadPoint, ...]
    head_source: str
    trade_heads: tuple[BodySize, ...]
    trade_head_warning: str
    feet: tuple[BodySize, ...]
    hands: tuple[BodySize, ...]
    adults: tuple[BodySize, ...]
    flat: tuple[tuple[str, tuple[tuple[Length, Length], ...]], ...]
    foot_relations: dict[str, Fraction]

    def heads_at(self, days: float) -> tuple[HeadPoint, HeadPoint]:
        """Return the rows of the growth table between which an age lies, one twice if it has it.

        Every month of the published table is here, so that nothing is read in between: heads grow,
        and what lies between two ages lies between their figures. A month is as long as the table
        has it, to a day. Raises ValueError outside the table.
        """
        nearest = min(self.heads, key=lambda point: abs(point.days - days))
        if abs(nearest.days - days) <= 1:
            return nearest, nearest
        if not 0 < days < self.heads[-1].days:
            raise ValueError("The growth table goes from birth to five years.")
        at = bisect_left([point.days for point in self.heads], days)
        return self.heads[at - 1], self.heads[at]


def read_sizes(text: str) -> SizeTable:
    """Read `tables/sizes.toml`. Raises KeyError or ValueError if it is damaged."""
    data = toml_of(text)
    exact = toml_of(text, parse_float=Fraction)
    growth = data["head_growth"]
    heads = tuple(
        HeadPoint(
            days,
            {Child.BOY: float(boys_cm), Child.GIRL: float(girls_cm)},
            {Child.BOY: float(boys_spread), Child.GIRL: float(girls_spread)},
        )
        for days, boys_cm, boys_spread, girls_cm, girls_spread in growth["row"]
    )
    trade = exact["head_trade"]
    trade_heads = tuple(
        _size("", row["name"], "head", row["inches"], trade["seen"]) for row in trade["row"]
    )
    feet = tuple(
        _size(row["group"], row["shoe_us"], measure, row[f"{key}_in"], exact["feet"]["seen"])
        for row in exact["feet"]["row"]
        for measure, key in (
            ("foot around", "around"), ("sock height", "height"), ("foot length", "length"),
        )
    )  # fmt: skip
    hands = tuple(
        _size("", row["group"], measure, row[key], exact["hands"]["seen"])
        for row in exact["hands"]["row"]
        for measure, key in (("hand around", "around_in"), ("hand length", "length_in"))
        if key in row
    )
    survey = exact["head_survey"]
    adults = tuple(
        BodySize(who, "", measure, centimetres(cm), centimetres(cm), survey["seen"])
        for measure, key in (
            ("head", "head_cm"), ("hand around", "hand_around_cm"),
            ("hand length", "hand_length_cm"), ("foot length", "foot_length_cm"),
        )
        for who, cm in survey[key].items()
    )  # fmt: skip
    flat = tuple(
        (row["item"], tuple((inches(wide), inches(long)) for wide, long in row["inches"]))
        for row in exact["flat"]["row"]
    )
    relations = {
        key: Fraction(value)
        for key, value in exact["foot_relations"].items()
        if isinstance(value, int | Fraction)
    }
    return SizeTable(
        heads,
        f"{growth['publisher']}: {growth['title']}",
        trade_heads,
        trade["warning"].strip(),
        feet,
        hands,
        adults,
        flat,
        relations,
    )


def _size(group: str, name: str, measure: str, value: Any, seen: str) -> BodySize:  # noqa: ANN401 (a number or a pair, as the chart has it)
    low, high = value if isinstance(value, list) else (value, value)
    return BodySize(group, name, measure, inches(low), inches(high), seen)
