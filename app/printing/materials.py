"""Yarn, needle and gauge as print states them: in both units, and in every needle number."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from app.printing.both_units import figures
from engine.facts.stated_gauge import read_stated_gauge
from engine.plan.rounding import (
    gauge_to_four_inches,
    gauge_to_ten_centimetres,
    printed_number,
)
from engine.quantities import LengthUnit, number_text, parse_number

if TYPE_CHECKING:
    from fractions import Fraction

    from app.printing.wording import PrintWording
    from engine.plan.tables import NeedleTable

_MM: Final = re.compile(r"(?<![\d.,])(\d{1,2}(?:[.,]\d{1,2})?)\s*-?mm\b", re.IGNORECASE)
_US: Final = re.compile(
    r"\bUS\s*(?:size\s*|no\.?\s*|#\s*)?(\d{1,2}(?:\s*[½¾]|\s+\d/\d|\.5)?)", re.IGNORECASE
)
_UK: Final = re.compile(r"\bUK\b", re.IGNORECASE)
_ROUNDS: Final = re.compile(r"\b(?:rnds?|rounds?)\b", re.IGNORECASE)


def needle_lines(
    text: str, table: NeedleTable, wording: PrintWording
) -> tuple[list[str], list[str]]:
    """Return the needle in millimetres, US and old UK numbers, and what does not agree.

    The designer's words stay; only numbers that are missing are put behind the millimetres.
    """
    sizes = [parse_number(found) for found in _MM.findall(text)]
    said_us = _US.search(text)
    if not sizes and said_us is not None:
        return _from_us(text, said_us[1], table, wording)
    lines: list[str] = []
    remarks: list[str] = []
    written = text
    for mm in dict.fromkeys(size for size in sizes if size is not None):
        needle = table.by_mm(mm)
        if needle is None:
            continue
        more = []
        if needle.us and said_us is None:
            more.append(f"US {needle.us}")
        if needle.uk and _UK.search(text) is None:
            more.append(f"old UK {needle.uk}")
        if more:
            written = _behind(written, mm, ", ".join(more))
        if needle.disagreement:
            lines.append(f"{number_text(mm)} mm: {needle.disagreement}")
        if said_us is not None and len(sizes) == 1 and mm not in table.by_us(said_us[1]):
            remarks.append(
                wording.say(
                    "needle_disagrees",
                    mm=number_text(mm),
                    table=needle.us or "(none)",
                    said=said_us[1],
                )
            )
    return [written, *lines, wording.say("needle_go_by")], remarks


def _behind(text: str, mm: Fraction, words: str) -> str:
    """Put words in brackets behind a size, into those that stand there already."""
    for found in _MM.finditer(text):
        if parse_number(found[1]) == mm:
            before, after = text[: found.end()], text[found.end() :]
            if after.startswith(" ("):
                return f"{before} ({words}, {after[2:]}"
            return f"{before} ({words}){after}"
    return text


def _from_us(
    text: str, number: str, table: NeedleTable, wording: PrintWording
) -> tuple[list[str], list[str]]:
    found = table.by_us(number)
    if not found:
        return [text, wording.say("needle_go_by")], []
    lines = []
    if len(found) > 1:
        names = " or ".join(f"{number_text(mm)} mm" for mm in found)
        lines.append(wording.say("needle_means", us=number, mm=names))
    else:
        needle = table.by_mm(found[0])
        uk = f", old UK {needle.uk}" if needle is not None and needle.uk else ""
        text = f"{text} ({number_text(found[0])} mm{uk})"
    return [text, *lines, wording.say("needle_go_by")], []


def own_unit(gauge: str) -> LengthUnit:
    """Return the unit of length that a pattern is written in: that of its gauge."""
    first = next(figures(gauge), None)
    return LengthUnit.CM if first is None or first.metric else LengthUnit.IN


def gauge_lines(text: str, wording: PrintWording) -> list[str]:
    """Return the gauge in the designer's words and in the other system of units.

    4 in are 10.16 cm: 20 stitches to 10 cm are 20 1/4 to 4 in, not 20.
    """
    stated = read_stated_gauge(text)
    systems = {one.metric for one in figures(text)}
    lines = [text]
    if stated is not None and len(systems) == 1:
        metric = systems == {True}
        change = gauge_to_four_inches if metric else gauge_to_ten_centimetres
        kind = "rounds" if _ROUNDS.search(text) else "rows"
        numbers = {
            "kind": wording.sentences[kind],
            "over": "4 in" if metric else "10 cm",
        }
        stitches, rows = stated.stitches_per_10cm, stated.rows_per_10cm
        if stitches is not None:
            numbers["stitches"] = printed_number(change(stitches))
        if rows is not None:
            numbers["rows"] = printed_number(change(rows))
        sentence = (
            "gauge_figures" if stitches and rows else "gauge_stitches" if stitches else "gauge_rows"
        )
        lines.append(wording.say("both_gauges", other=wording.say(sentence, **numbers)))
    lines.append(wording.say("swatch"))
    return lines
