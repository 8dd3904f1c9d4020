"""
Where a line without a heading says one stretch of rows after the other.

"Purl 1 row, then bind off" is two lines in one, and so is "work 6 rows in rib, work in st st for
10 cm". A new one begins at a verb after words that say how long the one before goes on.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.notation import BindOff

if TYPE_CHECKING:
    from collections.abc import Sequence

_WHOLE_LINES = (
    ph.Star, ph.RepeatFrom, ph.RepeatRows, ph.InThisWay, ph.AsGiven, ph.Meanwhile, ph.When,
)  # fmt: skip
_THEN = re.compile(r"\bthen\s*$", re.IGNORECASE)
_LASTS = (ph.HowManyRows, ph.UntilMeasures, ph.UntilSame)


def rows_apart(line: ph.Line) -> tuple[tuple[ph.Phrase, ...], ...]:
    """Return the phrases of each of the stretches that a line says; one if it says one thing."""
    phrases = line.phrases
    if line.heading is not None or line.unchecked is not None:
        return (phrases,)
    if any(isinstance(phrase, _WHOLE_LINES) for phrase in phrases):
        return (phrases,)
    if repeated := _again(phrases):
        return repeated
    apart = _apart(phrases, line.text)
    if len(apart) == 1 or not all(_is_complete(part) for part in apart):
        return (phrases,)
    return apart


def _apart(phrases: Sequence[ph.Phrase], text: str = "") -> tuple[tuple[ph.Phrase, ...], ...]:
    apart: list[list[ph.Phrase]] = [[]]
    for phrase in phrases:
        if (_begins(phrase) or _then(phrase, text)) and _says_how_long(apart[-1]):
            apart.append([])
        apart[-1].append(phrase)
    return tuple(map(tuple, apart))


def _again(phrases: Sequence[ph.Phrase]) -> tuple[tuple[ph.Phrase, ...], ...]:
    """Return "[purl 1 row, knit 1 row] 3 times" as its stretches and their repeating."""
    match phrases:
        case (ph.Bracket(stop=None, into=None, times=ph.Times() as times) as bracket, *tail):
            pass
        case _:
            return ()
    stretch = (ph.Bare, ph.InPattern, ph.HowManyRows)
    rows = [one.amount for one in bracket.phrases if isinstance(one, ph.HowManyRows)]
    if not rows or not all(isinstance(one, stretch) for one in bracket.phrases):
        return ()
    if any(len(amount) > 1 or not amount[0] for amount in rows) or not all(times.amount):
        return ()
    last = (sum(amount[0] or 0 for amount in rows),)
    fewer = tuple(number and number - 1 for number in times.amount)
    again = ph.RepeatRows(last=last, at=times.at)
    return (*_apart(bracket.phrases), (again, ph.Times(fewer, more=True, at=times.at), *tail))


def _begins(phrase: ph.Phrase) -> bool:
    return _binds_off(phrase) or (
        isinstance(phrase, ph.Bare) or (isinstance(phrase, ph.InPattern) and phrase.work)
    )


def _then(phrase: ph.Phrase, text: str) -> bool:
    """Whether a shaping comes after what was said: "work 10 rows, then dec 1 st each end"."""
    return isinstance(phrase, ph.Change) and _THEN.search(text, 0, phrase.at) is not None


def _binds_off(phrase: ph.Phrase) -> bool:
    return isinstance(phrase, BindOff) or (
        isinstance(phrase, ph.Bracket)
        and bool(phrase.phrases)
        and isinstance(phrase.phrases[0], BindOff)
    )


def _says_how_long(part: Sequence[ph.Phrase]) -> bool:
    """Whether it is said how long a stretch goes on, or how often it is shaped."""
    if any(isinstance(phrase, _LASTS) for phrase in part):
        return True
    shaped = any(isinstance(phrase, ph.Change) or _binds_off(phrase) for phrase in part)
    return shaped and any(
        isinstance(phrase, ph.Times | ph.UntilCount)
        or (isinstance(phrase, ph.Schedule) and phrase.times is not None)
        for phrase in part
    )


def _is_complete(part: Sequence[ph.Phrase]) -> bool:
    return _says_how_long(part) or any(
        _binds_off(phrase) or isinstance(phrase, ph.Schedule) for phrase in part
    )
