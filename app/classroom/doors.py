"""The class as the talk opens and closes it: sentences for what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.classroom.serving import ClassError

if TYPE_CHECKING:
    from app.classroom.serving import Classroom


class ClassDoors:
    """Opens and closes a class, and says so."""

    def __init__(self, classroom: Classroom) -> None:
        """Take the class."""
        self._classroom = classroom

    def open(self) -> str:
        """Open it; return a sentence that says where it is, or why it could not be."""
        try:
            opened = self._classroom.open()
        except ClassError as error:
            return str(error)
        return f"The class is open at {opened.address.removeprefix('http://')}: {opened.code}."

    def close(self) -> str:
        """Close it, and say so."""
        self._classroom.close()
        return "The class is closed."
