"""Reading a text file of hers: whole or refused where it is longer than any such file."""

from __future__ import annotations

import errno
from typing import TYPE_CHECKING

from engine.limits import LONGEST_TEXT

if TYPE_CHECKING:
    from pathlib import Path

_BYTES_OF_LETTER = 4
"""The most that a character takes in UTF-8."""


def text_of(path: Path) -> str:
    """
    Return what a text file in UTF-8 says.

    No more is read than such a file can hold, so that a film or a device of the system is refused
    as quickly as a missing file.

    Raises:
        OSError: it cannot be opened, or holds more than a text file can.
        UnicodeDecodeError: it is no text in UTF-8.

    """
    most = LONGEST_TEXT * _BYTES_OF_LETTER
    with path.open("rb") as file:
        content = file.read(most + 1)
    if len(content) > most:
        reason = f"it holds more than the {LONGEST_TEXT:,} characters that can be read"
        raise OSError(errno.EFBIG, reason, str(path))
    return content.decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
