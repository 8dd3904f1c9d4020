"""What printing needs of the product's data, read once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from app import resources
from app.display.theme import read_colour, read_theme
from app.pieces.pattern_cache import row_reader
from app.printing.signs import read_signs
from app.printing.wools import Wools
from app.printing.wording import read_wording
from engine.plan.advice_tables import read_breaks, read_child_rules
from engine.plan.tables import read_care, read_needles
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from app.printing.signs import Signs
    from app.printing.wording import PrintWording
    from engine.pattern import RowReader
    from engine.plan.advice_tables import ChildRule
    from engine.plan.tables import FibreCare, NeedleTable


@dataclass(frozen=True)
class PrintData:
    """Words, signs, tables, and the reader of written rows."""

    wording: PrintWording
    signs: Signs
    needles: NeedleTable
    fibres: tuple[FibreCare, ...]
    rest_often: str
    rest_stop: str
    child_rules: tuple[ChildRule, ...]
    reader: RowReader
    wools: Wools


@cache
def print_data() -> PrintData:
    """Return the data for printing in English."""
    rests = read_breaks(resources.text("shared/tables/breaks.toml"))
    return PrintData(
        wording=read_wording(
            resources.text("shared/print/words.en.toml"),
            resources.text("shared/print/abbreviations.en.toml"),
        ),
        signs=read_signs(resources.text("shared/print/chart.en.toml")),
        needles=read_needles(resources.text("shared/tables/needles.toml")),
        fibres=read_care(resources.text("shared/tables/care.toml")),
        rest_often=rests.often,
        rest_stop=rests.stop,
        child_rules=read_child_rules(resources.text("shared/tables/safety.toml")),
        reader=row_reader(),
        wools=Wools(
            read_theme(resources.text("shared/theme.toml")),
            {
                word: read_colour(str(colour))
                for word, colour in toml_of(resources.text("shared/print/colours.en.toml"))[
                    "colours"
                ].items()
            },
        ),
    )
