"""A pattern file as text, made of rows: the form that whoever reads written patterns reads."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


@dataclass(frozen=True, slots=True)
class WrittenLine:
    """
    One line of a pattern: a row with its heading, or a repeat.

    `stitches` is the designer's count after a row that is taken on trust (None: it is read).
    """

    text: str
    note: str = ""
    stitches: int | None = None

    def __str__(self) -> str:
        """Write it as an entry of a list in a pattern file."""
        if not self.note and self.stitches is None:
            return quoted(self.text)
        values = [f"text = {quoted(self.text)}"]
        if self.stitches is not None:
            values += ["unchecked = true", f"stitches = {self.stitches}"]
        if self.note:
            values.append(f"note = {quoted(self.note)}")
        return f"{{ {', '.join(values)} }}"


@dataclass(slots=True)
class WrittenSection:
    """A section with its lines; an empty title says nothing."""

    id: str
    title: str = ""
    lines: list[WrittenLine] = field(default_factory=list)
    note: str = ""


def pattern_text(head: Iterable[str], sections: Sequence[WrittenSection]) -> str:
    """Return the text of a pattern file: lines such as `cast_on = 50`, then the sections."""
    text = [*head]
    for section in sections:
        text += [
            "",
            "[[section]]",
            f"id = {quoted(section.id)}",
            f"title = {quoted(section.title)}",
        ]
        text += [f"note = {quoted(section.note)}"] if section.note else []
        text += ["rows = [", *(f"  {line}," for line in section.lines), "]"]
    return "\n".join(text) + "\n"


def quoted(text: str) -> str:
    """Write a text as TOML does: a JSON text is one, but for what no pattern holds."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def heading(first: int, last: int, *, in_round: bool, side: str = "") -> str:
    """Return the heading of a row, or of rows that are worked alike: "Rows 5-8 (RS):"."""
    word = "Rnd" if in_round else "Row"
    number = str(first) if first == last else f"{first}-{last}"
    plural = "" if first == last else "s"
    return f"{word}{plural} {number}{f' ({side})' if side else ''}:"
