"""What printing needs of the product's data, read once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from app import resources
from app.courses import row_reader
from app.printing.signs import read_signs
from app.printing.wording import read_wording
from engine.plan.tables import read_care, read_needles

if TYPE_CHECKING:
    from app.printing.signs import Signs
    from app.printing.wording import Wording
    from engine.pattern import RowReader
    from engine.plan.tables import FibreCare, NeedleTable


@dataclass(frozen=True, slots=True)
class ChildRule:
    """A published figure on things for small children: what it is about, what it says, who says."""

    about: str
    topic: str
    figure: str
    source: str


@dataclass(frozen=True)
class PrintData:
    """Words, signs, tables, and the reader of written rows."""

    wording: Wording
    signs: Signs
    needles: NeedleTable
    fibres: tuple[FibreCare, ...]
    rest_often: str
    rest_stop: str
    child_rules: tuple[ChildRule, ...]
    reader: RowReader


@cache
def print_data() -> PrintData:
    """Return the data for printing in English."""
    rests = tomllib.loads(resources.text("shared/tables/breaks.toml"))["care"]
    return PrintData(
        wording=read_wording(
            resources.text("shared/print/words.en.toml"),
            resources.text("shared/print/abbreviations.en.toml"),
        ),
        signs=read_signs(resources.text("shared/print/chart.en.toml")),
        needles=read_needles(resources.text("shared/tables/needles.toml")),
        fibres=read_care(resources.text("shared/tables/care.toml")),
        rest_often=rests["say_often"],
        rest_stop=rests["stop"],
        child_rules=read_child_rules(resources.text("shared/tables/safety.toml")),
        reader=row_reader(),
    )


def read_child_rules(text: str) -> tuple[ChildRule, ...]:
    """Read `tables/safety.toml`. Raises KeyError if it is damaged."""
    rules = []
    for about, rows in tomllib.loads(text).items():
        listed: list[dict[str, Any]] = rows if isinstance(rows, list) else [rows]
        rules += [ChildRule(about, row["topic"], row["figure"], row["source"]) for row in listed]
    return tuple(rules)
