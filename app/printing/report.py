"""A report as plain values: headings, sentences, tables and drawings, for every form of print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.printing.shapes import Drawing


@dataclass(frozen=True, slots=True)
class ReportTable:
    """A table; the first column holds names, the others values."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class ReportPart:
    """A heading with what stands under it."""

    heading: str
    sentences: tuple[str, ...] = ()
    tables: tuple[ReportTable, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    notes: tuple[str, ...] = ()
    """What stands small at its end: sources, cautions."""


@dataclass(frozen=True, slots=True)
class Report:
    """A report, in one language."""

    title: str
    made: str
    parts: tuple[ReportPart, ...]
