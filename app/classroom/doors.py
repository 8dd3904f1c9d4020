"""The class as the talk opens and closes it: sentences for what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.classroom.serving import ClassError
from app.classroom.story import write_story

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.classroom.serving import Classroom


class ClassDoors:
    """Opens and closes a class, and says so."""

    def __init__(self, classroom: Classroom, show: Callable[[Path], None]) -> None:
        """Take the class; `show` opens a file that was written."""
        self._classroom, self._show = classroom, show

    def open(self) -> str:
        """Open it; return a sentence that says where it is, or why it could not be."""
        try:
            opened = self._classroom.open()
        except ClassError as error:
            return str(error)
        return f"The class is open at {opened.address.removeprefix('http://')}: {opened.code}."

    def story(self) -> str:
        """Print what the class got through, and show it; return a sentence that says so."""
        try:
            path = write_story(self._classroom.room.story())
        except OSError as error:
            return f"The story could not be written: {error.strerror}."
        if path is None:
            return "Nothing was shown to a class yet."
        self._show(path)
        return "The story of the class is printed, without names."

    def close(self) -> str:
        """Close it, and say so."""
        self._classroom.close()
        return "The class is closed."
