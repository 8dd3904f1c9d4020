"""The files that a journal is kept in, by name, and having them on the disk for certain."""

from __future__ import annotations

import os
import shutil
from contextlib import contextmanager
from itertools import count
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BESIDE: Final = ("-wal", "-journal", "-shm")
"""What SQLite appends to the file's name for the files that it keeps beside it."""


def beside(path: Path, suffix: str) -> Path:
    """Return the name of a file that is kept beside the journal file, such as its "-wal"."""
    return path.with_name(path.name + suffix)


def followed(path: Path) -> Path:
    """Return where the links of a file's name lead: what is kept beside it lies there."""
    try:
        return path.resolve() if path.is_symlink() else path
    except (OSError, RuntimeError):
        return path  # They lead around in a circle, or the name is none: opening it will say so.


def holds_something(path: Path) -> bool:
    """Tell whether there is a file that is not empty."""
    return path.is_file() and path.stat().st_size > 0


def sync_file(path: Path) -> None:
    """Have the content of a file on disk."""
    with path.open("r+b") as file:
        os.fsync(file.fileno())


def sync_folder(path: Path) -> None:
    """Have the names of the file and of those beside it on disk, where that can be asked for."""
    if os.name != "posix":
        return
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


LAST: Final = "-last"
"""What is appended to the file's name for the note of what was acknowledged last."""
COPIES: Final = "-copies"
"""What is appended to the file's name for the folder of its dated copies."""


def dated_copies(path: Path) -> tuple[Path, ...]:
    """Return the dated copies of the journal `path` that lie beside it, the newest first."""
    found = beside(path, COPIES).glob(f"????-??-??{path.suffix}")
    return tuple(sorted((file for file in found if file.is_file()), reverse=True))


_KEPT: Final = ("", "-wal", "-journal")


def anything_at(path: Path) -> bool:
    """Tell whether a journal file, or a log that was left behind, holds something."""
    return any(holds_something(beside(path, suffix)) for suffix in _KEPT)


def keep_beside(path: Path, word: str) -> Path:
    """Copy the file and its logs to names with `word` that are free; return the file's new name."""
    names = (path.with_name(f"{path.stem}.{word}-{n}{path.suffix}") for n in count(1))
    kept = next(
        name for name in names if not any(beside(name, suffix).exists() for suffix in _KEPT)
    )
    for suffix in _KEPT:
        source, copy = beside(path, suffix), beside(kept, suffix)
        if source.is_file():
            shutil.copy2(source, copy)
            sync_file(copy)
    sync_folder(kept)
    return kept


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """
    Give the name of a new file to write inside; it takes the place of `path` once it is complete.

    If anything is raised inside, or the program ends, the file at `path` is as it was.
    """
    part = beside(path, "-part")
    part.unlink(missing_ok=True)
    try:
        yield part
        sync_file(part)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    sync_folder(path)
