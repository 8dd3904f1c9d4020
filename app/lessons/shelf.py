"""The lessons at hand: those that come with Walesong, then those in the teacher's own folder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app import resources
from app.lessons.lesson import Lesson, LessonError, read_lesson
from app.reading import text_of

if TYPE_CHECKING:
    from pathlib import Path

MOST: int = 50
"""So many own files are looked at; a folder with more is no shelf of lessons."""


@dataclass(frozen=True, slots=True)
class Shelved:
    """A file with a lesson: the lesson, or (None) a sentence that says what is wrong with it."""

    name: str
    lesson: Lesson | None
    problem: str = ""


def own_folder() -> Path:
    """Return where a teacher's own lessons belong; it need not be there yet."""
    return resources.data_folder() / "lessons"


def lessons() -> tuple[Shelved, ...]:
    """Return all lessons in the order of their numbers: the ones that come with it first."""
    own = own_folder()
    mine = sorted(own.glob("*.toml")) if own.is_dir() else []
    files = [*sorted(resources.files("shared/lessons", "*.toml")), *mine[:MOST]]
    return tuple(_shelved(file) for file in files if file.is_file())


def _shelved(file: Path) -> Shelved:
    try:
        return Shelved(file.name, read_lesson(text_of(file)))
    except UnicodeDecodeError:
        return Shelved(file.name, None, "This is no text file in UTF-8.")
    except (OSError, LessonError) as error:
        return Shelved(file.name, None, str(error))
