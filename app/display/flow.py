"""Text that flows into a box: where each word goes, and how large it can be; no Kivy here.

Every word on the screens is placed by this module, so that nothing can be cut off or overlap
unnoticed: a text that does not fit its box says so.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

LEADING: Final = 1.30
"""Distance between lines by the size of the letters."""

Measure: TypeAlias = Callable[[str, float, bool], float]
"""Width of a text in letters of a size, bold or not."""


@dataclass(frozen=True, slots=True)
class TextSpan:
    """A run of words in one look: colour role `ink`, on a marked ground if `ground` is a role.

    `scale` is the size relative to the text's own; a line break begins a new line.
    """

    words: str
    ink: str = "ink"
    bold: bool = False
    ground: str = ""
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class Run:
    """Words of one span on one line: `x` from the left of the box, `width` as measured."""

    words: str
    span: TextSpan
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line with its runs, its width, and the largest scale in it."""

    runs: tuple[Run, ...]
    width: float
    scale: float


@dataclass(frozen=True, slots=True)
class Flowed:
    """A text as it fits: `size` of the letters, lines from top to bottom, and whether all fits."""

    lines: tuple[TextLine, ...]
    size: float
    height: float
    width: float
    fits: bool


@dataclass(frozen=True, slots=True)
class _Word:
    """What must not be broken: pieces of one or several spans without a space between them."""

    pieces: tuple[tuple[str, TextSpan], ...]
    breaks: bool = False
    """Whether a new line begins before it."""
    tight: bool = False
    """Whether no space stands before it: a long path may be broken behind each folder."""


_LONG_WORD: Final = 16
_BEHIND_FOLDER: Final = re.compile(r"(?<=[/\\])(?=.)")


def _words(spans: Sequence[TextSpan]) -> list[_Word]:
    words: list[_Word] = []
    pieces: list[tuple[str, TextSpan]] = []
    breaks = tight = False

    def end_word() -> None:
        nonlocal pieces, breaks, tight
        if pieces or breaks:
            words.append(_Word(tuple(pieces), breaks, tight))
        pieces, breaks, tight = [], False, False

    for span in spans:
        for line_at, line in enumerate(span.words.split("\n")):
            if line_at:
                end_word()
                breaks = True
            for word_at, word in enumerate(line.split(" ")):
                if word_at:
                    end_word()
                for part_at, part in enumerate(_parts(word)):
                    if part_at:
                        end_word()
                        tight = True
                    pieces.append((part, span))
    end_word()
    return words


def _parts(word: str) -> list[str]:
    if len(word) < _LONG_WORD:
        return [word] if word else []
    return _BEHIND_FOLDER.split(word)


def flow(
    spans: Sequence[TextSpan], width: float, size: float, measure: Measure
) -> tuple[TextLine, ...]:
    """Break spans into lines no wider than `width`; a single word may be wider than that."""
    lines: list[TextLine] = []
    runs: list[Run] = []
    at = 0.0
    for word in _words(spans):
        wide = sum(measure(text, size * span.scale, span.bold) for text, span in word.pieces)
        gap = 0.0
        if runs and word.pieces and not word.tight:
            first = word.pieces[0][1]
            gap = measure(" ", size * first.scale, first.bold)
        if word.breaks or (runs and at + gap + wide > width):
            lines.append(_line(runs))
            runs, at, gap = [], 0.0, 0.0
        for text, span in word.pieces:
            letters = size * span.scale
            last = runs[-1] if runs else None
            if last is not None and last.span is span and gap:
                joined = f"{last.words} {text}"
                runs[-1] = Run(joined, span, last.x, measure(joined, letters, span.bold))
            else:
                runs.append(Run(text, span, at + gap, measure(text, letters, span.bold)))
            at = runs[-1].x + runs[-1].width
            gap = 0.0
    lines.append(_line(runs))
    return tuple(lines)


def _line(runs: list[Run]) -> TextLine:
    width = runs[-1].x + runs[-1].width if runs else 0.0
    return TextLine(tuple(runs), width, max((run.span.scale for run in runs), default=1.0))


def fit(
    spans: Sequence[TextSpan],
    box: tuple[float, float],
    sizes: tuple[float, float],
    measure: Measure,
    leading: float = LEADING,
) -> Flowed:
    """Return the text as large as fits a box (width, height), between two sizes of letters."""
    least, most = sizes
    smallest = _at(spans, box, least, measure, leading)
    if not smallest.fits or most <= least:
        return smallest
    best = smallest
    largest = _at(spans, box, most, measure, leading)
    if largest.fits:
        return largest
    low, high = least, most
    for _ in range(7):
        middle = (low + high) / 2
        tried = _at(spans, box, middle, measure, leading)
        if tried.fits:
            best, low = tried, middle
        else:
            high = middle
    return best


def shortened(
    words: str, width: float, size: float, measure: Measure, *, bold: bool = False
) -> str:
    """Return a line of words, cut after a whole word with "…" if it is wider than `width`."""
    if measure(words, size, bold) <= width:
        return words
    kept = words.split(" ")
    while len(kept) > 1:
        kept.pop()
        shorter = " ".join(kept).rstrip(",;:.") + "\N{HORIZONTAL ELLIPSIS}"
        if measure(shorter, size, bold) <= width:
            return shorter
    return kept[0]


def _at(
    spans: Sequence[TextSpan],
    box: tuple[float, float],
    size: float,
    measure: Measure,
    leading: float,
) -> Flowed:
    lines = flow(spans, box[0], size, measure)
    height = sum(leading * size * line.scale for line in lines)
    width = max((line.width for line in lines), default=0.0)
    slack = 0.5  # half a pixel, for the rounding of letter widths
    return Flowed(lines, size, height, width, width <= box[0] + slack and height <= box[1] + slack)
