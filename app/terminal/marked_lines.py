"""The lines of a pattern in the terminal: each with the sign of what became of it, and counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.pieces.taken_lines import SIGNS, Became

if TYPE_CHECKING:
    from app.pieces.taken_lines import TakenLine

KEY = "   ".join(f"{sign if sign.strip() else '(blank)'} {what}" for what, sign in SIGNS.items())
_WIDTH = 12
_INDENT = " " * 22


def marked(line: TakenLine) -> str:
    """Return a line with its sign, number and stitches; below it what is to be said of it."""
    aside = line.aside if line.became not in {Became.ASIDE, Became.UNREAD} else ()
    said = [
        *([line.message] if line.message else []),
        *(f"set aside: {words}" for words in aside),
    ]
    row = f"{SIGNS[line.became]} {line.number:>4} {line.counts:>{_WIDTH}}  {line.text}".rstrip()
    return "\n".join([row, *(f"{_INDENT}{sentence}" for sentence in said)])
