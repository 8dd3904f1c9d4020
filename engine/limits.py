"""
How much a file may ask for: every limit of every reader in one place, and the counting of work.

All limits lie far above what is knitted, so that nobody meets one but by a damaged or a made-up
file; then one sentence says which and where. Work is counted in steps and not in seconds, so that
the same file is read or refused on every machine. A step is about what one stitch, word or row
costs. None of these figures has a source; each is many times what we have seen in a pattern.
"""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

# --- texts: patterns, phrases, keys, settings, tables --------------------------------------------

LONGEST_TEXT = 2_000_000
"""Characters in a pattern file; a long one has fifty thousand."""
LONGEST_OWN_TEXT = 200_000
"""Characters in phrases, taught keys and settings."""
LARGEST_PDF = 40_000_000
"""Bytes of a PDF; a pattern with photographs has ten million."""
MOST_PAGES = 100
"""Pages of a PDF; a long pattern has thirty."""
MOST_SIGNS_OF_PDF = 4_000_000
"""Bytes of one of its streams, unpacked; a page of text has some ten thousand."""
MOST_STEPS_OF_PDF = 150_000
"""Steps that placing the text of all its pages may take; a page has some thousand."""
DEEPEST_NESTING = 40
"""Brackets within brackets, and parts of a dotted key."""
LONGEST_WORD = 200
"""More characters than that are no number, date or key."""
MOST_DIGITS = 12
"""Digits of a number within words; no number of a knitter's has ten."""
LONGEST_STRING = 20_000
"""Characters of one text in a file; a long note has a thousand."""
MOST_VALUES = 100_000
"""Keys and values in one file."""
MOST_PROBLEMS = 100
"""So many problems of a file are told; who mends those is told the next."""

# --- numbers --------------------------------------------------------------------------------------

MOST_DENOMINATOR = 1_000_000
"""Into how many parts a length, a weight or a count is divided; the trade knows eighths."""

# --- journals as lines of JSON -------------------------------------------------------------------

LONGEST_RECORD = 16_000_000
"""Bytes of a line; a record can have four million letters of a pattern, each escaped."""
MOST_VALUES_IN_RECORD = 2_000
"""Values of a line; a record that comes after a hundred others has a hundred and twenty."""
MOST_DIGITS_IN_RECORD = 16
"""Digits of a number in a line: no reader of JSON need hold more (RFC 7493, section 2.2)."""
MOST_RECORD_LINES = 2_000_000
"""Lines of a file; twenty years of knitting have two hundred thousand."""
MOST_LINES_TOLD = 100
"""So many of the lines that are left out are told one by one; of the rest, how many there are."""

# --- patterns ------------------------------------------------------------------------------------

MOST_SIZES = 100
MOST_PARTS = 200
"""Pieces of a pattern; sections of a piece; stitch patterns."""
MOST_LINES = 40_000
"""Written rows in one part."""
MOST_STITCHES = 10_000_000
"""Stitches on a needle."""
MOST_MARKERS = 4_000
"""Markers on a needle."""
MOST_ROWS = 100_000_000
"""Rows in a piece; the longest scarf has some ten thousand."""
MOST_ROW_NUMBER = 100_000
"""The highest number before a written row; what is longer is written as a repeat."""
MOST_NAMES = 250
"""Stitches, stitch patterns and colours that a pattern defines, each."""
LONGEST_LENGTH_CM = 100_000
"""A kilometre: how long a piece can be said to be."""
LONGEST_LINE = 4_000
"""Characters in a written row."""

# --- phrases -------------------------------------------------------------------------------------

MOST_PHRASES = 20_000
"""Ways of saying things in all; ours are some two thousand."""
MOST_WAYS = 500
"""Ways of saying one phrase, its optional words and choices spread out."""

# --- work ----------------------------------------------------------------------------------------

STEPS_OF_PATTERN = 600_000
"""For reading a pattern file and counting all its sizes; the largest that we have takes 20,000."""
STEPS_OF_ANSWER = 400_000
"""For one answer, or one drawing."""
STEPS_OF_PRINT = 250_000
"""For a printed pattern with its charts and pictures in all sizes."""


class TooMuchWorkError(Exception):
    """More was asked for than is ever knitted."""

    def __init__(self) -> None:
        """Say so."""
        super().__init__("This asks for more work than any knitting does.")


class Allowance:
    """So many steps, however often they are taken up."""

    __slots__ = ("left",)

    def __init__(self, steps: int) -> None:
        """Begin with all of them."""
        self.left = steps

    @contextmanager
    def used(self) -> Iterator[None]:
        """Count what is done within against it; what surrounds it is not charged."""
        before = _allowance.set(self)
        try:
            yield
        finally:
            _allowance.reset(before)


_allowance: ContextVar[Allowance | None] = ContextVar("allowance", default=None)


def spend(steps: int = 1) -> None:
    """
    Take so many steps.

    Raises:
        TooMuchWorkError: the allowance around is used up; where there is none, never.

    """
    allowance = _allowance.get()
    if allowance is not None:
        allowance.left -= steps
        if allowance.left < 0:
            raise TooMuchWorkError
