"""
What is printed does nothing but appear: signs that would steer a terminal are shown as numbers.

A name or note may come from somebody else's journal. Raw, an escape sequence in it could clear the
screen, change the title of the window or hide what follows.
"""

from __future__ import annotations

import re
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final, TextIO, cast

if TYPE_CHECKING:
    from collections.abc import Iterator

# All control characters but tab and new line (Unicode, category Cc), and what turns the direction
# of writing around (Unicode Standard Annex 9, section 2).
_STEERING: Final = re.compile(
    "[\0-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]"
)


def harmless(text: str) -> str:
    """Return the text with every steering sign as its number, which JSON reads back as the sign."""
    return _STEERING.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


class HarmlessStream:
    """A text stream that is written to as another one, without steering signs."""

    def __init__(self, stream: TextIO) -> None:
        """Write to `stream`."""
        self._stream = stream

    def write(self, text: str) -> int:
        """Write the text as it may appear."""
        return self._stream.write(harmless(text))

    def __getattr__(self, name: str) -> Any:
        """Be the stream in everything else."""
        return getattr(self._stream, name)


@contextmanager
def harmless_output() -> Iterator[None]:
    """Have everything that is printed inside do nothing but appear."""
    before = sys.stdout, sys.stderr
    for name, stream in zip(("stdout", "stderr"), before, strict=True):
        if stream is not None:
            setattr(sys, name, cast("TextIO", HarmlessStream(stream)))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before
