"""Where the window lay when it was closed: a small text, read with caution.

Nothing here knows Kivy. A first start fills the screen, because the board is read across a room.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Final

from app import resources
from app.reading import text_of

if TYPE_CHECKING:
    from pathlib import Path

_LEAST: Final = (320, 400)
"""Pixels below which nothing can be read; a window that was so small is not opened so again."""
_MOST: Final = 16_000
_FIELDS: Final = ("width", "height", "left", "top")


@dataclass(frozen=True, slots=True)
class WindowFrame:
    """Size and place in pixels; `whole` if it filled the screen."""

    width: int
    height: int
    left: int
    top: int
    whole: bool = True


def read_frame(text: str) -> WindowFrame | None:
    """Return what is kept; None where nothing usable is, so that the window fills the screen."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(data, dict):
        return None
    numbers = [data.get(name) for name in _FIELDS]
    if not all(type(number) is int and abs(number) <= _MOST for number in numbers):
        return None
    width, height, left, top = (int(number) for number in numbers if number is not None)
    if width < _LEAST[0] or height < _LEAST[1] or min(left, top) < 0:
        return None
    return WindowFrame(width, height, left, top, whole=data.get("whole") is True)


def write_frame(frame: WindowFrame) -> str:
    """Write it as `read_frame` reads it."""
    return json.dumps(asdict(frame))


def frame_file() -> Path:
    """Return where the place of the window is kept."""
    return resources.data_folder() / "window.json"


def kept_frame() -> WindowFrame | None:
    """Return how the window lay when it was closed; None at a first start."""
    try:
        return read_frame(text_of(frame_file()))
    except (OSError, UnicodeDecodeError):
        return None
