"""The printed pattern as values: everything that is on the sheet, in its order, in words.

It is composed once (`compose`) and laid out by `as_html`, `as_markdown` and `as_pdf`, which add
nothing and leave nothing out but pictures that their form cannot hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.printing.shapes import Drawing
    from app.printing.wording import Abbreviation


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A written row as it is printed.

    `sizes` says for which sizes it is, where not for all; `count` the stitches after it, where they
    change or are stated; `about` how many rows an open part takes by the gauge; `mark` that it is
    not checked; `problems` what is wrong with it, on a sheet that is printed all the same. `number`
    is its number in the chart of its part, where the designer gives it none: "18 (20, 22)".
    """

    sizes: str
    label: str
    text: str
    count: str = ""
    about: str = ""
    note: str = ""
    mark: str = ""
    problems: tuple[str, ...] = ()
    number: str = ""

    @property
    def lead(self) -> str:
        """What stands before the row's text: "Size L only: Next rnd:"."""
        label = f"{self.label}:" if self.label else ""
        return " ".join(part for part in (self.sizes, label) if part)


@dataclass(frozen=True, slots=True)
class SheetPart:
    """A section of a piece, or a stitch pattern: a title and its rows."""

    title: str
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True, slots=True)
class Illustration:
    """A picture with its caption; `letters` is the same in lines of letters, if it can be."""

    drawing: Drawing
    captions: tuple[str, ...]
    letters: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """A line of a chart's key: the sign drawn, the sign as a letter, what it means."""

    drawing: Drawing
    letter: str
    words: str


@dataclass(frozen=True, slots=True)
class ChartSheet:
    """A chart with its title."""

    title: str
    figure: Illustration


@dataclass(frozen=True, slots=True)
class PieceSheet:
    """One piece: its title (empty if it is the only one), its cast-on, its parts, its pictures.

    `chart_reading` says in which direction charts are read, `key` explains the signs of all charts;
    `finishing` is what is to be done when its last row is worked.
    """

    title: str
    cast_on: str
    parts: tuple[SheetPart, ...]
    chart_reading: str = ""
    schematic: Illustration | None = None
    charts: tuple[ChartSheet, ...] = ()
    key: tuple[KeyEntry, ...] = ()
    fabric: Illustration | None = None
    finishing: tuple[SheetRow, ...] = ()


@dataclass(frozen=True, slots=True)
class HandsSheet:
    """How a stitch is made: its name, and one picture for every move, the words under it."""

    title: str
    moves: tuple[Illustration, ...]


@dataclass(frozen=True, slots=True)
class Measurements:
    """The finished measurements: a column for every size, a line for every measurement."""

    columns: tuple[str, ...]
    lines: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class PatternSheet:
    """A whole printed pattern.

    `warning` and `problems` are empty unless a pattern that does not add up is printed all the
    same. `verdict` says what was checked. `facts` are pairs of a label and a text; `imprint` is
    what the designer says of the text itself (version, date, copyright), empty if nothing.
    """

    language: str
    headings: Mapping[str, str]
    title: str
    byline: str
    sizes: tuple[str, ...]
    warning: str
    problems: tuple[str, ...]
    verdict: tuple[str, ...]
    cautions: tuple[str, ...]
    measurements: Measurements | None
    materials: tuple[tuple[str, tuple[str, ...]], ...]
    gauge: tuple[str, ...]
    abbreviations: tuple[Abbreviation, ...]
    stitch_patterns: tuple[SheetPart, ...]
    pieces: tuple[PieceSheet, ...]
    care: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    foot: str
    imprint: tuple[str, ...] = ()
    handout: bool = False
    """Whether it is the page for a class: then every row has a box to tick."""
    hands: tuple[HandsSheet, ...] = ()

    @property
    def front(self) -> Illustration | None:
        """The picture of the first page: the first piece as it will look, in its wool."""
        return self.pieces[0].fabric if self.pieces else None

    @property
    def schematics(self) -> tuple[tuple[str, Illustration], ...]:
        """The outlines with the titles of their pieces; pieces of one outline share it."""
        found: dict[object, tuple[list[str], Illustration]] = {}
        for piece in self.pieces:
            if piece.schematic is not None:
                shapes = piece.schematic.drawing.shapes
                found.setdefault(shapes, ([], piece.schematic))[0].append(piece.title)
        return tuple((", ".join(filter(None, names)), figure) for names, figure in found.values())
