"""A pattern taken in: read from a text with what she answers herself, and kept in her library."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.pieces.library import own_folder
from app.pieces.pattern_cache import document_to_check
from app.pieces.pattern_texts import Unreadable
from app.pieces.taken_lines import Became, TakenPattern, lines_of, pattern_of
from app.pieces.taking import take
from app.writing import write_whole
from engine.limits import LONGEST_OWN_TEXT
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from app.pieces.taking import Taken


@dataclass(frozen=True, slots=True)
class Answers:
    """What she says herself; what is empty is as it was found."""

    title: str = ""
    sizes: str = ""
    gauge: str = ""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """
    A pattern as it would be kept.

    `asks` are of "title", "sizes", "gauge" those that were neither found nor answered; `own` says
    that the text is a pattern file already and is kept as it is.
    """

    title: str
    sizes: tuple[str, ...]
    gauge: str
    pieces: tuple[str, ...]
    sections: tuple[str, ...]
    pattern: TakenPattern
    asks: tuple[str, ...] = ()
    own: bool = False

    @property
    def right(self) -> bool:
        """Whether every row is read and adds up."""
        wrong = {Became.UNREAD, Became.FAULTY}
        return not self.pattern.problems and all(
            line.became not in wrong for line in self.pattern.lines
        )

    @property
    def numbers(self) -> Mapping[Became, int]:
        """How many lines became what."""
        became = [line.became for line in self.pattern.lines]
        return {what: became.count(what) for what in Became if what in became}


def take_in(text: str, answers: Answers | None = None) -> TakenIn | Unreadable:
    """Return what a text would be as a pattern, or why it is none."""
    answers = answers or Answers()
    if not text.strip():
        return Unreadable("There is no text to take in.")
    if "\x00" in text:
        return Unreadable("This is no text; save it as plain text, or as a PDF.")
    if _TITLE_OF_FILE.search(text):
        found = _own_file(text)
        if found is not None:
            return found
    if len(text) > LONGEST_OWN_TEXT:
        most = f"{LONGEST_OWN_TEXT:,}"
        return Unreadable(f"This is longer than {most} characters; take in one pattern at a time.")
    taken = _answered(take(text), answers)
    if isinstance(taken, Unreadable):
        return taken
    if not taken.pieces:
        return Unreadable("No row to knit was found in it.")
    several = len(taken.pieces) > 1
    sections = (part.title for piece in taken.pieces for part in piece.sections if part.title)
    return TakenIn(
        taken.title,
        taken.sizes,
        taken.gauge,
        tuple(piece.title for piece in taken.pieces) if several else (),
        tuple(sections),
        pattern_of(taken),
        taken.asks,
    )


_TITLE_OF_FILE = re.compile(r"^\s*title\s*=\s*[\"']", re.MULTILINE)


def _own_file(text: str) -> TakenIn | None:
    document = document_to_check(text)
    if not isinstance(document, PatternDocument):
        return None
    titles = tuple(piece.title for piece in document.pieces if piece.title)
    sections = (part.title for piece in document.pieces for part in piece.sections if part.title)
    return TakenIn(
        document.title,
        document.sizes,
        document.gauge,
        titles,
        tuple(sections),
        TakenPattern(text, lines_of(document)),
        own=True,
    )


def _answered(taken: Taken, answers: Answers) -> Taken | Unreadable:
    """Return what was found with what she says herself."""
    title, gauge = " ".join(answers.title.split()), " ".join(answers.gauge.split())
    taken = replace(taken, title=title or taken.title, gauge=gauge or taken.gauge)
    names = tuple(name.strip() for name in answers.sizes.split(",") if name.strip())
    if not names:
        return taken
    if taken.sizes and len(names) != len(taken.sizes):
        return Unreadable(
            f"The pattern has {len(taken.sizes)} sizes, {len(names)} names are given."
        )
    return replace(taken, sizes=names, sizes_guessed=False)


def place_of(title: str) -> Path:
    """Return where a pattern of this title is kept in her library."""
    return own_folder() / f"{_slug(title)}.toml"


def free_title(title: str) -> str:
    """Return the title, or the first with a number behind it that is not taken."""
    titles = (title, *(f"{title} {number}" for number in range(2, 100)))
    return next((one for one in titles if not place_of(one).exists()), title)


def keep(taken: TakenIn, to: Path | None = None, *, replacing: bool = False) -> Path | Unreadable:
    """Write the pattern file, whole or not at all, and return where it is."""
    return keep_text(taken.pattern.text, to or place_of(taken.title), replacing=replacing)


def keep_text(text: str, to: Path, *, replacing: bool = False) -> Path | Unreadable:
    """Write the text of a pattern, whole or not at all, and return where it is."""
    if to.exists() and not replacing:
        return Unreadable(f"There is a file {to} already.")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        write_whole(to, text.encode())
    except OSError as error:
        return Unreadable(f"{to} cannot be written: {error.strerror or error}.")
    return to


def _slug(title: str) -> str:
    return "-".join(re.findall(r"[^\W_]+", title.casefold()))[:80] or "pattern"
