"""Files that may be patterns, where people keep what they were sent or have saved."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final

import platformdirs

if TYPE_CHECKING:
    from pathlib import Path

ENDINGS: Final = frozenset((".pdf", ".txt", ".toml", ".md"))
MOST_FILES: Final = 12
_MOST_LOOKED_AT: Final = 5_000
"""Entries of a folder; who keeps more there names the file."""


@dataclass(frozen=True, slots=True)
class FoundFile:
    """A file that may be a pattern; `changed` counts seconds as the system does."""

    path: Path
    changed: float


def usual_folders() -> tuple[Path, ...]:
    """Return where files are put that came from elsewhere, each once."""
    folders = (
        platformdirs.user_downloads_path(),
        platformdirs.user_documents_path(),
        platformdirs.user_desktop_path(),
    )
    return tuple(dict.fromkeys(folders))


def found_files(folders: tuple[Path, ...] | None = None) -> tuple[FoundFile, ...]:
    """Return the files there that may be patterns, the newest first."""
    found: list[FoundFile] = []
    for folder in usual_folders() if folders is None else folders:
        try:
            found.extend(
                FoundFile(path, path.stat().st_mtime)
                for path in islice(folder.iterdir(), _MOST_LOOKED_AT)
                if path.suffix.casefold() in ENDINGS and path.is_file()
            )
        except OSError:
            continue
    return tuple(sorted(found, key=lambda one: (-one.changed, one.path.name))[:MOST_FILES])
