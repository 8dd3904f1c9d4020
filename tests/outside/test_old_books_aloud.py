"""Rows of the old books, said aloud in whole words and understood again, count as the books say.

The words are those in which Walesong reads a row out; what is read back is judged by the stitches
that the row before left, counted by hand in `old_books.toml` (its sources are named there).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from app.language import phrase_book
from app.pieces.pattern_cache import course_of
from app.wording import reply_wording
from engine.judging.decision import Accepted
from engine.judging.said_rows import fit_of, judge_said
from engine.said_events import RowSaid
from engine.state import PieceState
from speech.words.said_rows import rows_said
from tests.outside.test_old_books import EXAMPLES

if TYPE_CHECKING:
    from collections.abc import Iterator

BOOK = phrase_book()
TIMES_FIRST = re.compile(r"(?:twice|times):")
"""Read out it is "three times: yarn over, knit one"; people say it the other way round."""


def rows_in(example: dict[str, Any]) -> Iterator[tuple[int, str, int]]:
    """Yield rows that stand for one row of the book: stitches before, written, stitches after."""
    before = example["cast_on"]
    for written, after in zip(example["rows"], example["counts"], strict=True):
        heading = re.match(r"(?:Row|Rnd) \d+(?: \(\w+\))?: ", written)
        if heading is not None and before is not None and after is not None:
            yield before, written[heading.end() :], after
        before = after


def test_rows_of_the_old_books_are_understood_when_said() -> None:
    """Of all rows of the books nine in ten are taken, each with the stitches that the book has."""
    right, asked, wrong = 0, 0, []
    for example in EXAMPLES:
        for before, written, after in rows_in(example) if example["adds_up"] else ():
            read = fit_of(written, before, course_of)
            if not read.fits or read.instruction is None:
                continue
            said = reply_wording().rows.say(read.instruction)
            if TIMES_FIRST.search(said):
                continue
            state = PieceState(cast_on=before, begun=True)
            readings = rows_said(f"this row {said}", BOOK)
            decided = readings and judge_said(state, course_of(state), readings, course_of)
            if not isinstance(decided, Accepted) or not isinstance(decided.events[0], RowSaid):
                asked += 1
                continue
            taken = decided.events[0].text
            if fit_of(taken, before, course_of).after == after:
                right += 1
            else:
                wrong.append((example["id"], written, said, taken))
    assert wrong == []
    assert right >= 600
    assert asked <= right / 9
