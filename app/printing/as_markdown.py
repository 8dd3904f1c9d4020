"""The printed pattern as plain Markdown (CommonMark and tables): charts in letters, no pictures."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from app.printing.sheet import PatternSheet, PieceSheet, SheetPart, SheetRow

_SPECIAL: Final = re.compile(r"([\\`*_\[\]<>#|~])")
_AT_START: Final = re.compile(r"^(\d+)([.)])(?=\s|$)|^([-+])(?=\s|$)")


def as_markdown(sheet: PatternSheet) -> str:
    """Return the whole text."""
    lines: list[str] = []
    for block in _Text(sheet).blocks():
        lines += [*block, ""]
    return "\n".join(lines).rstrip() + "\n"


def escaped(text: str) -> str:
    """Return a text that Markdown shows as it is: a star in a row is a star."""
    plain = _SPECIAL.sub(r"\\\1", " ".join(text.split()))
    return _AT_START.sub(lambda found: rf"{found[1] or ''}\{found[2] or found[3]}", plain)


def unescaped(text: str) -> str:
    """Return a text as Markdown shows it."""
    return re.sub(r"\\([\\`*_\[\]<>#|~.)+-])", r"\1", text)


class _Text:
    def __init__(self, sheet: PatternSheet) -> None:
        self.sheet = sheet

    def blocks(self) -> Iterator[list[str]]:
        sheet = self.sheet
        yield [f"# {escaped(sheet.title)}"]
        for line in (*filter(None, (sheet.byline,)), *sheet.sizes, *sheet.verdict):
            yield [escaped(line)]
        if sheet.warning:
            yield self.heading("problems")
            yield [f"**{escaped(sheet.warning)}**"]
            yield _listed(sheet.problems)
        yield from self.measurements()
        for piece in sheet.pieces:
            if piece.schematic is not None:
                yield [" ".join(map(escaped, piece.schematic.letters))]
        if sheet.materials:
            yield self.heading("materials")
            yield [
                f"- **{escaped(name)}:** {escaped(sentences(texts))}"
                for name, texts in sheet.materials
            ]
        if sheet.gauge:
            yield self.heading("gauge")
            yield from ([escaped(line)] for line in sheet.gauge)
        if sheet.facts:
            yield self.heading("notes")
            yield [f"- **{escaped(label)}:** {escaped(text)}" for label, text in sheet.facts]
        if sheet.cautions:
            yield self.heading("cautions")
            yield _listed(sheet.cautions)
        if sheet.abbreviations:
            yield self.heading("abbreviations")
            yield [
                f"- **{escaped(one.sign)}**: {escaped(one.means)}" for one in sheet.abbreviations
            ]
        if sheet.stitch_patterns:
            yield self.heading("stitch_patterns")
            for part in sheet.stitch_patterns:
                yield from self.part(part, "###")
        for piece in sheet.pieces:
            yield from self.piece(piece)
        yield from self.rest()

    def heading(self, name: str, level: str = "##") -> list[str]:
        return [f"{level} {escaped(self.sheet.headings[name])}"]

    def measurements(self) -> Iterator[list[str]]:
        found = self.sheet.measurements
        if found is None:
            return
        yield self.heading("measurements")
        if len(found.columns) == 1:
            yield [f"- **{escaped(name)}:** {escaped(cells[0])}" for name, cells in found.lines]
            return
        head = [self.sheet.headings["size"], *found.columns]
        rows = [
            [name, *(cells if len(cells) > 1 else cells * len(found.columns))]
            for name, cells in found.lines
        ]
        yield [_table_row(head), _table_row(["---"] * len(head)), *map(_table_row, rows)]

    def piece(self, piece: PieceSheet) -> Iterator[list[str]]:
        level = "##"
        if piece.title:
            yield [f"## {escaped(piece.title)}"]
            level = "###"
        yield self.heading("instructions", level)
        if piece.cast_on:
            yield [escaped(piece.cast_on)]
        for part in piece.parts:
            yield from self.part(part, f"{level}#")
        if piece.finishing:
            yield self.heading("finishing", level)
            yield [line for row in piece.finishing for line in self.row(row)]
        if piece.charts:
            yield self.heading("charts", level)
            yield [escaped(piece.chart_reading)]
            for chart in piece.charts:
                yield [f"**{escaped(chart.title)}**"]
                yield ["```text", *chart.figure.letters, "```"]
                if chart.figure.captions:
                    yield [escaped(" ".join(chart.figure.captions))]
            yield [f"- `{entry.letter}` {escaped(entry.words)}" for entry in piece.key]

    def part(self, part: SheetPart, level: str) -> Iterator[list[str]]:
        if part.title:
            yield [f"{level} {escaped(part.title)}"]
        yield [line for row in part.rows for line in self.row(row)]

    def row(self, row: SheetRow) -> Iterator[str]:
        words = [rf"{row.number}\."] if row.number else []
        words += [f"**{escaped(row.lead)}**"] if row.lead else []
        words.append(escaped(row.text))
        if row.about:
            words.append(f"({escaped(row.about)})")
        if row.count:
            words.append(f"— **{escaped(row.count)}**")
        if row.mark:
            words.append(f"**[{escaped(row.mark)}]**")
        yield f"- {'[ ] ' if self.sheet.handout else ''}{' '.join(words)}"
        if row.note:
            yield f"  *{escaped(row.note)}*"
        for problem in row.problems:
            yield f"  **{escaped(problem)}**"

    def rest(self) -> Iterator[list[str]]:
        sheet = self.sheet
        if sheet.hands:
            yield self.heading("hands")
        for stitch in sheet.hands:
            yield [f"### {escaped(stitch.title)}"]
            moves = (" ".join(move.captions) for move in stitch.moves)
            yield [f"{number}. {escaped(words)}" for number, words in enumerate(moves, 1)]
        if sheet.care:
            yield self.heading("care")
            yield from ([escaped(line)] for line in sheet.care)
        yield ["---"]
        yield [escaped(" · ".join((*sheet.imprint, sheet.foot)))]


def sentences(lines: Iterable[str]) -> str:
    """Return lines as sentences of one paragraph."""
    return " ".join(line if line.endswith((".", "!", "?")) else f"{line}." for line in lines)


def _listed(lines: Iterable[str]) -> list[str]:
    return [f"- {escaped(line)}" for line in lines]


def _table_row(cells: Iterable[str]) -> str:
    return f"| {' | '.join('---' if cell == '---' else escaped(cell) for cell in cells)} |"
