"""Sizes of heads, feet, hands and flat things, read from the text of `shared/tables/sizes.toml`."""

from __future__ import annotations

import tomllib
from bisect import bisect_left
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from statistics import NormalDist
from typing import Any

from engine.quantities import Length, centimetres, inches


class Child(StrEnum):
    """Which of the two growth tables; a knitter who does not know takes the middle of both."""

    BOY = "boys"
    GIRL = "girls"


@dataclass(frozen=True, slots=True)
class HeadPoint:
    """Median head circumference at an age, and its relative spread."""

    days: int
    median_cm: dict[Child, float]
    spread: dict[Child, float]


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

    def head_cm(self, days: float, child: Child | None = None, centile: float = 50.0) -> float:
        """Return a child's head circumference, straight between the ages of the table.

        `days` from birth to five years, `child` None: the middle of boys and girls. Raises
        ValueError outside the table.
        """
        last = self.heads[-1].days
        if not 0 <= days <= last or not 0 < centile < 100:  # noqa: PLR2004 (a percentage)
            raise ValueError("The growth table goes from birth to five years.")
        if child is None:
            both = [self.head_cm(days, which, centile) for which in Child]
            return sum(both) / len(both)
        z = NormalDist().inv_cdf(centile / 100)
        at = bisect_left([point.days for point in self.heads], days)
        above = self.heads[at]
        below = self.heads[max(0, at - 1)]
        span = above.days - below.days
        share = (days - below.days) / span if span else 0.0
        values = [
            point.median_cm[child] * (1 + point.spread[child] * z) for point in (below, above)
        ]
        return values[0] + share * (values[1] - values[0])


def read_sizes(text: str) -> SizeTable:
    """Read `tables/sizes.toml`. Raises KeyError or ValueError if it is damaged."""
    data = tomllib.loads(text)
    exact = tomllib.loads(text, parse_float=Fraction)
    growth = data["head_growth"]
    heads = tuple(
        HeadPoint(
            row["days"],
            {child: float(row[f"{child}_cm"]) for child in Child},
            {child: float(row[f"{child}_spread"]) for child in Child},
        )
        for row in growth["row"]
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
