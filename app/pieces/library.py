"""The patterns at hand: those that come with Walesong and those in the knitter's own folder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app import resources
from app.pieces.pattern_cache import document_to_knit
from app.reading import text_of
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from pathlib import Path

    from engine.pattern import Problem


@dataclass(frozen=True, slots=True)
class Shelved:
    """One pattern file: its text, and what it says or what is wrong with it."""

    name: str
    text: str
    document: PatternDocument | None
    problem: Problem | None

    @property
    def title(self) -> str:
        """What it is called: by its title, else by its file."""
        return self.document.title if self.document is not None else self.name


def own_folder() -> Path:
    """Return where the knitter's own pattern files belong; it need not be there yet."""
    return resources.data_folder() / "patterns"


def patterns() -> tuple[Shelved, ...]:
    """Return all patterns, the knitter's own first; a file that cannot be opened is left out."""
    own = own_folder()
    found = [*sorted(own.glob("*.toml")), *sorted(own.glob("*.txt"))] if own.is_dir() else []
    files = [file for file in found if file.is_file()]  # of a pipe nobody knows when it ends
    files += resources.files("shared/patterns", "*.toml")
    return tuple(one for file in files if (one := _shelved(file)) is not None)


def _shelved(file: Path) -> Shelved | None:
    try:
        text = text_of(file)
    except (OSError, UnicodeDecodeError):
        return None
    read = document_to_knit(text)
    if isinstance(read, PatternDocument):
        return Shelved(file.stem, text, read, None)
    return Shelved(file.stem, text, None, read[0] if read else None)
