"""Lines that say a row and, in the same sentence, how it is repeated: which phrases are which."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.notation import BindOff, CastOn, Remark, TurnWork, Work

if TYPE_CHECKING:
    from engine.pattern.phrases import Phrase

_STITCHES = (ph.To, ph.Bracket, ph.Star, Work, BindOff, CastOn)
_OF_REPEATS = (
    ph.RepeatRows, ph.Schedule, ph.EveryRow, ph.PhraseTimes, ph.UntilCount, ph.Remaining,
    ph.HowManyRows,
    ph.UntilMeasures, ph.UntilSame, ph.Ending, ph.Stated, ph.BareNumber, ph.ShapingManner, Remark,
)  # fmt: skip

Phrases = tuple["Phrase", ...]


def _of_repeats(phrase: Phrase) -> bool:
    """Whether a phrase says how rows are repeated, or how many stitches are there then."""
    if isinstance(phrase, ph.Bracket):
        return all(isinstance(part, ph.Stated | ph.BareNumber) for part in phrase.phrases)
    return isinstance(phrase, _OF_REPEATS)


def row_then_repeat(phrases: Phrases) -> tuple[Phrases, Phrases] | None:
    """Part "k2, yo, k to end; rep this row until 80 sts" into the row and its repeating."""
    start = next((n for n, one in enumerate(phrases) if isinstance(one, ph.RepeatRows)), 0)
    again = phrases[start] if start else None
    if not isinstance(again, ph.RepeatRows) or again.last is None or again.name:
        return None
    if not any(isinstance(one, _STITCHES) for one in phrases[:start]):
        return None
    if not all(_of_repeats(one) for one in phrases[start:]):
        return None
    return phrases[:start], phrases[start:]


def row_then_side(phrases: Phrases) -> tuple[Phrases, Phrases] | None:
    """Part "k20, turn, working on these sts only, dec 1 st at ..." where the side begins."""
    for start, one in enumerate(phrases):
        if not isinstance(one, Remark) or not _THESE_ONLY.search(one.text):
            continue
        before, after = phrases[:start], phrases[start:]
        turned = any(isinstance(phrase, TurnWork) for phrase in before)
        if turned and any(isinstance(phrase, ph.Change | ph.HowManyRows) for phrase in after):
            return before, after
    return None


_THESE_ONLY = re.compile(r"\b(?:these|this)\b.*\bonly$", re.IGNORECASE)


def repeat_of_row(phrases: Phrases) -> tuple[str, Phrases, Phrases] | None:
    """Part "work dec row on next and every alt row 4 times: k1, ..." into name, row, repeating."""
    first = phrases[0] if phrases else None
    start = next((n for n, one in enumerate(phrases) if isinstance(one, _STITCHES)), 0)
    if not isinstance(first, ph.RepeatRows) or not first.name or not start:
        return None
    told, row = phrases[:start], phrases[start:]
    if not all(_of_repeats(one) for one in told):
        return None
    if not any(isinstance(one, ph.Schedule) for one in told):
        return None
    if any(isinstance(one, ph.RepeatRows | ph.Schedule) for one in row):
        return None
    return first.name, row, told
