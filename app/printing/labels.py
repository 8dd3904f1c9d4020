"""Labels of pieces as plain values: what stands on one, and where each lies on its sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.plan.rounding import companion, printed_number
from engine.plan.tables import care_of
from engine.quantities import Length, LengthUnit
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.batch.order import OrderedLine, OrderState
    from engine.batch.piece_traits import PieceTraits
    from engine.plan.tables import FibreCare

PAPERS: Final = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in millimetres (ISO 216; ANSI Y14.1, from memory)."""
SIZES: Final = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
"""Sizes of type in points, the largest that fits is taken; below 6 nobody reads it."""
LEADING: Final = 1.25
MARGIN: Final = 3.0
"""Millimetres on each side of a label that stay white."""
_LETTER_WIDE: Final = 0.56
"""A letter is at most so wide in the mean, in ems (Andika, measured on the texts here)."""
_POINT_MM: Final = 25.4 / 72
_UNIMPORTANT: Final = frozenset({"the", "a", "an", "of"})


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label, line by line; `head` large and first."""

    head: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels; lengths in millimetres, see the data file."""

    name: str
    paper: tuple[float, float]
    columns: int
    rows: int
    wide: float
    high: float
    left: float
    top: float
    across: float
    down: float

    @property
    def labels(self) -> int:
        """How many are on it."""
        return self.columns * self.rows

    def place(self, at: int) -> tuple[float, float]:
        """Return the upper left corner of a label, counted from 0 row by row."""
        row, column = divmod(at % self.labels, self.columns)
        return self.left + column * self.across, self.top + row * self.down


def read_sheets(text: str) -> dict[str, LabelSheet]:
    """
    Read `tables/label_sheets.toml`, by name.

    Raises ValueError or KeyError where a sheet has no labels or they lie beyond its paper.
    """
    found = {}
    for row in toml_of(text)["sheet"]:
        paper = PAPERS.get(row["paper"], (row["wide"], row["high"]))
        figures = ("wide", "high", "left", "top", "across", "down")
        sheet = LabelSheet(
            row["name"], paper, row["columns"], row["rows"], *(float(row[one]) for one in figures)
        )
        right = sheet.left + (sheet.columns - 1) * sheet.across + sheet.wide
        foot = sheet.top + (sheet.rows - 1) * sheet.down + sheet.high
        if sheet.labels < 1 or right > paper[0] + 0.5 or foot > paper[1] + 0.5:
            raise ValueError(f"The labels of the sheet {sheet.name} lie beyond its paper.")
        found[sheet.name] = sheet
    return found


def label_of(
    state: OrderState,
    line: OrderedLine,
    traits: PieceTraits,
    *,
    fibre: str,
    fibres: tuple[FibreCare, ...],
    cautions: Sequence[str],
) -> Label:
    """Return the label of a piece; what is not known is a line to write on."""
    number = traits.number or 0
    total = state.next_number - 1
    head = f"{number:0{len(str(total))}d}/{total}  {line.title}"
    stock = {one.lot for one in state.stock if one.colour == line.colour and one.lot}
    lots = dict.fromkeys(lot for _, lot in traits.lots if lot) or sorted(stock)[:1]
    needles = dict.fromkeys(needle for _, needle in traits.needles if needle)
    made = [
        f"Dye lot {', '.join(lots) if lots else '________'}",
        f"needle {', '.join(needles) if needles else '________'}",
        f"by {initials(traits.maker) or '____'}",
        traits.ended[:10],
    ]
    lines = [
        _size(line, traits),
        f"{fibre or 'Fibre: ____________________'}",
        " · ".join(filter(None, made)),
        *_care(fibre, fibres),
        *cautions,
    ]
    return Label(head, tuple(one for one in lines if one))


def initials(name: str) -> str:
    """Return the first letters of a name: "the hut warden" is HW."""
    words = [word for word in name.split() if word.casefold() not in _UNIMPORTANT]
    return "".join(word[0].upper() for word in words)


def _size(line: OrderedLine, traits: PieceTraits) -> str:
    plan = line.wanted
    width, length = traits.width, traits.length
    told = "Washed"
    if width is None and length is None and plan is not None:
        width, length, told = plan.width, plan.length, "To be, washed,"
    both = [one for one in (width, length) if one is not None]
    if not both:
        return "Washed: ______________"
    metric = " \u00d7 ".join(_printed(one, LengthUnit.CM) for one in both)
    inches = " \u00d7 ".join(_printed(one, LengthUnit.IN) for one in both)
    names = "wide \u00d7 long" if len(both) > 1 else ("wide" if length is None else "long")
    return f"{told} {metric} cm, {inches} in {names}"


def _printed(length: Length, unit: LengthUnit) -> str:
    if length.unit is unit:
        return printed_number(length.value, unit.value)
    metric = length if length.unit in {LengthUnit.CM, LengthUnit.IN} else length.to(LengthUnit.CM)
    if metric.unit is unit:
        return printed_number(Fraction(round(metric.value * 10), 10), unit.value)
    return printed_number(companion(metric, fine=True).value, unit.value)


def _care(fibre: str, fibres: tuple[FibreCare, ...]) -> Iterator[str]:
    """Give the mildest care of what the fibre is made of; of wool that felts, that it does."""
    found = care_of(fibres, fibre)
    if not found:
        yield "Care: ____________________" if not fibre else "Care: as the ball band says."
        return
    mildest = min(found, key=lambda one: (not one.felts, one.iron_c))
    felts = " Heat and rubbing felt it." if any(one.felts for one in found) else ""
    yield f"Wash {mildest.wash}. Dry {mildest.dry}.{felts}"


def size_of_type(sheet: LabelSheet, labels: Sequence[Label]) -> float | None:
    """Return the largest size of type, in points, in which every label fits; None: in none."""
    return next((size for size in SIZES if all(_fits(sheet, one, size) for one in labels)), None)


def _fits(sheet: LabelSheet, label: Label, size: float) -> bool:
    wide = sheet.wide - 2 * MARGIN
    letters = wide / (_LETTER_WIDE * size * _POINT_MM)
    head_letters = letters / 1.35
    rows = 1.35 * math.ceil(len(label.head) / head_letters)
    # A word that does not fit goes to the next line: a twelfth of each is lost to that.
    rows += sum(math.ceil(len(line) / (letters * 11 / 12)) for line in label.lines)
    return rows * LEADING * size * _POINT_MM <= sheet.high - 2 * MARGIN
