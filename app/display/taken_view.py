"""A pattern that is taken in, as it is shown: every line with its sign, colour and count."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.display.flow import TextSpan
from app.pieces.taken_lines import SIGNS, Became

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.display.screen_words import ScreenWording
    from app.pieces.take_in import TakenIn
    from app.pieces.taken_lines import TakenLine

MOST_LINES: Final = 400
"""So many lines are shown; the others are counted all the same."""

_ROOM: Final = "\N{NO-BREAK SPACE}"
_INKS: Final[Mapping[Became, tuple[str, str]]] = {
    Became.COUNTED: ("good", ""),
    Became.COMPARED: ("good", ""),
    Became.TRUSTED: ("mark_ink", "mark"),
    Became.FAULTY: ("alert", ""),
    Became.UNREAD: ("ask_ink", "ask"),
    Became.ASIDE: ("soft", ""),
    Became.NAMED: ("good", ""),
    Became.NOTE: ("soft", ""),
    Became.HEADING: ("ink", ""),
}
"""Of each its ink and ground."""
_PLAIN: Final = frozenset((Became.COUNTED, Became.COMPARED, Became.NAMED))
"""Whose own words are in plain ink: only the sign and the count have a colour."""


def sign_of(became: Became) -> str:
    """Return the sign of a line; a note's is a dot, so that no line begins with nothing."""
    return SIGNS[became].strip() or "\N{MIDDLE DOT}"


def _sign(became: Became) -> str:
    """Return a sign with room on both sides, which no line breaks at."""
    return f"{_ROOM}{sign_of(became)}{_ROOM}"


def key_spans(taken: TakenIn, words: ScreenWording) -> list[TextSpan]:
    """Return what the signs mean and how many lines have each, those that occur."""
    spans: list[TextSpan] = []
    for became, number in taken.numbers.items():
        ink, ground = _INKS[became]
        meaning = words("take", _NAMES[became], count=number)
        spans += [
            TextSpan(_sign(became), ink, bold=True, ground=ground),
            TextSpan(f"{_ROOM}{meaning},  ", "ink"),
        ]
    if spans:
        spans[-1] = TextSpan(spans[-1].words.rstrip(" ,"), "ink")
    return spans


_NAMES: Final[Mapping[Became, str]] = {
    Became.COUNTED: "counted",
    Became.COMPARED: "compared",
    Became.TRUSTED: "trusted",
    Became.FAULTY: "faulty",
    Became.UNREAD: "unread",
    Became.ASIDE: "aside",
    Became.NAMED: "named",
    Became.NOTE: "note",
    Became.HEADING: "heading",
}


def line_spans(line: TakenLine, words: ScreenWording) -> list[TextSpan]:
    """Return one line: its sign, its words, the stitches after it, and what is to be said."""
    ink, ground = _INKS[line.became]
    own = "ink" if line.became in _PLAIN or ground else ink
    spans = [
        TextSpan(_sign(line.became), ink, bold=True, ground=ground),
        TextSpan(f"{_ROOM}{line.text}", own, bold=line.became is Became.HEADING),
    ]
    count = graded(line.counts.split())
    if count:
        spans.append(TextSpan(f"  {words('take', 'count', count=count)}", "good", bold=True))
    aside = line.aside if line.became in _PLAIN else ()
    spans += [TextSpan(f"  {words('take', 'kept_aside', text=one)}", "soft") for one in aside]
    if line.message:
        why = line.message.split(". ")[0].rstrip(".")
        spans.append(TextSpan(f"\n{why}.", "alert" if line.became is Became.FAULTY else "soft"))
    return spans


def graded(counts: Sequence[str]) -> str:
    """Write the counts of several sizes as patterns do: "80 (88, 96)"."""
    return f"{counts[0]} ({', '.join(counts[1:])})" if len(counts) > 1 else "".join(counts)
